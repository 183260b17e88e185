"""The steps around a stretch of a shot."""

from __future__ import annotations

import numpy as np

from gaitgen.course.steps import Steps
from gaitgen.numerics.grid import Grid


def near(steps: Steps, grid: Grid) -> Steps:
    """Keep the stances in a window and one before and after; those that last are cut to what is near."""
    first, last = grid.time_s[0], grid.time_s[-1]
    keep = np.zeros(steps.limb.size, dtype=np.bool_)
    for limb in range(4):
        mine = np.flatnonzero(steps.limb == limb)
        inside = np.flatnonzero((steps.liftoff_s[mine] >= first) & (steps.touchdown_s[mine] <= last))
        if inside.size == 0:
            inside = np.array([np.searchsorted(steps.touchdown_s[mine], first) - 1])
        low, high = max(inside[0] - 1, 0), min(inside[-1] + 2, mine.size)
        keep[mine[low:high]] = True
    room = grid.span_s
    lands, lifts = steps.touchdown_s[keep], steps.liftoff_s[keep]
    return Steps(
        limb=steps.limb[keep],
        touchdown_s=np.where(lifts > first, np.maximum(lands, first - room), lands),
        liftoff_s=np.where(lands < last, np.minimum(lifts, last + room), lifts),
        place_m=steps.place_m[keep],
        heading_rad=steps.heading_rad[keep],
        normal=steps.normal[keep],
    )
