"""Stances of a clip without a period, as its keys see them: where legs need keys, and how curves turn there.

A foot that lands stops at once, so the joints of its leg turn another way from one frame to the next. A key
there has one tangent before the contact and another after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import own_slopes
from gaitgen.motion.key_landing import Kinks

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# A stance of more rows, as in a halt, is parted, so that the time for a clip grows no faster than its length.
MOST_ROWS = 32


@dataclass(frozen=True)
class Stance:
    """One foot that is down, or a part of that.

    Attributes
    ----------
    limb
        Row of LIMBS.
    first, last
        Rows of the clip from which to which it is down.
    is_contact
        Whether the foot lands on the first row.
    is_parted, goes_on
        Whether it was down before the first row, and is after the last, in another part.
    """

    limb: int
    first: int
    last: int
    is_contact: bool
    is_parted: bool
    goes_on: bool


def find_stances(planted: Bools) -> tuple[Stance, ...]:
    """Find where feet are planted from one row to the next, foot by foot: (rows, 4)."""
    stances = []
    for limb, down in enumerate(planted.T):
        padded = np.concatenate([[False], down, [False]]).astype(np.int8)
        steps = np.diff(padded)
        for first, end in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True):
            parts = max(1, -(-(int(end) - 1 - int(first)) // MOST_ROWS))
            cuts = np.rint(np.linspace(first, end - 1, parts + 1)).astype(int).tolist()
            stances += [
                Stance(
                    limb,
                    start,
                    last,
                    bool(first > 0 and start == first),
                    bool(start > first),
                    bool(last < end - 1),
                )
                for start, last in pairwise(cuts)
                if last > start
            ]
    return tuple(stances)


def find_kinks(table: Array, stances: tuple[Stance, ...], legs: list[Ints]) -> Kinks:
    """Find where the channels of legs turn sharply, and their tangents.

    Parameters
    ----------
    table
        (rows, channels) the curves.
    stances
        Of all feet.
    legs
        Channels of each limb.
    """
    after = own_slopes(table, is_closed=False)
    before = after.copy()
    is_kink, is_held, needed = (np.zeros(table.shape, dtype=np.bool_) for _ in range(3))
    last_row = len(table) - 1
    for stance in stances:
        own, first = legs[stance.limb], stance.first
        for end in (first, stance.last):
            needed[end, own] = is_held[end, own] = True
        if not stance.is_contact:
            continue
        needed[first - 1, own] = is_kink[first, own] = True
        ahead = min(first + 2, last_row)
        after[first, own] = _start_slope(table[first : ahead + 1, own])
        before[first, own] = -_start_slope(table[max(first - 2, 0) : first + 1, own][::-1])
        for beside in (first - 1, first + 1):  # a slope over five rows would look beyond the kink
            if 0 < beside < last_row:
                level = (table[beside + 1, own] - table[beside - 1, own]) / 2.0
                after[beside, own] = before[beside, own] = level
    return Kinks(is_kink, is_held, needed, after, before)


def _start_slope(rows: Array) -> Array:
    """Estimate the slope at the first of two or three rows."""
    if len(rows) < 3:
        return np.asarray(rows[1] - rows[0])
    return np.asarray((-3.0 * rows[0] + 4.0 * rows[1] - rows[2]) / 2.0)


def rows_of_feet(
    stances: Sequence[Stance], spans: Sequence[tuple[int, int]], steps: int
) -> tuple[Ints, list[int]]:
    """Lay the samples of some stances one after the other, foot by foot.

    Returns
    -------
    rows
        (4, most samples of a foot) of the clip; a foot of fewer goes on with the first.
    starts
        Where in them each stance begins.
    """
    own: list[list[Ints]] = [[] for _ in LIMBS]
    sizes, starts = [0] * len(LIMBS), []
    for stance, (first, last) in zip(stances, spans, strict=True):
        samples = np.arange(first * steps, last * steps + 1)
        own[stance.limb].append(samples)
        starts.append(sizes[stance.limb])
        sizes[stance.limb] += samples.size
    rows = np.zeros((len(LIMBS), max(sizes)), dtype=np.int64)
    for row, parts, size in zip(rows, own, sizes, strict=True):
        row[:size] = np.concatenate([*parts, np.zeros(0, dtype=np.int64)])
    return rows, starts
