"""A clip whose frames are out of time, with these put right: only to see which feet stand in it, and when.

A frame that is held, or that has changed places with another, takes feet off the ground or holds them on it
for a moment, so that a stance falls in two, or is none.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import SAME_DEG
from gaitgen.check.findings.retimed import swaps
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import Tracked

Array = npt.NDArray[np.float64]

MOST_OF_ROWS = 0.1  # and at least one: of a clip that is held more often nobody knows what it would be


def put_right(seen: Seen) -> Tracked | None:
    """Return a clip with swapped frames in each other's place, and held ones between those beside them.

    None where there are none, or too many. Only the places of joints and toes are put right.
    """
    motion = seen.motion
    swapped = swaps(seen)
    held = np.flatnonzero(np.abs(np.diff(motion.file.rows, axis=0)).max(axis=1) < SAME_DEG) + 1
    if not 0 < len(swapped) + len(held) <= max(1.0, MOST_OF_ROWS * motion.frames):
        return None
    order = np.arange(motion.frames)
    for swap in swapped:
        row, other = swap.row, swap.row + swap.frames
        if other >= len(order):
            return None
        order[[row, other]] = order[[other, row]]
    places, toes = motion.places_m[order], motion.toes_m[order]
    for row in held.tolist():
        for path in (places, toes):
            path[row] = _between(seen, path, row)
    return replace(motion, places_m=places, toes_m=toes)


def _between(seen: Seen, path: Array, row: int) -> Array:
    """Return the middle of the rows beside one, over the end of a loop too; at the end of others the row."""
    if row + 1 < len(path):
        return np.asarray((path[row - 1] + path[row + 1]) / 2.0)
    if not seen.loop.closes:
        return np.asarray(path[row])
    after = row + 1 - seen.loop.frames
    return np.asarray((path[row - 1] + path[after] + seen.loop.advance_m) / 2.0)
