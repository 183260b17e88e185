"""Reads a clip back from a BVH file that has gaitgen's joints."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.library import animal_names, joints_in_file, load_animal
from gaitgen.check.few_frames import LEAST_FRAMES, refuse_few_frames
from gaitgen.check.stand_first import without_stand
from gaitgen.check.tracked import Tracked, place
from gaitgen.errors import FileFormatError, Notice
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.motion.motion import Motion
from gaitgen.reading.drawn import ahead, drawn, frame_rate_hz
from gaitgen.reading.match import Matched, match_animal
from gaitgen.reading.on_rig import clip_on_rig
from gaitgen.reading.passed_on import as_it_was
from gaitgen.reading.strides import one_stride
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.map_file import is_map
from gaitgen.rigs.rest import rest_pose
from gaitgen.rigs.rig_map import RigMap

Array = npt.NDArray[np.float64]


def clip_from_bvh(path: Path, animal: str | None = None) -> Motion:
    """Read a clip that gaitgen wrote, or that was refined by hand since, with its plan.

    Unit, up axis and rotation orders are those of the file. Contacts, lift-offs, belt and key poses are
    found in the motion; forces are estimated from the rise and fall of hips and chest.

    Parameters
    ----------
    path
        A BVH file with the joints that gaitgen writes, or with those of a rig.
    animal
        Name of an animal, or path of a skeleton file; the nearest in shape if not given. For a clip on
        a rig, the path of its map.

    Returns
    -------
    Motion
        All frames of the file; where it loops without repeating its first frame, that is added.

    Raises
    ------
    GaitgenError
        If the file cannot be read, has other joints or no stride; one line.
    """
    if animal is not None and is_map(animal):
        return clip_on_rig(path, animal)
    matched, motion, notices = tracked_ahead(path, animal)
    text = f"read from {path.name}: contacts found by position and speed"
    if animal is None:
        text += f", the animal ({matched.animal.title.lower()}) by its shape"
    said = (Notice("read", f"{text}."), *matched.notices, *notices)
    return drawn(path, motion, matched.animal, poses_of(motion, matched), said)


def tracked_ahead(path: Path, animal: str | None = None) -> tuple[Matched, Tracked, list[Notice]]:
    """Read a file and follow its joints, turned ahead and over the origin; ``animal`` as in clip_from_bvh.

    Raises
    ------
    GaitgenError
        If it cannot be read, has other joints, too few frames, or a root without a place; one line.
    """
    where = str(path)
    file, matched = opened(path, animal)
    refuse_few_frames(where, len(file.rows))
    if sum(word.endswith("position") for word in file.channels[int(matched.rows[0])]) != 3:
        raise FileFormatError(
            f"{where}: the root {file.joint_names[0]!r} lacks position channels; give it CHANNELS with "
            "Xposition Yposition Zposition"
        )
    file, stood = without_stand(file, rest_pose(file, "zero"), LEAST_FRAMES)
    motion, notices = ahead(place(file, own_map(file, where, matched), path.name), matched.animal)
    return matched, motion, [*stood, *notices]


def poses_of(motion: Tracked, matched: Matched) -> tuple[Array, Array]:
    """Return the root's path (frames, 3) [m] and the rotations (frames, joints, 3, 3) of an animal."""
    local = matched.axes @ motion.local[:, matched.rows] @ matched.axes.T
    local[:, 0] = motion.changes[:, matched.rows[0]]
    return motion.places_m[:, matched.rows[0]].copy(), local


def opened(path: Path, animal: str | None = None) -> tuple[BvhFile, Matched]:
    """Read a file and find out whose joints it has; ``animal`` as in clip_from_bvh.

    Raises
    ------
    GaitgenError
        If it cannot be read or has other joints; one line.
    """
    where = str(path)
    file = read_bvh(read_bvh_bytes(path, "clip"), where)
    file = replace(file, frame_time_s=1.0 / frame_rate_hz(file.frame_time_s))
    file, notices = as_it_was(file, root_names(animal))
    matched = match_animal(file, where, animal)
    return file, replace(matched, notices=(*notices, *matched.notices))


def root_names(animal: str | None) -> set[str]:
    """Return what the root of an animal is called, or of any that comes with gaitgen."""
    if animal is None:
        return {joints_in_file(name)[0] for name in animal_names()}
    return {load_animal(animal).joint_names[0]}


def own_map(file: BvhFile, where: str, matched: Matched) -> RigMap:
    """Map the joints of a file that gaitgen wrote, in the unit and the axes that were found in it."""
    own = matched.animal.name
    found, _ = find_rig(file, where, own) if own in animal_names() else find_rig(file, where)
    up = int(np.argmax(np.abs(matched.axes[2])))
    forward = matched.axes[0] + 0.0
    return replace(
        found,
        unit=matched.unit,
        up=f"{'-' if matched.axes[2, up] < 0.0 else ''}{'xyz'[up]}",
        forward=(float(forward[0]), float(forward[1]), float(forward[2])),
        rest="zero",
    )


def first_stride(clip: Motion) -> Motion:
    """Cut a clip to its first stride, in place."""
    return one_stride(clip)
