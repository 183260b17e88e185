"""Reads a clip back from a BVH file that has gaitgen's joints."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.tracked import LEAST_FRAMES, Tracked, place
from gaitgen.errors import FileFormatError, Notice, ReachError
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import axis_angle_matrix, continuous_sign, quaternion_from_matrix
from gaitgen.reading.match import Matched, match_animal
from gaitgen.reading.passed_on import as_it_was
from gaitgen.reading.plan import find_plan
from gaitgen.reading.stride import Stride, find_stride
from gaitgen.reading.strides import one_stride, unlike_strides
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.rig_map import RigMap

Array = npt.NDArray[np.float64]

TURNED_RAD = np.radians(15.0)  # a clip that heads farther off forward is turned about
OTHER_GROUND_M = 0.005
ROUNDED_S = 1e-6  # a frame time is written with six decimals at least
FAR_OFF = 0.5  # withers heights from the origin, at frame 1


def clip_from_bvh(path: Path, animal: str | None = None) -> Motion:
    """Read a clip that gaitgen wrote, or that was refined by hand since, with its plan.

    Unit, up axis and rotation orders are those of the file. Contacts, lift-offs, belt and key poses are
    found in the motion; forces are estimated from the rise and fall of hips and chest.

    Parameters
    ----------
    path
        A BVH file with the joints that gaitgen writes.
    animal
        Name of an animal, or path of a skeleton file; the nearest in shape if not given.

    Returns
    -------
    Motion
        All frames of the file; where it loops without repeating its first frame, that is added.

    Raises
    ------
    GaitgenError
        If the file cannot be read, has other joints or no stride; one line.
    """
    where = str(path)
    matched, motion, notices = tracked_ahead(path, animal)
    stride = find_stride(motion, where)
    text = f"read from {path.name}: contacts found by position and speed"
    if animal is None:
        text += f", the animal ({matched.animal.title.lower()}) by its shape"
    read = Notice("read", f"{text}.")
    said = (read, *matched.notices, *notices, *_stride_notices(stride, motion))
    try:
        clip = _clip(motion, matched, stride, said)
    except ReachError:
        raise FileFormatError(
            f"{where} is no cycle: on the steps that were found no forces of feet carry it; of a shot, draw "
            f"the file that it was made from, or put {path.stem}.path.csv beside it"
        ) from None
    unlike = unlike_strides(clip) if stride.loop.closes and stride.noise.angle_deg == 0.0 else None
    if unlike is None:
        return clip
    text = f"the strides differ, in frames {unlike.where()}; only the first is drawn."
    return replace(clip, notices=(*clip.notices, Notice("strides", text)))


def tracked_ahead(path: Path, animal: str | None = None) -> tuple[Matched, Tracked, list[Notice]]:
    """Read a file and follow its joints, turned ahead and over the origin; ``animal`` as in clip_from_bvh.

    Raises
    ------
    GaitgenError
        If it cannot be read, has other joints, too few frames, or a root without a place; one line.
    """
    where = str(path)
    file, matched = opened(path, animal)
    if len(file.rows) < LEAST_FRAMES:
        raise FileFormatError(
            f"{where} has {len(file.rows)} frame{'s' * (len(file.rows) != 1)}; give a clip of at least "
            f"{LEAST_FRAMES}, a stride or more"
        )
    if sum(word.endswith("position") for word in file.channels[int(matched.rows[0])]) != 3:
        raise FileFormatError(
            f"{where}: the root {file.joint_names[0]!r} lacks position channels; give it CHANNELS with "
            "Xposition Yposition Zposition"
        )
    motion, notices = _ahead(place(file, own_map(file, where, matched), path.name), matched.animal)
    return matched, motion, notices


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
    names = animal_names() if animal is None else (animal,)
    return {load_animal(name).joint_names[0] for name in names}


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


def frame_rate_hz(frame_time_s: float) -> float:
    """Return the whole or 1000/1001 rate that a rounded frame time stands for, or what it says. [Hz]"""
    rate = 1.0 / frame_time_s
    for usual in (float(round(rate)), round(1.001 * rate) / 1.001):
        if usual > 0.0 and abs(1.0 / usual - frame_time_s) < ROUNDED_S:
            return usual
    return rate


def first_stride(clip: Motion) -> Motion:
    """Cut a clip to its first stride, in place."""
    return one_stride(clip)


def _ahead(motion: Tracked, skeleton: Animal) -> tuple[Tracked, list[Notice]]:
    """Turn a clip that heads another way to x, and start one that is far off over the origin."""
    notices = []
    heading = float(np.angle(np.exp(1j * motion.heading_rad).mean()))
    if abs(heading) > TURNED_RAD:
        turn = axis_angle_matrix("Z", np.array(-heading))
        motion = replace(
            motion,
            places_m=motion.places_m @ turn.T,
            toes_m=motion.toes_m @ turn.T,
            changes=turn @ motion.changes,
            heading_rad=motion.heading_rad - heading,
        )
        text = (
            f"the clip heads {np.degrees(heading):.0f} degrees to the left of the rig's forward; drawn ahead."
        )
        notices.append(Notice("heading", text))
    start = motion.root_m[0] * [1.0, 1.0, 0.0]
    if float(np.linalg.norm(start)) > FAR_OFF * skeleton.withers_height_m:
        motion = replace(motion, places_m=motion.places_m - start, toes_m=motion.toes_m - start)
        text = f"the clip starts {np.linalg.norm(start):.2f} m from the origin; drawn from there on."
        notices.append(Notice("origin", text))
    return motion, notices


def _stride_notices(stride: Stride, motion: Tracked) -> list[Notice]:
    notices = []
    if not stride.loop.closes:
        text = "the clip is no loop; its first stride is drawn, and the last pose does not meet the first."
        notices.append(Notice("loop", text))
    elif not stride.loop.repeats_first:
        text = f"the last frame does not repeat the first, so frame {motion.frames + 1} is added that does."
        notices.append(Notice("loop", text))
    if abs(stride.gait.period - stride.frames) > 0.05:
        text = f"a stride takes {stride.gait.period:.1f} frames; {stride.frames} are drawn."
        notices.append(Notice("period", text))
    if stride.noise.angle_deg > 0.0:
        text = (
            f"rotations jitter by about {stride.noise.angle_deg:.2f} degrees, so contacts may be a "
            "frame or two off, and heights are smoothed."
        )
        notices.append(Notice("noise", text))
    if abs(stride.ground_m) > OTHER_GROUND_M:
        text = f"the ground was found at {100.0 * stride.ground_m:+.1f} cm; the clip is put on 0."
        notices.append(Notice("ground", text))
    return notices


def _clip(motion: Tracked, matched: Matched, stride: Stride, notices: tuple[Notice, ...]) -> Motion:
    root, local = poses_of(motion, matched)
    if abs(stride.ground_m) > OTHER_GROUND_M:
        root[:, 2] -= stride.ground_m
    if stride.loop.closes and not stride.loop.repeats_first:
        local = np.concatenate([local, local[:1]])
        root = np.concatenate([root, root[:1] + stride.loop.advance_m])
    found = find_plan(motion, matched.animal, stride, root, local)
    return Motion(
        animal=matched.animal,
        frame_rate_hz=found.frame_rate_hz,
        root_path_m=root,
        rotations=continuous_sign(quaternion_from_matrix(local)),
        steps=stride.steps,
        belt_m_s=stride.steps.travel_m_s.copy() if stride.in_place else np.zeros(2),
        key_poses=found.key_poses,
        plan=found.plan.at(np.arange(len(root)) % stride.frames),
        facts=found.facts,
        notices=(*notices, *found.notices),
    )
