"""Contacts and lift-offs found in the toes' paths: ground, belt, and the stances of each foot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.belt import Run, first_belt, refined_belt
from gaitgen.check.loop import Loop
from gaitgen.check.noise import Noise
from gaitgen.check.tracked import Tracked
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A step of a toe against the belt counts as standing below the first share of the fastest swing; a stance
# begins and ends where it is below the second (chosen so that both hold from 8 to 96 frames a stride).
STILL, STILL_AT_ENDS = 0.10, 0.02
LOW_SHARE = 0.05  # of the hip height: how high a foot that carries may float, to be found as one at all
EDGE_HEIGHT_SHARE = 0.0032  # of the hip height: how far from its own level a stance begins or ends
MOST_TRIMMED, TRIMMED_PART = 4, 10
LEAST_ROWS = 2  # from first to last frame of a stance
EASES = (1.0, 2.0, 3.0)


@dataclass(frozen=True, eq=False)
class Stance:
    """One stance of one foot. In a loop, frames may run past its end.

    Attributes
    ----------
    limb
        Row of LIMBS.
    first, last
        First and last frame, counted from 0.
    begins, ends
        Whether contact and lift-off are in the clip, not cut off by its ends.
    path_m
        (last - first + 1, 3) toe against the belt, from its middle place; up from the ground. [m]
    """

    limb: int
    first: int
    last: int
    begins: bool
    ends: bool
    path_m: Array

    @property
    def whole(self) -> bool:
        """Whether both contact and lift-off are seen."""
        return self.begins and self.ends


@dataclass(frozen=True, eq=False)
class Feet:
    """The four feet against the ground.

    Attributes
    ----------
    belt_m_s
        (2,) velocity of the ground under the clip. [m/s]
    body_m_s
        (2,) velocity of the body over the ground. [m/s]
    in_place
        Whether the ground moves rather than the body.
    ground_m
        Height of the ground. [m]
    planted
        (frames, 4).
    stances
        In order of limb and time; of a loop those that begin in it.
    """

    belt_m_s: Array
    body_m_s: Array
    in_place: bool
    ground_m: float
    planted: Bools
    stances: tuple[Stance, ...]

    def of(self, limb: int) -> list[Stance]:
        """Return the stances of one foot."""
        return [stance for stance in self.stances if stance.limb == limb]


def find_feet(motion: Tracked, loop: Loop, noise: Noise) -> Feet:
    """Find out where the ground is, how it moves, and when each foot stands on it."""
    step_s = motion.file.frame_time_s
    base = _lowest(motion.toes_m)
    rolled = loop.unrolled(motion.toes_m - np.array([0.0, 0.0, base]))
    velocity = np.diff(rolled[..., :2], axis=0) / step_s  # (steps, 4, 2)
    slow = float(np.hypot(*noise.toe_m[:, :2].max(axis=0))) * np.sqrt(2.0) / step_s
    belt = first_belt(velocity, rolled[..., 2], noise, slow)
    against = np.linalg.norm(velocity - belt, axis=2)  # (steps, 4)
    swing = float(np.median(np.quantile(against, 0.97, axis=0)))
    runs: list[Run] = []
    for ease in EASES:  # real feet slip and roll: look more kindly until every foot stands somewhere
        runs = _find_runs(motion, rolled[..., 2], against, (swing, slow), noise, ease)
        if len({limb for limb, _, _ in runs}) == len(LIMBS):
            break
    belt = refined_belt(belt, rolled, runs, step_s)
    moments = np.arange(len(rolled))[:, None] * step_s
    fixed = rolled[..., :2] - (moments * belt)[:, None]
    ground = _ground(runs, [float(np.median(rolled[a : b + 1, limb, 2])) for limb, a, b in runs])
    stances = [
        stance
        for limb, first, last in runs
        if (stance := _stance(loop, len(rolled), limb, first, last, fixed, rolled[:, limb, 2] - ground))
    ]
    root = (motion.root_m[-1] - motion.root_m[0])[:2] / (step_s * (motion.frames - 1))
    in_place = float(np.linalg.norm(belt)) > float(np.linalg.norm(root))
    down = _planted(motion.frames, loop, stances)
    return Feet(belt, root - belt, in_place, ground + base, down, tuple(stances))


def _find_runs(
    motion: Tracked, height: Array, against: Array, speeds: tuple[float, float], noise: Noise, ease: float
) -> list[Run]:
    """Find the frames in which each foot is slow against the belt and low."""
    swing, slow = speeds
    low = height < ease * LOW_SHARE * motion.hip_height_m + 3.0 * noise.toe_m[:, 2]
    still = (against < max(ease * STILL * swing, 3.5 * slow)) & low[1:] & low[:-1]
    planted = np.zeros(low.shape, dtype=bool)
    planted[1:] |= still
    planted[:-1] |= still
    unrest = float(np.median(against[still])) if still.any() else 0.0
    strict = against < max(STILL_AT_ENDS * swing, 2.5 * slow, 3.0 * unrest)
    edge = EDGE_HEIGHT_SHARE * motion.hip_height_m
    runs: list[Run] = []
    for limb in range(len(LIMBS)):
        tolerance = max(ease * edge, 3.0 * float(noise.toe_m[limb, 2]))
        for first, last in _runs(planted[:, limb]):
            start, end = _trimmed(first, last, strict[:, limb], height[:, limb], tolerance)
            if end - start >= LEAST_ROWS:
                runs.append((limb, start, end))
    return runs


def _planted(frames: int, loop: Loop, stances: list[Stance]) -> Bools:
    """Mark the frames of all stances, (frames, 4)."""
    down = np.zeros((frames, len(LIMBS)), dtype=bool)
    for stance in stances:
        rows = np.arange(stance.first, stance.last + 1)
        if loop.closes:
            rows = rows % loop.frames
            if loop.repeats_first and 0 in rows:
                rows = np.append(rows, loop.frames)
        down[rows[rows < frames], stance.limb] = True
    return down


def _lowest(toes: Array) -> float:
    """Height that is surely near the ground: the middle of the feet's low points."""
    return float(np.median(np.quantile(toes[..., 2], 0.1, axis=0)))


def _runs(planted: Bools) -> list[tuple[int, int]]:
    """Return runs of planted frames; gaps far shorter than the usual one are closed, short runs left out."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], planted, [False]]).astype(np.int8))).reshape(
        -1, 2
    )
    if not len(edges):
        return []
    edges[:, 1] -= 1
    gaps = edges[1:, 0] - edges[:-1, 1] - 1
    usual = float(np.median(gaps[gaps >= np.quantile(gaps, 0.5)])) if gaps.size else 0.0
    apart = gaps > 0.4 * usual
    firsts = edges[np.concatenate([[True], apart]), 0]
    lasts = edges[np.concatenate([apart, [True]]), 1]
    length = lasts - firsts
    enough = length >= max(2.0, 0.25 * float(np.median(length)))
    return [(int(a), int(b)) for a, b in zip(firsts[enough], lasts[enough], strict=True)]


def _trimmed(first: int, last: int, slow: Bools, height: Array, tolerance: float) -> tuple[int, int]:
    """Take a few frames off both ends that are still moving or off the stance's own level.

    At the ends of a clip too: it may begin with a foot that is about to land.
    """
    level = float(np.median(height[first : last + 1]))
    away = np.abs(height[first : last + 1] - level) > tolerance
    room = min(max(MOST_TRIMMED, (last - first) // TRIMMED_PART), (last - first) // 4)
    start, end = first, last
    while start - first < room and (away[start - first] or not slow[start]):
        start += 1
    while last - end < room and (away[end - first] or not slow[end - 1]):
        end -= 1
    return start, end


def _ground(runs: list[Run], levels: list[float]) -> float:
    """Height of the ground: the middle of the feet's own levels."""
    if not runs:
        return 0.0
    feet = [
        float(np.median([level for run, level in zip(runs, levels, strict=True) if run[0] == limb]))
        for limb in sorted({run[0] for run in runs})
    ]
    return sorted(feet)[(len(feet) - 1) // 2]


def _stance(
    loop: Loop, rows: int, limb: int, first: int, last: int, fixed: Array, height: Array
) -> Stance | None:
    begins, ends = first > 0, last < rows - 1
    path = np.concatenate([fixed[first : last + 1, limb], height[first : last + 1, None]], axis=1)
    path[:, :2] -= np.median(path[:, :2], axis=0)
    if loop.closes:
        if not loop.frames <= first < 2 * loop.frames:
            return None
        first, last = first - loop.frames, last - loop.frames
    return Stance(limb, first, last, begins, ends, path)
