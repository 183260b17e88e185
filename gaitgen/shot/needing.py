"""What limbs and hanging parts of a shot need beside its body, as they are posed over it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.body import Stiff
from gaitgen.body.trunk import Trunk
from gaitgen.hanging.followers import Hung, hang
from gaitgen.limbs.legs import LegPoses
from gaitgen.numerics.curves import largest_around
from gaitgen.pipeline.departure import departure
from gaitgen.pipeline.solve import filled, half_way
from gaitgen.shot.carriage import Carriage
from gaitgen.shot.following import HANG_LEAD_IN_S
from gaitgen.shot.layers import MARGIN_STRIDES
from gaitgen.shot.posing import Posed
from gaitgen.shot.rows import trunk_rows
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

EVEN = 1e-9  # of a cycle that is less than wholly as it is


def asked_rows(timeline: Timeline, as_cycles: Array) -> Ints:
    """Return the samples at which needs count: all but those far inside of cycles that are as they are."""
    radius = round(timeline.longest_s * MARGIN_STRIDES / timeline.grid.step_s)
    other = np.maximum(1.0 - as_cycles.sum(axis=1), 0.0)
    return np.flatnonzero(largest_around(other, radius, periodic=False) > EVEN)


def needing(
    timeline: Timeline, carried: Carriage, posed: Posed, breath: Array, before: Array | None
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
    before
        What they needed in the round before, if there was one; returned where a leg is posed nowhere.
    """
    turn_rad = filled(posed.legs.turn_rad)
    if not np.isfinite(turn_rad).all():
        return before
    animal, legs = timeline.cycles[0].animal, replace(posed.legs, turn_rad=turn_rad)
    hung = _hung(timeline, posed.trunk, breath)
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
    return more if before is None else half_way(more, before)


def _stiff_rows(stiff: Stiff, here: slice) -> Stiff:
    return Stiff(stiff.moved_m[here], stiff.turned_rad[here], stiff.base_m[here])


def _leg_rows(legs: LegPoses, here: slice) -> LegPoses:
    """Take some moments out of the legs, as far as their masses ask."""
    reach = legs.reach
    across = {each.name: getattr(reach, each.name)[here] for each in fields(reach) if each.name != "across_m"}
    own = legs.turn_rad[here], legs.unknown_rad[here], legs.sling_rad[here]
    return LegPoses(replace(reach, **across), *own, legs.feet)


def _hung(timeline: Timeline, trunk: Trunk, breath: Array) -> Hung:
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
        hung = hang(
            cycle.animal,
            trunk_rows(trunk, slice(first, after)),
            local.part(first, after),
            breath[first:after],
            nod=cycle.style.nod,
            overlap=cycle.style.overlap,
            weighed_only=True,
        )
        if found is None:
            found, centres = hung, np.zeros((grid.count, *hung.centres_m.shape[1:]))
        centres[first:after] += share[first:after, k, None, None] * hung.centres_m
    assert found is not None  # noqa: S101
    return replace(found, centres_m=centres)
