"""Where and when feet stand in the world, in a clip whose pace, heading and ground may change."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.noise import Noise
from gaitgen.check.tracked import Tracked
from gaitgen.motion.stance_runs import to_the_frame
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

# A step of a toe counts as standing below the first share of the fastest one near it in time, and a stance
# begins and ends below the second; steps slower than so many hip heights a second are none.
STILL, STILL_AT_ENDS, SLOW = 0.08, 0.02, 0.06
NEAR_S = 0.45  # how near in time: about half of a stride
# A foot that comes back to its place, so near in hip heights after so few rows, has only popped; one that is
# not lifted between two places has slid from one to the other.
SAME_PLACE, POPS = 0.012, 3
SLID, SLIDES = 0.15, 8
LEAST_ROWS, MOST_TRIMMED = 2, 3
# Hip heights: a foot so far over its place at an end of its stance has left, or not landed.
LIFTED = 0.004
AVERAGED = 2  # rows on either side, in a noisy clip
# In a noisy clip a short step may be as slow as the noise is fast: its way tells it. So far in hip heights,
# and deviations of the noise, a toe goes in it at least, in such a time; it moves between these parts of it.
SHORT_STEP, STANDS_OUT, STEP_S, LEAVES, ARRIVES = 0.05, 8.0, 0.4, 0.1, 0.9
# A noisy row counts to a stance if it is nearer to its place than so many variances of the noise in three
# directions, of which noise alone makes three: from about 2.4 deviations on it is one that moves. Rows.
ELSEWHERE, MOST_MOVED = 9.0, 6


@dataclass(frozen=True, eq=False)
class Stand:
    """One foot, standing.

    Attributes
    ----------
    limb
        Row of LIMBS.
    first, last
        Rows.
    place_m
        (3,) middle of the toe's places. [m]
    """

    limb: int
    first: int
    last: int
    place_m: Array

    @property
    def middle(self) -> float:
        """Row in the middle."""
        return (self.first + self.last) / 2.0


def stands(motion: Tracked, noise: Noise) -> list[Stand]:
    """Find where toes keep their place in the world, by speed in three dimensions alone: ground may slope.

    Returns
    -------
    In order of limb and time.
    """
    toes, shrinks = _steadied(motion, noise)
    paths = replace(motion.foot_paths(shrinks * noise.toe_m), toes_m=toes)
    speed = np.linalg.norm(np.diff(toes, axis=0), axis=2) / paths.frame_time_s  # (steps, 4)
    half = max(2, round(NEAR_S * motion.frame_rate_hz))
    wide = np.pad(speed, ((half, half), (0, 0)), mode="edge")
    fast = np.lib.stride_tricks.sliding_window_view(wide, 2 * half + 1, axis=0).max(axis=-1)
    fast = fast.max(axis=1, keepdims=True)  # of all feet: some stand for long
    slow = SLOW * motion.hip_height_m
    shake = 3.5 * paths.slow_m_s
    still = speed < np.maximum(STILL * fast, slow) + shake
    strict = speed < np.maximum(STILL_AT_ENDS * fast, slow / 2.0) + shake
    found: list[tuple[int, int, int]] = []
    for limb in range(4):
        planted = np.zeros(motion.frames, dtype=bool)
        planted[1:] |= still[:, limb]
        planted[:-1] |= still[:, limb]
        lifted = LIFTED * motion.hip_height_m + 3.0 * shrinks * float(noise.toe_m[limb, 2])
        pieces = _joined(runs(planted), toes[:, limb], motion.hip_height_m)
        if shrinks < 1.0:
            least_m = max(
                SHORT_STEP * motion.hip_height_m, STANDS_OUT * shrinks * noise.toe_m[limb, :2].max()
            )
            rows = max(2, round(STEP_S * motion.frame_rate_hz))
            apart = _Step(rows, least_m, lifted, SLID * motion.hip_height_m)
            pieces = [part for piece in pieces for part in _parted(piece, toes[:, limb], apart)]
        for first, last in pieces:
            start, end = _trimmed(first, last, strict[:, limb])
            height = toes[:, limb, 2]
            start, end = _without_lifts(start, end, height, lifted)
            if end - start >= LEAST_ROWS:
                found.append((limb, start, end))
    if shrinks < 1.0:
        found = [_while_in_place(motion.toes_m[:, run[0]], run, noise.toe_m[run[0]]) for run in found]
    exact, _, _ = to_the_frame(paths, found, np.zeros(2))
    return [
        Stand(limb, first, last, np.median(motion.toes_m[first : last + 1, limb], axis=0))
        for limb, first, last in exact
    ]


def _steadied(motion: Tracked, noise: Noise) -> tuple[Array, float]:
    """Average the toes (frames, 4, 3) where the clip is noisy, and tell by what that shrinks the noise."""
    if not noise.toe_m.any():
        return motion.toes_m, 1.0
    wide = 2 * AVERAGED + 1
    long = np.pad(motion.toes_m, ((AVERAGED, AVERAGED), (0, 0), (0, 0)), mode="edge")
    return np.lib.stride_tricks.sliding_window_view(long, wide, axis=0).mean(axis=-1), wide**-0.5


def _while_in_place(toe: Array, run: tuple[int, int, int], noise_m: Array) -> tuple[int, int, int]:
    """Take the rows in which a noisy toe (frames, 3) is where it stands, as far as its noise (3,) lets tell.

    Averaged paths leave their place too early, and reach it too late. [m]
    """
    limb, first, last = run
    middle = (first + last) // 2
    start, end = max(0, first - MOST_MOVED), min(len(toe) - 1, last + MOST_MOVED)
    place = np.median(toe[first : last + 1], axis=0)
    near = ELSEWHERE - (((toe[start : end + 1] - place) / np.maximum(noise_m, 1e-9)) ** 2).sum(axis=1)
    before, after = np.cumsum(near[: middle - start + 1][::-1]), np.cumsum(near[middle - start :])
    begins, ends = middle - int(before.argmax()), middle + int(after.argmax())
    # One row at an end of the clip does not tell that the foot goes.
    return limb, begins if begins > 1 else 0, ends if ends < len(toe) - 2 else len(toe) - 1


@dataclass(frozen=True)
class _Step:
    """What a step in a noisy clip is: so many rows, so far, and lifted so high or so much farther. [m]"""

    rows: int
    least_m: float
    lifted_m: float
    far_m: float


def _parted(piece: tuple[int, int], toe: Array, step: _Step) -> list[tuple[int, int]]:
    """Part a run of rows where the toe (frames, 3) takes a step in it all the same."""
    first, last = piece
    path = toe[first : last + 1]
    if len(path) < step.rows + 2:
        return [piece]
    ways = np.linalg.norm(path[step.rows :, :2] - path[: -step.rows, :2], axis=1)
    row = int(ways.argmax())
    far = float(ways[row])
    zone = path[row : row + step.rows + 1]
    beside = path[max(0, row - step.rows) : row + 1, 2], path[row + step.rows : row + 2 * step.rows + 1, 2]
    over = float(zone[:, 2].max()) - min(float(np.median(heights)) for heights in beside)
    if far < step.least_m or (over < step.lifted_m and far < step.far_m):
        return [piece]
    share = (zone[:, :2] - zone[0, :2]) @ (zone[-1, :2] - zone[0, :2]) / far**2
    leaves = first + row + int(np.flatnonzero(share < LEAVES)[-1])
    arrives = max(first + row + int(np.flatnonzero(share > ARRIVES)[0]), leaves + 1)
    return [*_parted((first, leaves), toe, step), *_parted((arrives, last), toe, step)]


def _joined(pieces: list[tuple[int, int]], toe: Array, hip_height_m: float) -> list[tuple[int, int]]:
    """Join runs of rows between which a toe (frames, 3) does not leave its place for longer than a pop."""
    joined: list[tuple[int, int]] = []
    for first, last in pieces:
        if joined and _are_one(joined[-1], (first, last), toe / hip_height_m):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return joined


def _are_one(before: tuple[int, int], after: tuple[int, int], toe: Array) -> bool:
    """Whether two runs of rows are one stance, by the path of the toe (frames, 3) in hip heights."""
    gap = after[0] - before[1] - 1
    if gap > SLIDES:
        return False
    middle = np.median(toe[before[0] : before[1] + 1], axis=0)
    apart = float(np.linalg.norm(np.median(toe[after[0] : after[1] + 1], axis=0) - middle))
    lift = float(np.abs(toe[before[1] : after[0] + 1, 2] - middle[2]).max())
    return (gap <= POPS and apart < SAME_PLACE) or (lift < LIFTED and apart < SLID)


def _trimmed(first: int, last: int, strict: npt.NDArray[np.bool_]) -> tuple[int, int]:
    """Take a few rows off both ends in which the toe still moves."""
    room = min(MOST_TRIMMED, (last - first) // 4)
    start, end = first, last
    while start - first < room and not strict[start]:
        start += 1
    while last - end < room and not strict[end - 1]:
        end -= 1
    return start, end


def _without_lifts(first: int, last: int, height: Array, lifted_m: float) -> tuple[int, int]:
    """Take rows off both ends in which a slow foot is over its place, by its height (frames,). [m]"""
    over = height[first : last + 1] - np.median(height[first : last + 1]) > lifted_m
    down = np.flatnonzero(~over)
    return first + int(down[0]), first + int(down[-1])
