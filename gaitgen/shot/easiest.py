"""Of several ways over edges each foot takes that in which its leg turns most evenly."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames
from gaitgen.course.stance import StanceState
from gaitgen.shot.clearing import Cleared, cut_m
from gaitgen.shot.posing import Posed
from gaitgen.shot.rows import moments, trunk_rows
from gaitgen.shot.snapping import bends_deg, most_deg, turns_deg
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Shares of waiting before an edge, and of coming down early past one, that are tried.
WAYS = (1.0, 1.0), (0.5, 1.0), (1.0, 0.5), (0.5, 0.5), (0.0, 0.0)
# A foot has landed after such a share of its stance. How even a leg turns in all counts beside its worst
# frame by such a share; under the ground by so much [m], or out of reach, is worse than all (estimates).
LANDED, IN_ALL, UNDER_M, OVER = 0.3, 0.5, 1e-3, 100.0


def easiest(
    timeline: Timeline,
    ways: Iterable[Cleared],
    posed: Callable[[Cleared], Posed],
    frames: Frames,
    ground: Ground,
) -> Cleared:
    """Return the feet, each swing as in the way that is easiest for its leg.

    Parameters
    ----------
    timeline
        The shot.
    ways
        Several ways over the same edges, the surest first.
    posed
        Poses legs for one.
    frames, ground
        How the body goes, over what.
    """
    found, least = None, np.zeros(0)
    for way in ways:
        legs = posed(way)
        here = replace(frames, place_m=frames.place_m[legs.rows], heading_rad=frames.heading_rad[legs.rows])
        cuts = cut_m(legs.legs.feet, here, ground) > UNDER_M
        cost = _each(way, legs, np.where(cuts, OVER, _turns(timeline, legs)))
        if found is None:
            found, least = way, cost
        else:
            found, least = found.where(cost < least, way), np.minimum(cost, least)
    assert found is not None  # noqa: S101, there is at least one
    return found


def _turns(timeline: Timeline, posed: Posed) -> Array:
    """Tell how unevenly and far each leg turns, against what would look smooth, (frames, 4)."""
    animal, rows = timeline.cycles[0].animal, posed.rows
    local = posed.legs.local(animal, trunk_rows(posed.trunk, rows), np.arange(rows.size))
    worst = np.zeros((rows.size, len(animal.limbs)))
    for number, limb in enumerate(animal.limbs):
        turned = np.stack([local[joint] for joint in limb.joints], axis=1)
        missed = ~np.isfinite(turned).all(axis=(1, 2, 3))
        turned[missed] = np.eye(3)
        bends, turns = most_deg(timeline, np.array(limb.joints))
        worst[1:-1, number] = (bends_deg(turned) / bends).max(axis=1)
        worst[1:, number] = np.maximum(worst[1:, number], (turns_deg(turned) / turns).max(axis=1))
        worst[missed, number] = OVER
    return worst


def _each(way: Cleared, posed: Posed, worst: Array) -> Array:
    """Return what is worst in frames (frames, 4) in the step that each foot is in, (samples, 4)."""
    steps = _steps(way.plan.state)
    seen = _steps(moments(way.plan.state, posed.rows), landed=True)
    limbs = np.arange(worst.shape[1])
    most, square, frames = (np.zeros((int(steps.max()) + 1, limbs.size)) for _ in range(3))
    np.maximum.at(most, (seen, limbs), worst)
    np.add.at(square, (seen, limbs), worst**2)
    np.add.at(frames, (seen, limbs), 1.0)
    cost = most + IN_ALL * np.sqrt(square / np.maximum(frames, 1.0))
    return np.asarray(cost[steps, limbs])


def _steps(state: StanceState, *, landed: bool = False) -> Ints:
    """Count the steps of each foot, (samples, 4), from each contact or from when it has ``landed``."""
    changes = np.diff(state.stance, axis=0, prepend=state.stance[:1]) != 0
    steps = np.cumsum(changes, axis=0)
    early = state.planted & (state.stance_share < LANDED)
    return np.where(early & landed, np.maximum(steps - 1, 0), steps)
