"""Of several ways over edges each foot takes that in which its leg turns most evenly."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
import numpy.typing as npt

from gaitgen.course.stance import StanceState
from gaitgen.shot.clearing import Cleared
from gaitgen.shot.posing import Posed
from gaitgen.shot.rows import moments, trunk_rows
from gaitgen.shot.snapping import bends_deg, most_deg
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Shares of waiting before an edge, and of coming down early past one, that are tried.
WAYS = (1.0, 1.0), (0.5, 1.0), (1.0, 0.5), (0.5, 0.5), (0.0, 0.0)
# A foot has landed after such a share of its stance. How even a leg turns in all counts beside its worst frame
# by such a share; under the ground nothing goes by so much if it can be otherwise (estimates). [m]
LANDED, IN_ALL, UNDER_M = 0.3, 0.5, 1e-3


def easiest(timeline: Timeline, ways: Iterable[Cleared], posed: Callable[[Cleared], Posed]) -> Cleared:
    """Return the feet, each swing as in the way that is easiest for its leg.

    Parameters
    ----------
    timeline
        The shot.
    ways
        Several ways over the same edges.
    posed
        Poses legs for one.
    """
    found, least = None, np.zeros(0)
    for way in ways:
        cost = _cost(timeline, way, posed(way))
        if found is None:
            found, least = way, cost
        else:
            found, least = found.where(cost < least, way), np.minimum(cost, least)
    assert found is not None  # noqa: S101, there is at least one
    return found


def _cost(timeline: Timeline, way: Cleared, posed: Posed) -> Array:
    """Tell how unevenly each leg turns in the stance and swing that its foot is in, (samples, 4)."""
    animal, rows = way.plan.animal, posed.rows
    trunk = trunk_rows(posed.trunk, rows)
    local = posed.legs.local(animal, trunk, np.arange(rows.size))
    worst = np.zeros((rows.size, len(animal.limbs)))
    for number, limb in enumerate(animal.limbs):
        joints = np.array(limb.joints)
        bends = bends_deg(np.stack([local[joint] for joint in limb.joints], axis=1))
        worst[1:-1, number] = (bends / most_deg(timeline, joints)[0]).max(axis=1)
    steps = _steps(way.plan.state)
    seen = _steps(moments(way.plan.state, rows), landed=True)
    count = int(steps.max()) + 1
    most, square, frames = (np.zeros((count, worst.shape[1])) for _ in range(3))
    across = np.broadcast_to(np.arange(worst.shape[1]), seen.shape)
    np.maximum.at(most, (seen, across), worst)
    np.add.at(square, (seen, across), worst**2)
    np.add.at(frames, (seen, across), 1.0)
    cost = most + IN_ALL * np.sqrt(square / np.maximum(frames, 1.0))
    each = cost[steps, np.broadcast_to(np.arange(worst.shape[1]), steps.shape)]
    return np.where(way.under_m > UNDER_M, np.inf, each)


def _steps(state: StanceState, *, landed: bool = False) -> Ints:
    """Count the steps of each foot from its first, (samples, 4), those that have ``landed`` once they have."""
    changes = np.diff(state.stance, axis=0, prepend=state.stance[:1]) != 0
    steps = np.cumsum(changes, axis=0)
    early = state.planted & (state.stance_share < LANDED)
    return np.where(early & landed, np.maximum(steps - 1, 0), steps)
