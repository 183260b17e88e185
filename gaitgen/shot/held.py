"""Heights that the body of a shot is held at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

EVEN = 1e-9  # what is held by less is not


@dataclass(frozen=True, eq=False)
class Held:
    """Heights of chest and hips over standing at the samples of a shot, (samples, 2). [m]

    Attributes
    ----------
    height_m, share
        Where they are held, and how far they are, 0 to 1.
    """

    height_m: Array
    share: Array
    leaps: Array

    def at(self, own_s: Array, time_s: Array) -> tuple[Array, Array, Array] | None:
        """Look both up at other moments, from its own; None where nothing is held."""
        height, share = (
            np.stack([np.interp(time_s, own_s, column) for column in table.T], axis=1)
            for table in (self.height_m, self.share)
        )
        if share.max() <= 0.0:
            return None
        return height, share, np.interp(time_s, own_s, self.leaps)


def held_both(held: Held | None, more: Held | None) -> Held | None:
    """Hold the body as one and as another asks, between both where it is held by both."""
    if held is None or more is None:
        return held or more
    firm = np.maximum(held.share + more.share, EVEN)
    height = (held.share * held.height_m + more.share * more.height_m) / firm
    return Held(height, np.maximum(held.share, more.share), held.leaps)


def leaping(timeline: Timeline) -> Held:
    """Say how high the body is to leap."""
    grid = timeline.grid
    height, share, leaps = np.zeros((grid.count, 2)), np.zeros((grid.count, 2)), np.zeros(grid.count)
    for leap in timeline.leaps:
        own, held, leaping = leap.heights(grid.time_s)
        height += own
        share += held[:, None]
        leaps += leaping
    return Held(height, share, leaps)


def held_as_cycles(held: Held | None, height_m: Array, share: Array) -> Held | None:
    """Hold the body as high as the cycles that windows come from and go over to, so that they meet there.

    Parameters
    ----------
    held
        What is held beside that.
    height_m, share
        (samples, 2) heights of chest and hips in cycles, times how far these count, (samples,). [m]
    """
    if share.max() <= 0.0:
        return held
    both = np.broadcast_to(share[:, None], height_m.shape)
    if held is None:
        return Held(height_m / np.maximum(both, EVEN), both, np.zeros_like(share))
    firm = held.share + both
    height = (held.share * held.height_m + height_m) / np.maximum(firm, EVEN)
    return Held(height, np.maximum(held.share, both), held.leaps)
