"""Reads a clip that was refined by hand, also one in which no contact can be found any more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.check.few_frames import LEAST_FRAMES
from gaitgen.check.tracked import Tracked
from gaitgen.course.steps import Loop as Repeats
from gaitgen.course.steps import Steps
from gaitgen.edits.own_name import Varied
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.edits.seen import Seen, seen_in
from gaitgen.errors import FileFormatError, Notice, RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.loop import find_loop
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.numerics.turns import turn_between_rad
from gaitgen.reading.read import poses_of, tracked_ahead
from gaitgen.reading.stride import Stride, find_stride
from gaitgen.reading.strides import even_stride, one_stride, unlike_strides

Array = npt.NDArray[np.float64]

SAME_RAD = np.radians(0.5)  # limbs that turn by less from one stride to the next repeat it
SAME_STEP = 0.25  # ... and by less than this, as a share of what they turn in a frame
EACH, ROUNDED_RAD = 2.0, 1e-4  # times as far as the nearest, and what files round: a stride, not two
ALIKE = 0.2  # of the most that limbs differ from themselves earlier: so near they come in a stride like it
HELD_M = 1e-6  # a frame in which all joints go no farther holds the one before
STANDS_SHARE = 0.05  # of the hip height: feet that go no farther stand
PASSED_ON = ("names", "root", "rest")  # what is told of a file that came through other hands
STAYS_SHARE = 0.05  # of the hip height: a body that goes no farther in a stride stays in place


@dataclass(frozen=True, eq=False)
class RefinedClip:
    """A clip that was refined by hand.

    Attributes
    ----------
    name
        Of the file.
    clip
        What is in the file, all strides; of its steps the length of a stride is known, contacts are a hint.
    stride
        The stride that was changed, in place.
    timing
        Contacts and lift-offs as found in it; None if there are none to be found.
    chosen
        Which stride that is, if it is not plain.
    """

    name: str
    clip: Motion
    stride: Motion
    timing: Timing | None
    chosen: tuple[Notice, ...]

    @property
    def frames(self) -> int:
        """Length of a stride. [frames]"""
        return self.clip.facts.frames

    def seen(self, names: tuple[str, ...]) -> Seen:
        """Look at the stride, by some joints."""
        return seen_in(self.stride, self.frames, self.timing, names)


def read_refined(path: Path, animal: str | None = None, varied: Varied | None = None) -> RefinedClip:
    """Read a clip on gaitgen's joints and take the stride of it that was changed.

    The length of a stride is the time after which the limbs do the same again, or that of the loop; contacts
    tell it only where there is neither.

    Parameters
    ----------
    path
        A BVH file.
    animal
        Name of an animal, or path of a skeleton file; the nearest in shape if not given.
    varied
        How its strides may differ; where there are as many, they are taken together.

    Raises
    ------
    GaitgenError
        If the file cannot be read, has other joints, no stride, or strides that are not alike; one line.
    """
    matched, motion, notices = tracked_ahead(path, animal)
    passed_on = tuple(each for each in (*matched.notices, *notices) if each.topic in PASSED_ON)
    motion, held = without_held(motion)
    root, local = poses_of(motion, matched)
    if varied is not None and (frames := varied.loop_frames(motion)) is not None:
        clip = _clip(matched.animal, motion.frame_rate_hz, root, local, None, frames)
        return RefinedClip(path.name, clip, over_origin(clip), None, (*passed_on, *held))
    limbs = [joint for limb in matched.animal.limbs for joint in limb.joints]
    stride, frames = stride_length(motion, local[:, limbs], str(path))
    clip = _clip(matched.animal, motion.frame_rate_hz, root, local, stride, frames)
    chosen, own = _changed_stride(clip, path)
    timing = timing_of(clip) if stride is not None and stride.frames == frames else None
    return RefinedClip(path.name, clip, own, timing, (*passed_on, *held, *chosen))


def without_held(motion: Tracked) -> tuple[Tracked, tuple[Notice, ...]]:
    """Cut off the frames in which nothing moves any more, or not yet, and say so.

    Raises
    ------
    RequestError
        If all feet stay where they are: that is no stride.
    """
    far_m = float(np.ptp(motion.toes_m - motion.root_m[:, None] * [1.0, 1.0, 0.0], axis=0).max())
    if far_m < STANDS_SHARE * motion.hip_height_m:
        raise RequestError(
            f"{motion.name}: no foot goes anywhere; an edit is carried from strides to strides"
        )
    moves = np.flatnonzero(np.abs(np.diff(motion.points_m, axis=0)).max(axis=(1, 2)) > HELD_M)
    first, last = (int(moves[0]), int(moves[-1]) + 1) if moves.size else (0, motion.frames - 1)
    if (first, last) == (0, motion.frames - 1):
        return motion, ()
    rows = slice(first, last + 1)
    cut = replace(
        motion,
        file=replace(motion.file, rows=motion.file.rows[rows].copy()),
        places_m=motion.places_m[rows],
        changes=motion.changes[rows],
        local=motion.local[rows],
        toes_m=motion.toes_m[rows],
        heading_rad=motion.heading_rad[rows],
        angles_deg={joint: angles[rows] for joint, angles in motion.angles_deg.items()},
    )
    text = f"of {motion.name} frames {first + 1} to {last + 1} are taken, the others hold still."
    return cut, (Notice("held", text),)


def stride_length(motion: Tracked, limbs: Array, where: str) -> tuple[Stride | None, int]:
    """Find the length of a stride, and its contacts where there are any.

    Parameters
    ----------
    motion
        A clip.
    limbs
        (frames, joints, 3, 3) how the joints of its limbs are turned against the joints above.
    where
        Its name for messages.

    Raises
    ------
    FileFormatError
        If it has no stride.
    """
    fault, stride = None, None
    try:
        stride = find_stride(motion, where)
    except FileFormatError as error:
        fault = error
    steps = np.median(turn_between_rad(limbs[1:], limbs[:-1]).mean(axis=0))
    tried = np.array(
        [_apart_rad(limbs[frames:], limbs[:-frames]) for frames in range(LEAST_FRAMES, motion.frames)]
    )
    if tried.size and tried.min() < min(SAME_RAD, SAME_STEP * steps):
        frames = LEAST_FRAMES + int(np.argmax(tried < EACH * tried.min() + ROUNDED_RAD))
        _refuse_unlike(tried, frames, where)
        return stride, frames
    loop = find_loop(motion.points_m)
    if loop.closes:
        strides = 1 if stride is None else max(1, round(loop.frames / stride.frames))
        frames = round(loop.frames / strides)
        _refuse_unlike(tried, frames, where)
        return stride, frames
    if stride is None:
        assert fault is not None  # noqa: S101
        raise fault
    return stride, stride.frames


def _refuse_unlike(tried: Array, frames: int, where: str) -> None:
    """Refuse a loop of strides that are nearly alike, one of which would be taken for all.

    Parameters
    ----------
    tried
        How far the limbs are from what they do LEAST_FRAMES frames later, and each frame more. [rad]
    frames
        Length of the loop. [frames]
    where
        Its name for messages.

    Raises
    ------
    RequestError
        If it is of such strides.
    """
    for strides in range(frames // (LEAST_FRAMES + 1), 1, -1):
        one = frames // strides - LEAST_FRAMES
        if frames % strides == 0 and one < tried.size and tried[one] < ALIKE * tried[:one].max():
            raise RequestError(
                f"{where}: its {strides} strides differ a little, as those of a seed do, and neither its "
                "name nor the record of its folder tells how they were made; name the clip that it started "
                "from with --from, or cut this one to one stride"
            )


def _apart_rad(one: Array, other: Array) -> float:
    """Say by how much most joints (rows, joints, 3, 3) differ. [rad]"""
    return float(np.median(turn_between_rad(one, other).mean(axis=0)))


def _clip(
    animal: Animal, rate_hz: float, root: Array, local: Array, stride: Stride | None, frames: int
) -> Motion:
    """Put together what is known of a clip without its forces."""
    if len(root) <= frames:  # a loop that does not repeat its first frame
        root = np.concatenate([root, root[:1]])
        local = np.concatenate([local, local[:1]])
        travel = np.zeros(2)
    else:
        travel = (root[frames] - root[0])[:2]
    rows, period_s = len(root), frames / rate_hz
    stays = float(np.linalg.norm(travel)) < STAYS_SHARE * animal.hip_height_m
    if stays:
        travel = np.zeros(2) if stride is None else stride.steps.travel_m_s[:2] * period_s
    repeats = Repeats(period_s, shift_m=(float(travel[0]), float(travel[1]), 0.0))
    if stride is not None:
        steps = replace(stride.steps, loop=repeats)
    else:
        each = np.arange(len(LIMBS))
        down, places = np.full(len(LIMBS), 0.5 * period_s), np.zeros((len(LIMBS), 3))
        steps = Steps(each, 0.0 * down, down, places, 0.0 * down, loop=repeats)
    curves = np.zeros((rows, len(LIMBS))), np.zeros((rows, len(LIMBS), 2)), *np.zeros((3, rows))
    strides = max(1, (rows - 1) // frames)
    speed = float(np.linalg.norm(travel)) / period_s
    return Motion(
        animal=animal,
        frame_rate_hz=rate_hz,
        root_path_m=root,
        rotations=continuous_sign(quaternion_from_matrix(local)),
        steps=steps,
        belt_m_s=travel / period_s if stays else np.zeros(2),
        key_poses=(),
        plan=Plan(*curves),
        facts=Facts(frames, strides, period_s, speed, speed * period_s, 0.5, 0.0, 0.0, 0.0, 0.0),
        notices=(),
    )


def _changed_stride(clip: Motion, path: Path) -> tuple[tuple[Notice, ...], Motion]:
    """Take the stride of a clip that was changed, and say which; the first where all are alike.

    Raises
    ------
    RequestError
        If several strides differ, so that it is not clear which is meant.
    """
    unlike = unlike_strides(clip)
    if unlike is None:
        return (), one_stride(clip)
    only = unlike.only
    if only is None:
        raise RequestError(
            f"{path}: its {unlike.strides} strides are not alike, they differ in frames {unlike.where()}; "
            f"cut the clip to the stride to carry, such as frames {unlike.span(even_stride(clip, unlike))}"
        )
    text = (
        f"stride {only + 1} of {path.name} differs from the others, in frames {unlike.where()}; it is the "
        "one that is carried, into every stride, and its frames count from 1 here; to carry another "
        "cut the clip to it."
    )
    return (Notice("strides", text),), one_stride(clip, only)
