"""From a clip's file to its motion, and what the clip is held against."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from gaitgen.animal.library import load_animal
from gaitgen.check.few_frames import LEAST_FRAMES, refuse_few_frames
from gaitgen.check.limb_angles import standing_angles_deg
from gaitgen.check.limits import Limits
from gaitgen.check.stand_first import without_stand
from gaitgen.check.tracked import Tracked, place
from gaitgen.check.whose import limits_of, whose
from gaitgen.errors import FileFormatError, RequestError, RigError
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.rigs.map_file import is_map, read_map
from gaitgen.rigs.rig import standing_pose


def load_motion(
    path: Path, map_path: Path | None = None, animal: str | None = None
) -> tuple[Tracked, Limits]:
    """Read a clip, and find the limits for its animal.

    Parameters
    ----------
    path
        The clip.
    map_path
        Map of its rig, from its own finder if not given.
    animal
        An animal, an animal file or a set of limits; that of the map, or found out, if not given. The map
        of a rig stands for the map.

    Raises
    ------
    GaitgenError
        If the file cannot be read, is no four-legged rig, or has too few frames; one line.
    """
    if animal is not None and is_map(animal):
        if map_path is not None:
            raise RequestError(
                f"{animal} is the map of a rig, and so is {map_path}; give one of them, as --map, and with "
                "--animal an animal"
            )
        map_path, animal = Path(animal), None
    data, where = read_bvh_bytes(path, "clip"), str(path)
    file = read_bvh(data, where)
    refuse_few_frames(where, len(file.rows))
    if all(sum(word.endswith("position") for word in words) != 3 for words in file.channels):
        raise FileFormatError(
            f"{where}: the root {file.joint_names[0]!r} lacks position channels, so it cannot move; give it "
            "CHANNELS with Xposition Yposition Zposition"
        )
    if map_path is None:
        try:
            return motion_of(file, where, path.name, animal)
        except RigError as error:
            raise RigError(f"{error}, or its map, which `gaitgen fit` makes of the rig, with --map") from None
    return mapped_motion(file, where, path.name, map_path, animal)


def mapped_motion(
    file: BvhFile, where: str, name: str, map_path: Path, animal: str | None = None
) -> tuple[Tracked, Limits]:
    """Put a clip on the rig of a map, and find the limits for its animal.

    Parameters
    ----------
    file, where, name
        The clip, and its name for messages and in reports.
    map_path
        The map of its rig.
    animal
        As in `load_motion`, but no map.

    Raises
    ------
    GaitgenError
        If the map cannot be read or is for other joints, or there is no such animal.
    """
    own, rig_path, rig_data = read_map(map_path)
    limits, _ = limits_of(own.template if animal is None else animal)
    rig = read_bvh(rig_data, str(rig_path))
    if rig.joint_names != file.joint_names or not np.array_equal(rig.parents, file.parents):
        raise FileFormatError(
            f"{where} does not have the joints of {rig_path}, which {map_path} is for; give its own map"
        )
    pose = standing_pose(rig, own, load_animal(own.template))
    file, said = without_stand(file, pose, LEAST_FRAMES)
    motion = place(file, own, name, pose, said)
    return motion, limits.from_standing(_farther_deg(motion))


def motion_of(file: BvhFile, where: str, name: str, animal: str | None = None) -> tuple[Tracked, Limits]:
    """Find a clip's rig in itself, and the limits for its animal.

    Parameters
    ----------
    file, where, name
        The clip, and its name for messages and in reports.
    animal
        As in `load_motion`, but no map.

    Raises
    ------
    GaitgenError
        If it is no four-legged rig, or there is no such animal.
    """
    found = whose(file, where, animal)
    stands = standing_pose(file, found.map, load_animal(found.map.template))
    file, said = without_stand(file, stands, LEAST_FRAMES)
    motion = place(file, found.map, name, stands, (*said, *found.notices))
    return motion, found.limits.from_standing(_farther_deg(motion))


def _farther_deg(motion: Tracked) -> dict[str, tuple[float, float]]:
    """How much less and more open a rig's joints stand than its animal's, by joint word. [degrees]

    A rig's own standing pose is inside its ranges.
    """
    own = standing_angles_deg(motion.template)
    found: dict[str, tuple[float, float]] = {}
    for (limb, word), angle in motion.standing_deg.items():
        away = angle - own.get((limb, word), angle)
        less, more = found.get(word, (0.0, 0.0))
        found[word] = min(less, away), max(more, away)
    return found
