"""From a clip that was read to what pictures need: its stride, its plan, and what is unusual about it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.check.tracked import Tracked
from gaitgen.errors import FileFormatError, Notice, ReachError
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import axis_angle_matrix, continuous_sign, quaternion_from_matrix
from gaitgen.reading.plan import find_plan
from gaitgen.reading.stride import Stride, find_stride
from gaitgen.reading.strides import unlike_strides

Array = npt.NDArray[np.float64]

TURNED_RAD = np.radians(15.0)  # a clip that heads farther off forward is turned about
OTHER_GROUND_M = 0.005
ROUNDED_S = 1e-6  # a frame time is written with six decimals at least
FAR_OFF = 0.5  # withers heights from the origin, at frame 1


def drawn(
    path: Path, motion: Tracked, animal: Animal, poses: tuple[Array, Array], said: tuple[Notice, ...]
) -> Motion:
    """Make a clip of what a file shows, with its plan.

    Parameters
    ----------
    path, motion
        The file, and what is in it, turned ahead and over the origin.
    animal, poses
        The animal that is drawn; (frames, 3) the path of its root [m], and (frames, joints, 3, 3) rotations.
    said
        What was guessed before.

    Raises
    ------
    FileFormatError
        If it has no stride, or is no cycle; one line.
    """
    where = str(path)
    stride = find_stride(motion, where)
    try:
        clip = _clip(motion, animal, stride, poses, (*said, *_stride_notices(stride, motion)))
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


def frame_rate_hz(frame_time_s: float) -> float:
    """Return the whole or 1000/1001 rate that a rounded frame time stands for, or what it says. [Hz]"""
    rate = 1.0 / frame_time_s
    for usual in (float(round(rate)), round(1.001 * rate) / 1.001):
        if usual > 0.0 and abs(1.0 / usual - frame_time_s) < ROUNDED_S:
            return usual
    return rate


def ahead(motion: Tracked, skeleton: Animal, stands_m: Array | None = None) -> tuple[Tracked, list[Notice]]:
    """Turn a clip that heads another way to x, and start one that is far off over the origin.

    Parameters
    ----------
    motion, skeleton
        The clip and whose it is.
    stands_m
        (3,) place of the root of one that stands over the origin; the origin if not given. [m]
    """
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
    stands = np.zeros(3) if stands_m is None else stands_m
    start = (motion.root_m[0] - stands) * [1.0, 1.0, 0.0]
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


def _clip(
    motion: Tracked,
    animal: Animal,
    stride: Stride,
    poses: tuple[Array, Array],
    notices: tuple[Notice, ...],
) -> Motion:
    root, local = poses[0].copy(), poses[1]
    ground = stride.ground_m
    if abs(ground) > OTHER_GROUND_M:
        root[:, 2] -= ground
        ground = 0.0
    if stride.loop.closes and not stride.loop.repeats_first:
        local = np.concatenate([local, local[:1]])
        root = np.concatenate([root, root[:1] + stride.loop.advance_m])
    found = find_plan(motion, animal, stride, root, local, ground)
    return Motion(
        animal=animal,
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
