"""What limbs and hanging parts of a shot need beside its body, as they are posed over it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.body import Stiff
from gaitgen.body.trunk import Trunk
from gaitgen.course.stance import StanceState
from gaitgen.hanging.followers import Hung
from gaitgen.limbs.legs import LegPoses
from gaitgen.numerics.curves import largest_around, local_mean
from gaitgen.pipeline.departure import departure
from gaitgen.pipeline.solve import filled, half_way
from gaitgen.shot.carriage import Carriage
from gaitgen.shot.following import HANG_LEAD_IN_S, hung_part
from gaitgen.shot.layers import MARGIN_STRIDES
from gaitgen.shot.posing import Posed
from gaitgen.shot.rows import trunk_rows
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

EVEN = 1e-9  # of a cycle that is less than wholly as it is
FORE_AND_AFT, PITCH = [0, 2, 4], 4  # what is needed forward, up and in pitch; in pitch
LEAST_NEED = 1e-6  # mean square that is told from nothing. [rad^2/s^4]
MOST_AGAIN = 0.6  # share of its change that a round may make again in the next (estimate)


def asked_rows(timeline: Timeline, as_cycles: Array) -> Ints:
    """Return the samples at which needs count: all but those far inside of cycles that are as they are."""
    radius = round(timeline.longest_s * MARGIN_STRIDES / timeline.grid.step_s)
    other = np.maximum(1.0 - as_cycles.sum(axis=1), 0.0)
    return np.flatnonzero(largest_around(other, radius, periodic=False) > EVEN)


def needing(
    timeline: Timeline,
    carried: Carriage,
    posed: Posed,
    breath: Array,
    state: StanceState,
    before: Array | None,
) -> Array | None:
    """Return what limbs and hanging parts need beside the body, (samples, 6).

    Parameters
    ----------
    timeline, carried
        The shot, and its body.
    posed
        Trunk and legs over it, at runs of samples one after the other.
    breath
        (samples,) breaths taken.
    state
        Its steps as the body sees them.
    before
        What they needed in the round before, if there was one; returned where a leg is posed nowhere.
    """
    turn_rad = filled(posed.legs.turn_rad)
    if not np.isfinite(turn_rad).all():
        return before
    animal, legs = timeline.cycles[0].animal, replace(posed.legs, turn_rad=turn_rad)
    hung = _hung(timeline, posed.trunk, breath, state)
    more = np.zeros((timeline.grid.count, 6)) if before is None else before.copy()
    for run in np.split(np.arange(posed.rows.size), np.flatnonzero(np.diff(posed.rows) > 1) + 1):
        here = slice(int(posed.rows[run[0]]), int(posed.rows[run[-1]]) + 1)
        more[here] = departure(
            animal,
            timeline.grid.part(here.start, here.stop),
            _stiff_rows(carried.stiff, here),
            trunk_rows(posed.trunk, here),
            _leg_rows(legs, slice(int(run[0]), int(run[-1]) + 1)),
            replace(hung, centres_m=hung.centres_m[here]),
        )
    if not np.isfinite(more).all():  # legs that miss by more than a trunk say nothing of their needs
        return before
    if before is None:
        return half_way(more, np.zeros_like(more))
    return gone_on(half_way(more, before), before, round(timeline.longest_s / timeline.grid.step_s))


def gone_on(needs: Array, before: Array, width: int) -> Array:
    """Go on from what was needed a round before, and is now, to where further rounds lead, (samples, 6).

    Feet that stand do not pitch with the body, so that it answers what it is told by a share of that again,
    round after round. The share is seen in pitch, over ``width`` samples around each, in what the first two
    rounds found: their sum goes on as a geometric series (Aitken A.C. 1926, Proc R Soc Edinburgh 46:289-305),
    but for the mean, which says how the body leans on a slope. To the sides rounds change about as much each
    time, and nothing is told by two of them.
    """
    change, ahead = needs - before, needs.copy()
    own = local_mean(before[:, PITCH] ** 2, width)
    again = local_mean(change[:, PITCH] * before[:, PITCH], width)
    share = np.clip(again / np.maximum(own, LEAST_NEED), 0.0, MOST_AGAIN)[:, None]
    swings = change[:, FORE_AND_AFT]
    swings = swings - local_mean(swings, width)
    ahead[:, FORE_AND_AFT] += share / (1.0 - share) * swings
    return ahead


def _stiff_rows(stiff: Stiff, here: slice) -> Stiff:
    return Stiff(stiff.moved_m[here], stiff.turned_rad[here], stiff.base_m[here])


def _leg_rows(legs: LegPoses, here: slice) -> LegPoses:
    """Take some moments out of the legs, as far as their masses ask."""
    reach = legs.reach
    across = {each.name: getattr(reach, each.name)[here] for each in fields(reach) if each.name != "across_m"}
    own = legs.turn_rad[here], legs.unknown_rad[here], legs.sling_rad[here]
    return LegPoses(replace(reach, **across), *own, legs.feet)


def _hung(timeline: Timeline, trunk: Trunk, breath: Array, state: StanceState) -> Hung:
    """Hang what the body feels, each cycle's way as far as it counts."""
    grid, share = timeline.grid, timeline.solved_share
    local = replace(grid, local_s=timeline.longest_s)
    found: Hung | None = None
    centres = np.zeros(0)
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(share[:, k] > 0.0)
        if rows.size == 0:
            continue
        first, after = max(0, rows[0] - round(HANG_LEAD_IN_S / grid.step_s)), int(rows[-1]) + 1
        hung = hung_part(cycle, trunk, local, breath, (first, after), state, weighed_only=True)
        if found is None:
            found, centres = hung, np.zeros((grid.count, *hung.centres_m.shape[1:]))
        centres[first:after] += share[first:after, k, None, None] * hung.centres_m
    assert found is not None  # noqa: S101
    return replace(found, centres_m=centres)
