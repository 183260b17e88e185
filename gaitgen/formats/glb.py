"""Writes a clip as glTF 2.0 in its binary container: metres, y up, facing +z."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.errors import FileFormatError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.glb_figure import Figure, encode_figure
from gaitgen.formats.skin import skin_of
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]

SPACE = FileSpace("m", "y")


def encode(clip: Motion, name: str = "motion") -> bytes:
    """Write a clip as a skinned figure with one animation.

    Nodes are named as the joints and stand as the animal does; the skin is the animal's flesh. Rotations
    and the root's path are keyed on every frame, the last one included, and meant to be played linearly.
    The animation's ``extras`` hold ``frame_rate_hz`` and ``key_poses``: ``frame``, ``time_s`` and ``name``.

    Parameters
    ----------
    clip
        The motion.
    name
        Name of the animation.

    Returns
    -------
    bytes
        The whole file; the same clip always gives the same bytes.

    Raises
    ------
    FileFormatError
        If a number of the clip is not finite.
    """
    _refuse_unusable(clip)
    animal = clip.animal
    skin = skin_of(animal)
    there = SPACE.positions_to_file
    return encode_figure(
        Figure(
            title=animal.name,
            name=name,
            joint_names=animal.joint_names,
            parents=animal.parents,
            offsets_m=there(animal.offsets_m),
            standing=None,  # the joints' frames are the world's then
            binding=_inverse_bind(animal),
            skin=replace(skin, vertices_m=there(skin.vertices_m), normals=there(skin.normals)),
            colour=animal.look.skin,
            turns=clip.rotations[..., [0, 2, 3, 1]],  # w, then y, z, x of ours
            paths_m={0: there(clip.root_path_m)},
            clip=clip,
        )
    )


def _refuse_unusable(clip: Motion) -> None:
    for what, values in (("rotations", clip.rotations), ("root path", clip.root_path_m)):
        bad = ~np.isfinite(values).reshape(clip.frames, -1).all(axis=1)
        if bad.any():
            frame = int(np.argmax(bad)) + 1
            raise FileFormatError(
                f"the {what} of frame {frame} has a number that is not finite; mend the clip"
            )


def _inverse_bind(animal: Animal) -> Array:
    """Return the matrices (joints, 4, 4) that take the standing figure into each joint, columns first."""
    matrices = np.tile(np.eye(4), (len(animal.joint_names), 1, 1))
    matrices[:, 3, :3] = 0.0 - SPACE.positions_to_file(standing_positions_m(animal))
    return matrices
