"""On ground that is not even each end of the trunk goes up and down with the ground under its own feet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.under import under_ends_m
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.stance import StanceState
from gaitgen.numerics.curves import local_mean, ramp
from gaitgen.shot.carriage import Carriage
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Over such a share of a stride an end goes from one height to the next (estimate).
OVER_STRIDES = 0.4


def borne(
    timeline: Timeline, carried: Carriage, state: StanceState, path: Path, ground: Ground, as_cycles: Array
) -> Carriage:
    """Carry chest and hips over the mean height of their feet, instead of the slope under a whole body.

    Parameters
    ----------
    timeline, carried, path, ground
        The shot.
    state
        Its steps as the body sees them.
    as_cycles
        (samples, cycles) how far it is in a cycle as that is.
    """
    if ground.is_even:
        return carried
    grid, animal = timeline.grid, timeline.cycles[0].animal
    rise = ramp(state.swing_share) * (state.next_place_m - state.place_m)[..., 2]
    feet = (state.place_m[..., 2] + rise).reshape(-1, 2, 2).mean(axis=2)  # (samples, ends)
    width = max(3, round(OVER_STRIDES * timeline.longest_s / grid.step_s))
    other = 1.0 - np.minimum(as_cycles.sum(axis=1), 1.0)
    more = other[:, None] * (local_mean(feet, width) - under_ends_m(animal, path, ground, grid))
    return replace(carried, ends=carried.ends.lowered(*-more.T))
