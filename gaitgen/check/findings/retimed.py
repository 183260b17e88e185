"""Frames that are out of time: where another order or spacing of frames lets all joints turn smoothly.

Six or seven frames around a place are held against the curve of the fourth degree that fits them best, once
as they follow each other in the file, and once with the times they would have if frames were missing there or
had changed places. How many times better that is, in the geometric mean over all joints that move, tells: one
joint that pops moves that mean hardly, however far it pops, and a gallop leaves each joint its curve.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import SAME_DEG
from gaitgen.check.seen import Seen
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix

Array = npt.NDArray[np.float64]

DEGREE = 4
FEWEST = 8  # frames
MOST_MISSING = 3
MOVES_RAD = np.radians(0.2)  # joints that turn less have no say
LEAST_RAD = np.radians(0.02)  # a joint that is so near its curve is on it
# In a noisy clip noise alone, about three axes, is off every curve by the root of three.
NOISE_FLOOR = 3.0**0.5
# Better by so much, and for such a share of the joints; in the computed clips of all gaits it never is.
GAP_GAIN, SWAP_GAIN, AGREE = 1.5, 3.0, 0.68
# In loops of fewer frames, of which such a curve has most, clean ones come to 3.5.
FEW, OF_FEW_GAIN = 10, 4.0
# The other half of the stride, where legs do the same, must not look as if frames were missing there:
# what is gained here is so many times what is gained there, both as logarithms.
OVER_OTHERS, GIVE = 1.35, 1
# Frames before and after the first of two that are looked at, and the most after it.
BEFORE, AFTER, BEYOND = 2, 3, 4
# A pose that is out of place: frames around it, one of the two or beside them, are so much nearer their curve
# without it.
FAR_NEARER = 4.0
BETWEEN = 0.35  # of the way between two frames: one so near its middle belongs between them
STRAYED = tuple(np.delete(np.arange(-2.0, 5.0), one + 2) for one in (-1, 0, 1, 2))


@dataclass(frozen=True)
class OutOfTime:
    """A place where frames are out of time.

    Attributes
    ----------
    row
        The last row before missing frames, or the first of two that have changed places.
    frames
        How many are missing, or how far apart the two are that have changed places.
    gain
        How many times nearer their curves joints are with that mended.
    """

    row: int
    frames: int
    gain: float


def gaps(seen: Seen) -> list[OutOfTime]:
    """Return where frames are missing: not where a step looks so each time that it is made."""
    steady = np.arange(-BEFORE, AFTER + 1.0)
    times = {count: np.where(steady > 0.0, steady + count, steady) for count in range(1, MOST_MISSING + 1)}
    is_short = seen.loop.closes and seen.loop.frames < FEW
    found, every = _places(seen, times, OF_FEW_GAIN if is_short else GAP_GAIN)
    return [
        place for place in found if np.log(place.gain) > OVER_OTHERS * _in_other_steps(seen, place.row, every)
    ]


def _in_other_steps(seen: Seen, row: int, gain: Array) -> float:
    """Logarithm of the most that is gained (rows,) at the same moment of other steps; 0 without any.

    Where strides change, nobody knows that moment: any within a stride of it tells.
    """
    rows = seen.loop.frames if seen.loop.closes else len(gain)
    if seen.gait is not None:
        step = seen.gait.period / (2.0 if seen.gait.symmetrical else 1.0)
        count = int(rows / step)
        turns = np.concatenate([np.arange(-count, 0), np.arange(1, count + 1)])
        others = np.round(row + step * turns).astype(int)
        near = (others[:, None] + np.arange(-GIVE, GIVE + 1)).ravel()
    elif seen.usual_period:
        near = row + np.arange(-round(seen.usual_period), round(seen.usual_period) + 1)
    else:
        return 0.0
    near = near % rows if seen.loop.closes else near
    near = near[(near >= 0) & (near < len(gain))]
    apart = np.abs(near - row)
    apart = np.minimum(apart, rows - apart) if seen.loop.closes else apart
    near = near[apart > BEFORE]
    return float(np.log(np.maximum(gain[near], 1.0)).max(initial=0.0))


@lru_cache(maxsize=1)  # asked for by several findings of one clip
def swaps(seen: Seen) -> tuple[OutOfTime, ...]:
    """Return where two frames, next to each other or with one between, have changed places."""
    times = {
        1: np.array([-2.0, -1.0, 1.0, 0.0, 2.0, 3.0]),
        2: np.array([-2.0, -1.0, 2.0, 1.0, 0.0, 3.0, 4.0]),
    }
    return (*_places(seen, times, SWAP_GAIN)[0], *_at_the_end(seen))


def _at_the_end(seen: Seen) -> list[OutOfTime]:
    """Tell whether the last two frames have changed places: frame 1 comes again in the last but one."""
    turning = np.array([w.endswith("rotation") for words in seen.motion.file.channels for w in words])
    rows = seen.motion.file.rows[:, turning]
    same = SAME_DEG + NOISE_FLOOR * seen.noise.angle_deg
    if len(rows) < FEWEST or np.abs(rows[-2] - rows[0]).max() > same:
        return []
    # By the curve of the third degree through two frames before and two after, for few frames turn sharply.
    way, curve = rows[-2] - rows[-3], (4.0 * (rows[-3] + rows[0]) - rows[-4] - rows[1]) / 6.0
    off = rows[-1] - curve
    is_between = np.linalg.norm(off) < BETWEEN * np.linalg.norm(way)
    return [OutOfTime(len(rows) - 2, 1, 1.0 / BETWEEN)] if is_between else []


def _places(seen: Seen, times: dict[int, Array], least_gain: float) -> tuple[list[OutOfTime], Array]:
    """Return the places where one of some times of the frames fits far better than the file's own.

    And how many times better the best of them fits at each row, (rows,), be it that not all joints agree.
    """
    if seen.motion.frames < FEWEST:
        return [], np.ones(0)
    turns = continuous_sign(quaternion_from_matrix(_with_ends(seen)))
    turns = turns[:, np.linalg.norm(np.ptp(turns, axis=0), axis=1) > MOVES_RAD / 2.0]
    if not turns.shape[1]:
        return [], np.ones(0)
    floor = max(LEAST_RAD, NOISE_FLOOR * np.radians(seen.noise.angle_deg)) ** 2
    rows = len(turns) - BEFORE - BEYOND  # of the clip; those of the loop are beside them
    best, which, every = np.zeros(rows), np.zeros(rows, dtype=np.int64), np.zeros(rows)
    for frames, own in times.items():
        wide = len(own)
        plain, mended = (_off(turns, each) + floor for each in (np.arange(wide, dtype=np.float64), own))
        gain = np.exp(np.log(plain / mended).mean(axis=1))
        every[: len(gain)] = np.maximum(every[: len(gain)], gain[:rows])
        gain[(plain > mended).mean(axis=1) < AGREE] = 0.0
        for strayed in STRAYED:  # one pose that is out of place is none of it
            alone = _off(turns, strayed, strayed) + floor
            here = min(len(gain), len(alone))
            nearer = np.log(alone[:here] / mended[:here]).mean(axis=1) < -np.log(FAR_NEARER)
            gain[:here][nearer] = 0.0
        gain = np.pad(gain[:rows], (0, max(0, rows - len(gain))))
        if not seen.loop.closes:
            gain[:BEFORE] = gain[max(0, rows - wide + BEFORE + 1) :] = 0.0
        which = np.where(gain > best, frames, which)
        best = np.maximum(best, gain)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(best, BEFORE), 2 * BEFORE + 1).max(axis=1)
    hits = np.flatnonzero((best > least_gain) & (best == around))
    return [OutOfTime(int(row), int(which[row]), float(best[row])) for row in hits], every


def _with_ends(seen: Seen) -> Array:
    """Return rotations of joints with rows at both ends: those of the loop, or the ends again."""
    local = seen.motion.local
    if seen.loop.closes:
        local = local[: seen.loop.frames]
        return np.concatenate([local[-BEFORE:], local, local[:BEYOND]])
    return np.concatenate([local[:1].repeat(BEFORE, axis=0), local, local[-1:].repeat(BEYOND, axis=0)])


def _off(turns: Array, times: Array, taken: Array | None = None) -> Array:
    """Return squares of how far joints (rows, joints, 4) are off their best curves, (places, joints).

    Of each window as many rows as there are times count, from its first on, or those that are ``taken``,
    counted from the first of two rows.
    """
    offsets = np.arange(len(times)) if taken is None else (taken + BEFORE).astype(int)
    columns = np.vander((times - times.mean()) / np.ptp(times), DEGREE + 1)
    rest = np.linalg.qr(columns, mode="complete")[0][:, DEGREE + 1 :]  # (rows of a window, what no curve has)
    places = len(turns) - int(offsets[-1])
    off = np.zeros((places, turns.shape[1]))
    for weights in rest.T:
        sums = sum(weight * turns[k : k + places] for k, weight in zip(offsets, weights, strict=True))
        off += (np.asarray(sums) ** 2).sum(axis=2)
    return 4.0 * off
