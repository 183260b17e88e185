"""A frame too many that lies midway between the two beside it, which one step would have joined."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jitter import channels
from gaitgen.check.seen import Seen

# With the frame midway all curves bend there by next to nothing: so much of what they bend by elsewhere.
STRAIGHT = 0.1
# Both of its steps are half of a usual one: together they are this many times the steps beside them.
LEAST_STEP, MOST_STEP = 0.6, 1.5
BESIDE, LEAST_ROWS = 2, 8  # steps on either side that are the usual ones; frames of a clip
MOVES_DEG = 1.0  # the mean channel in a step: a body that goes


def in_between(seen: Seen) -> list[Finding]:
    """Find single frames that were put in midway between two."""
    found: list[Finding] = []
    for row in _rows(seen):
        do = (
            f"take frame {seen.frame(row)} out: it lies midway between the two beside it, which are one step "
            "apart"
        )
        found += seen.finding(
            "repeated frame", "whole body", (row, row), 1.0, do, limit_name="repeated_frame"
        )
    return found


def _rows(seen: Seen) -> list[int]:
    """Rows that lie midway."""
    values, _ = channels(seen)
    if len(values) < LEAST_ROWS or not values.shape[1]:
        return []
    steps = np.diff(values, axis=0)
    size = np.sqrt((steps**2).sum(axis=1))  # (rows - 1,)
    bends = np.sqrt((np.diff(steps, axis=0) ** 2).sum(axis=1))  # (rows - 2,), that of row 1 first
    row = np.arange(1 + BESIDE, len(values) - 1 - BESIDE)
    near = [row + by for by in (*range(-1 - BESIDE, -1), *range(1, 1 + BESIDE))]
    usual, across = size[near].mean(axis=0), size[row - 1] + size[row]
    is_midway = usual > MOVES_DEG * np.sqrt(values.shape[1])
    is_midway &= (across > LEAST_STEP * usual) & (across < MOST_STEP * usual)
    is_midway &= bends[row - 1] <= STRAIGHT * np.minimum(bends[row - 2], bends[row])
    return [int(each) for each in row[is_midway]]
