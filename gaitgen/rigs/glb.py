"""Writes a clip on a rig as glTF 2.0: the rig's joints under their names, y up, metres, in a skin.

Scale and up axis are turned into those of the format; where its file faces and stands is left as it is, so
that joints are where the BVH has them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.formats.glb_figure import Figure, encode_figure
from gaitgen.formats.skin import Skin, four_greatest, skin_of
from gaitgen.numerics.rotations import quaternion_from_matrix
from gaitgen.numerics.turns import least_turn
from gaitgen.rigs.animal_pose import home_m, shares_of_rig
from gaitgen.rigs.channels import local_rotation
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.encode import local_places, root_places
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.rig_space import from_home

Array = npt.NDArray[np.float64]

UP = np.array([0.0, 1.0, 0.0])  # of the format


def encode_glb(made: RigClip, name: str) -> bytes:
    """Write a clip on a rig as a skinned figure with one animation.

    Nodes are the joints of the rig, with its names, frames and order, standing as its map says; their
    places and rotations are those of the BVH in metres, with y up. The skin is the flesh of the animal that
    stands for the rig, each part of which hangs on the joints of the rig that turn it.

    Parameters
    ----------
    made
        The clip.
    name
        Name of the animation.

    Returns
    -------
    bytes
        The whole file; the same clip always gives the same bytes.
    """
    rig, motion = made.rig, made.motion
    turn = _upright(rig)
    size = turn * rig.metres_per_unit  # (3, 3) from the file's space to that of the format
    standing = _standing(rig)
    offsets = rig.rest.local_offsets.copy()
    offsets[0] = standing[0]
    moving = {0: root_places(rig, motion)}
    moving |= {joint: local_places(rig, motion, joint) for joint in sorted(motion.moved_m)}
    still = np.eye(3)[None].repeat(len(rig.file.parents), axis=0)[None]
    return encode_figure(
        Figure(
            title=rig.name,
            name=name,
            joint_names=rig.file.joint_names,
            parents=rig.file.parents,
            offsets_m=offsets @ size.T,
            standing=_local_turns(rig, still, turn)[0],
            binding=_inverse_bind(standing @ size.T, turn @ rig.rest.rotations @ turn.T),
            skin=_rig_skin(rig, made.clip.animal, size),
            colour=made.clip.animal.look.skin,
            turns=_local_turns(rig, motion.changes, turn),
            paths_m={joint: path @ size.T for joint, path in moving.items()},
            clip=made.clip,
        )
    )


def _upright(rig: Rig) -> Array:
    """Return the least turn (3, 3) that brings the file's up axis to that of the format."""
    up = rig.axes[2]
    if np.allclose(up, -UP):  # any half turn would do
        return np.diag([1.0, -1.0, -1.0])
    return np.asarray(np.round(least_turn(up, UP)))


def _standing(rig: Rig) -> Array:
    """Joints, standing, where the written file has them, (joints, 3), in the file's axes and unit."""
    return np.asarray(rig.places_m[: len(rig.file.parents)] @ rig.axes / rig.metres_per_unit + rig.home)


def _local_turns(rig: Rig, changes: Array, turn: Array) -> Array:
    """Turn changes from standing (frames, joints, 3, 3) into local rotations (frames, joints, 4), wxyz."""
    turns = np.empty((*changes.shape[:2], 4))
    for joint, parent in enumerate(rig.file.parents.tolist()):
        local = local_rotation(rig, joint, changes[:, max(parent, 0)], changes[:, joint])
        turns[:, joint] = quaternion_from_matrix(turn @ local @ turn.T)
    return turns


def _inverse_bind(places_m: Array, turns: Array) -> Array:
    """Return the matrices (joints, 4, 4) that take the standing figure into each joint, columns first."""
    matrices = np.tile(np.eye(4), (len(turns), 1, 1))
    matrices[:, :3, :3] = turns  # the inverse is the transpose, and columns come first
    matrices[:, 3, :3] = 0.0 - np.einsum("ji,jik->jk", places_m, turns)
    return np.asarray(matrices + 0.0)


def _rig_skin(rig: Rig, animal: Animal, size: Array) -> Skin:
    """Hang the skin of the animal that stands for a rig on the joints of the rig."""
    skin, to_rig = skin_of(animal), shares_of_rig(rig, animal)
    shares = np.zeros((len(skin.vertices_m), to_rig.shape[1]))
    for slot in range(skin.joints.shape[1]):
        shares += skin.weights[:, [slot]] * to_rig[skin.joints[:, slot]]
    joints, weights = four_greatest(shares)
    shift = home_m(rig, animal) - from_home(rig)
    places = (skin.vertices_m + shift) @ rig.axes / rig.metres_per_unit + rig.home
    turn = size / rig.metres_per_unit
    return Skin(
        vertices_m=places @ size.T,
        normals=skin.normals @ rig.axes @ turn.T,
        tones=skin.tones,
        joints=joints,
        weights=weights,
        triangles=skin.triangles,
    )
