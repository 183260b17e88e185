"""By how much the trunk of a shot is lowered where legs ask for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.numerics.curves import envelope, ramp
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Where a cycle counts almost wholly, what else there is to sink is little, and at the most so much more. [m]
LEAST_OTHER, MOST_BESIDE_M = 0.15, 0.05
EVEN = 1e-9  # shares that are alike, but for rounding
# Of what one end is lowered beyond any cycle the other is too, so that the trunk does not tip (estimate).
TOGETHER = 0.6
# How far around a moment it counts that a leg does not reach, and that on ground with edges; on so much
# of a slope both ends are lowered alike, but for what they are in the cycles.
DROP_STRIDES, DROP_EDGED, SLOPES = 0.5, 0.25, 0.05


@dataclass(frozen=True, eq=False)
class Lowering:
    """How each end of the trunk goes down with what its legs miss.

    Attributes
    ----------
    own_m, deepest_m
        (samples, 2) how far chest and hips are lowered in cycles, as far as these are as they are, and (2,)
        the most of all cycles. [m]
    other
        (samples, 1) how far no cycle is as it is.
    between
        (samples, 1) how far it is between two cycles that are both as they are, 1 half-way: there a leg may
        miss a foot that it would reach in either.
    highest_m
        (samples, 2) how far they may go down at the least: less than nothing where cycles carry them higher
        than the animal stands. [m]
    alike
        (samples, 1) how far both ends go down alike.
    radius
        How far around a moment it counts what a leg misses. [samples]
    """

    own_m: Array
    deepest_m: Array
    other: Array
    between: Array
    highest_m: Array
    alike: Array
    radius: int

    @classmethod
    def of(
        cls,
        timeline: Timeline,
        as_cycles: Array,
        runs: Array,
        ground: Ground,
        slope_rad: Array,
        *,
        edged: bool,
    ) -> Lowering:
        """Say how the trunk of a shot goes down; arguments as of `pose`, and ``runs`` as of Manner."""
        grid, drops = timeline.grid, np.array([cycle.solved.drop_m for cycle in timeline.cycles])
        around = (DROP_EDGED if edged else DROP_STRIDES) * timeline.longest_s
        rises = timeline.solved_share @ np.maximum(-drops, 0.0)
        return cls(
            own_m=as_cycles @ drops,
            deepest_m=drops.max(axis=0),
            other=1.0 - np.minimum(as_cycles.sum(axis=1, keepdims=True), 1.0),
            between=_between(as_cycles),
            highest_m=-runs.reshape(-1, 2, 2).mean(axis=2) * rises,
            alike=ramp(np.abs(slope_rad) / SLOPES)[:, None] if ground.is_even else np.zeros((grid.count, 1)),
            radius=max(2, round(around / grid.step_s)),
        )

    def after(self, drop_m: Array, short_m: Array) -> Array:
        """Lower each end by what its legs still miss at each moment, (samples, 4), smoothly. [m]"""
        needed = drop_m + short_m.reshape(-1, 2, 2).max(axis=2)
        beside = (needed - self.own_m) / np.maximum(self.other, LEAST_OTHER)  # which counts as far as it does
        beside = np.where(self.other > 0.0, np.clip(beside, needed, needed + MOST_BESIDE_M), needed)
        other_m = TOGETHER * (beside - self.deepest_m)[:, ::-1]
        beside = np.maximum(beside, np.minimum(self.deepest_m, 0.0) + other_m)  # one may stand higher in all
        both = self.deepest_m + (beside - self.deepest_m).max(axis=1, keepdims=True)
        beside = beside + self.alike * (both - beside)
        over = envelope(np.maximum(beside, self.highest_m), self.radius)
        lowered = self.own_m + self.other * over
        if not self.between.any():
            return np.asarray(lowered)
        missed = (needed - self.own_m) / np.maximum(self.between, LEAST_OTHER)
        missed = np.where(self.between > 0.0, np.clip(missed, 0.0, MOST_BESIDE_M), 0.0)
        return np.asarray(lowered + self.between * envelope(missed, self.radius))


def _between(as_cycles: Array) -> Array:
    """Say how far between two cycles it is, (samples, 1)."""
    two = 2.0 * (as_cycles.sum(axis=1, keepdims=True) ** 2 - (as_cycles**2).sum(axis=1, keepdims=True))
    return np.asarray(np.where(two > EVEN, np.minimum(two, 1.0), 0.0))
