"""Reads a clip on a rig, perhaps refined by hand, as one of the animal that stands for the rig."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from gaitgen.check.few_frames import LEAST_FRAMES, refuse_few_frames
from gaitgen.check.stand_first import without_stand
from gaitgen.check.tracked import Tracked, place
from gaitgen.errors import FileFormatError, Notice
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.motion.motion import Motion
from gaitgen.reading.drawn import ahead, drawn, frame_rate_hz
from gaitgen.rigs.animal_pose import animal_pose, home_m
from gaitgen.rigs.cycle import load_rig
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.rig_space import from_home

MISSED_M = 0.001  # toes that are drawn farther from the rig's are said


def clip_on_rig(path: Path, map_path: str) -> Motion:
    """Read a clip on a rig, with its plan, for pictures of it.

    Parameters
    ----------
    path
        A BVH file with the joints of the rig.
    map_path
        The map of the rig.

    Returns
    -------
    Motion
        On the animal that stands for the rig; its frames are as `clip_from_bvh` has them.

    Raises
    ------
    GaitgenError
        If map, rig or clip are not usable, the clip is on other joints, or has no stride; one line.
    """
    loaded = load_rig(map_path)
    rig, animal = loaded.rig, loaded.animal
    motion = tracked_on(path, rig)
    refuse_few_frames(str(path), motion.frames)
    home = home_m(rig, animal)
    motion = replace(motion, places_m=motion.places_m - home, toes_m=motion.toes_m - home)
    motion, turned = ahead(motion, animal, rig.places_m[0] + from_home(rig) - home)
    pose = animal_pose(rig, animal, motion.places_m, motion.changes, motion.toes_m)
    own = Path(map_path).name  # a page that is handed on tells nobody's folders
    said = [Notice("read", f"read from {path.name} with {own}: contacts found by position and speed.")]
    worst = float(pose.misses_m.max())
    if worst > MISSED_M:
        text = f"toes are drawn up to {1000.0 * worst:.0f} mm from where the rig has them."
        said.append(Notice("drawn", text))
    return drawn(path, motion, animal, (pose.root_m, pose.local), (*said, *motion.notices, *turned))


def tracked_on(path: Path, rig: Rig) -> Tracked:
    """Read a clip on a rig and follow its joints, from the origin of the file.

    Raises
    ------
    GaitgenError
        If it cannot be read, or is on other joints.
    """
    where = str(path)
    file = read_bvh(read_bvh_bytes(path, "clip"), where)
    if file.joint_names != rig.file.joint_names or not np.array_equal(file.parents, rig.file.parents):
        raise FileFormatError(f"{where} does not have the joints of {rig.name}, which the map is for")
    file = replace(file, frame_time_s=1.0 / frame_rate_hz(file.frame_time_s))
    file, stood = without_stand(file, rig.rest, LEAST_FRAMES)
    return place(file, rig.map, path.name, rig.rest, stood)
