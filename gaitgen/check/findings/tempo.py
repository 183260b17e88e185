"""Loops of which a part is stretched or squeezed in time: the same steps, at another tempo.

A body that takes even steps does what its mirror image does half a stride later, and after a stride what it
does now. Where keys have been scaled in time it still does, but at other moments: these tell which frames
have been scaled, and by how much.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.held import repeated
from gaitgen.check.findings.jumps import lost
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.findings.timing import meant_timing
from gaitgen.check.seen import Seen
from gaitgen.check.trial import MIRROR, taken_apart

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

FEWEST, MOST_FRAMES = 8, 240
FINER = 4  # times: poses between frames that are tried
FARTHEST = 0.4  # of a step: how far from its usual moment a pose is looked for
MOVES_RAD = np.radians(1.0)
# Of how far poses are from those half a stride away, so much is left at the moments that are found.
LEFT = 0.35
# So much of the clip at least is stretched and is not; so much of how late its frames are, two tempos tell.
LEAST_SHARE, TOLD = 0.2, 0.9
# Keys are scaled from the first frame on, or up to the last: of parts that leave hardly more untold than the
# best, by so many times at the most, that one is taken (in a cat's walk and a dog's trot 1.06 and 1.12).
FROM_AN_END = 1.25
# A part so many times as long as it should be, or as short, looks so because frames are held in it or missing
# in the other: where some are, it is that (keys scaled by 1.3 come to 1.3, three frames missing of 18 to 3.2;
# estimate).
MOST_TIMES = 2.0
COARSE = 48  # parts of a loop that are tried first, and then those beside the best


@dataclass(frozen=True)
class Retimed:
    """A part of a loop that plays at another tempo than the rest.

    Attributes
    ----------
    first, last
        Rows between which it does; the last is past the end where it goes over the end of the loop.
    even_frames
        How long it would be at the tempo of the whole. [frames]
    """

    first: int
    last: int
    even_frames: float

    @property
    def times(self) -> float:
        """How many times as long as it should be it is."""
        return (self.last - self.first) / self.even_frames


def retimed(seen: Seen) -> list[Finding]:
    """Find a part of a loop that has been stretched or squeezed in time, and the rest the other way."""
    part = _retimed(seen)
    if part is None or meant_timing(seen) is not None:
        return []
    if max(part.times, 1.0 / part.times) > MOST_TIMES and (lost(seen) or repeated(seen)):
        return []
    rows = part.last - part.first
    word = "stretched" if part.times > 1.0 else "squeezed"
    return seen.finding(
        "retimed",
        "whole body",
        (part.first, part.last),
        100.0 * abs(part.times - 1.0),
        f"scale the keys between these frames in time to {100.0 / part.times:.0f} %, and the others to fill "
        f"the rest: this part is {word}, {rows} frames long where even steps have {part.even_frames:.1f}",
    )


def is_squeezed(seen: Seen, frame: int) -> bool:
    """Tell whether a frame, from 1, is in that part of a retimed loop that plays too fast."""
    part = _retimed(seen)
    is_in_it = part is not None and part.first <= frame - 1 <= part.last
    return part is not None and is_in_it == (part.times < 1.0)


@lru_cache(maxsize=1)  # asked for of many findings of one clip
def _retimed(seen: Seen) -> Retimed | None:
    """Return the part whose tempo is another, if two tempos tell what all joints do together."""
    n, loop = seen.loop.frames, seen.loop
    if not loop.closes or not FEWEST <= n <= MOST_FRAMES or seen.shot is not None:
        return None
    strides = 1 if seen.gait is None else max(1, round(seen.gait.strides))
    own, mirrored = _poses(seen)
    asked: list[tuple[Array, float]] = []
    for poses, steps in ((mirrored, 2 * strides), (own, strides)):
        if steps == 1 or not own.size:
            continue
        moments, is_told = _moments(own, poses, n / steps)
        if is_told:
            asked.append((moments, n / steps))
    return _part(asked, n) if asked else None


def _poses(seen: Seen) -> tuple[Array, Array]:
    """Return turns of the joints that move, and of their mates in a mirror, (rows, numbers) each."""
    n = seen.loop.frames
    turns, mates = taken_apart(seen.motion).turns[:n], mates_of_joints(seen)
    other = MIRROR @ turns[:, mates] @ MIRROR
    moving = np.flatnonzero(np.abs(np.ptp(turns, axis=0)).max(axis=(1, 2)) > MOVES_RAD)
    moving = moving[moving > 0]  # the root turns with its way
    return turns[:, moving].reshape(n, -1), other[:, moving].reshape(n, -1)


def _moments(poses: Array, wanted: Array, step: float) -> tuple[Array, bool]:
    """Return when a loop has other poses, (rows,), about a step later, and whether it surely has. [frames]

    Parameters
    ----------
    poses, wanted
        (rows, numbers) of the loop; those that are looked for in it.
    step
        After which they are expected. [frames]
    """
    n, farthest, fine = len(poses), FARTHEST * step, _finer(poses)
    by = np.arange(np.ceil((step - farthest) * FINER), np.floor((step + farthest) * FINER)).astype(np.int64)
    way = np.roll(fine, -1, axis=0) - fine
    at = np.arange(n)[:, None] * FINER + by  # (rows, tried)
    here, rows = at % len(fine), np.arange(n)
    # Products (rows, tried): one for each number of the poses would fill the memory.
    to_start, to_way = (np.take_along_axis(wanted @ each.T, here, axis=1) for each in (fine, way))
    long = (way**2).sum(axis=1)[here]
    ahead = to_way - (fine * way).sum(axis=1)[here]
    along = np.clip(ahead / np.maximum(long, 1e-12), 0.0, 1.0)
    off = (wanted**2).sum(axis=1)[:, None] + (fine**2).sum(axis=1)[here] - 2.0 * to_start
    apart = np.maximum(off - 2.0 * along * ahead + along**2 * long, 0.0)
    best = apart.argmin(axis=1)
    usual = np.argmin(np.abs(by - step * FINER))
    is_told = np.sqrt(apart[rows, best].mean()) < LEFT * np.sqrt(apart[:, usual].mean())
    return (at[rows, best] + along[rows, best]) / FINER, bool(is_told)


def _finer(poses: Array) -> Array:
    """Return the poses (rows, numbers) of a loop with others between them, on cubic curves."""
    before, after, beyond = (np.roll(poses, by, axis=0) for by in (1, -1, -2))
    t = (np.arange(FINER) / FINER)[:, None]
    curve = (
        (-0.5 * t + t**2 - 0.5 * t**3)[None] * before[:, None]
        + (1.0 - 2.5 * t**2 + 1.5 * t**3)[None] * poses[:, None]
        + (0.5 * t + 2.0 * t**2 - 1.5 * t**3)[None] * after[:, None]
        + (-0.5 * t**2 + 0.5 * t**3)[None] * beyond[:, None]
    )
    return np.asarray(curve.reshape(len(poses) * FINER, -1))


def _part(asked: list[tuple[Array, float]], n: int) -> Retimed | None:
    """Return the part of a loop whose tempo is another than the rest's, if poses come when it says."""
    rows = np.arange(n)
    begins, ends = np.tile(rows, len(asked)).astype(np.float64), np.concatenate([each for each, _ in asked])
    late = np.concatenate([moments - rows - step for moments, step in asked])
    size, by = float((late**2).sum()), -(-n // COARSE)
    if size <= 0.0:
        return None
    first, long = np.arange(0, n, by), np.arange(1, n, by)
    start, frames, more, told = _best(begins, ends, late, first, long, n)
    if by > 1:
        first = np.arange(start - by, start + by + 1)
        long = np.arange(max(1, frames - by), min(n - 1, frames + by) + 1)
        start, frames, more, told = _best(begins, ends, late, first, long, n)
    if (
        told < TOLD * size or min(frames, n - frames) < LEAST_SHARE * n
    ):  # in fewer, frames are missing or held
        return None
    start, even = start % n, frames - more
    if start and start + frames >= n:  # the other part has frame 1, or does not go over the end
        start, frames, even = start + frames - n, n - frames, n - even
    return Retimed(start, start + frames, even)


def _best(
    begins: Array, ends: Array, late: Array, first: Ints, long: Ints, n: int
) -> tuple[int, int, float, float]:
    """Return the part that tells best when poses come: its first row, its frames, those too many, how much.

    From its first row to its last each row is later by as much, and from there on less so: what comes a step
    later in an even clip comes so much later still as it is later than what it is held against.
    """
    from_first, wide = first[:, None, None], long[:, None]
    shape = _rise(ends - from_first, wide, n) - _rise(begins - from_first, wide, n)  # (first, long, poses)
    along = shape @ late
    by = along / np.maximum((shape**2).sum(axis=2), 1e-12)
    tells = by * along  # (first, long)
    from_an_end = np.where((first % n == 0)[:, None], tells, -np.inf)
    untold = float((late**2).sum()) - np.array([tells.max(), from_an_end.max()])
    tells = from_an_end if untold[1] < FROM_AN_END * untold[0] else tells
    best = np.unravel_index(int(tells.argmax()), by.shape)
    return int(first[best[0]]), int(long[best[1]]), float(by[best]), float(tells[best])


def _rise(rows: Array, long: Ints, n: int) -> Array:
    """How late rows are, counted from the first of a part of so many frames of a loop: 1 at its last."""
    here = rows % n
    return np.asarray(np.where(here <= long, here / long, (n - here) / (n - long)))
