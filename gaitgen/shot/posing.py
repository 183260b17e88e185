"""Trunk and legs over a whole shot: the trunk sinks where legs ask for it, and legs are solved on frames."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import Trunk, posed_trunk
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames
from gaitgen.limbs.foot_path import Feet
from gaitgen.limbs.legs import LegPoses, aim_legs, solve_legs, too_near
from gaitgen.limbs.reach import reach_for
from gaitgen.numerics.curves import ramp
from gaitgen.pipeline.carry import RUNS_LEAST
from gaitgen.pipeline.on_legs import ROOM_M
from gaitgen.shot.carriage import Carriage, at_phase
from gaitgen.shot.clearing import floors_m
from gaitgen.shot.lowering import Lowering
from gaitgen.shot.manner import Manner, since_s
from gaitgen.shot.refusing import refuse_missed
from gaitgen.shot.rows import plan_rows, trunk_rows
from gaitgen.shot.swinging import Swinging
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

DROP_ROUNDS = 6
# A swinging foot comes up wholly to a leg that does not reach it where its end runs so far; where that walks
# the trunk sinks, and in between each does its part (estimate).
COMES_UP = 0.25
# Near edges by so much of the height of its top at the most (estimate): of a foot that was left far behind a
# leg only goes as near to its place as it reaches, which it would turn over itself to come up to.
MOST_TUCKED = 0.05


@dataclass(frozen=True, eq=False)
class Posed:
    """Trunk and legs over the samples.

    Attributes
    ----------
    trunk
        At the samples.
    legs, rows
        At some of the samples, and which: one a frame.
    drop_m
        (samples, 2) how far chest and hips are lowered for the legs to reach. [m]
    """

    trunk: Trunk
    legs: LegPoses
    rows: Ints
    drop_m: Array


def pose(
    timeline: Timeline,
    carried: Carriage,
    made: Manner,
    as_cycles: Array,
    ground: Ground,
    slope_rad: Array,
    *,
    edged: bool = False,
    for_needs: Ints | None = None,
    frames: Frames | None = None,
) -> Posed:
    """Lower the trunk where the legs need it, over a stride or so, and solve the legs.

    Where a cycle is as it is (``as_cycles``, (samples, cycles)), its trunk is as low as there. On a slope of
    the ground (``slope_rad``, (samples,)) both ends are lowered alike; ``edged`` tells whether it has edges.
    Legs are solved once a frame, or at the samples ``for_needs``, and then not refused. ``frames`` tells how
    the body goes, where feet that legs carry are to clear ground that is not even.

    Raises
    ------
    ReachError
        If a foot that is down is out of reach, with the moment.
    """
    grid, animal, plan, runs = timeline.grid, timeline.cycles[0].animal, made.plan, made.runs
    lowering = Lowering.of(timeline, as_cycles, runs, ground, slope_rad, edged=edged)
    other = lowering.other
    tops, most_m = _tops_m(animal, edged=edged)
    drop = np.zeros((grid.count, 2))
    swings = ~plan.state.planted
    comes_up = np.where(swings, ramp(runs / COMES_UP), 0.0)  # of what a leg misses; the rest the trunk sinks
    for _ in range(DROP_ROUNDS):
        trunk = posed_trunk(animal, carried.ends.lowered(*drop.T), carried.back)
        feet = plan.rolling
        short = reach_for(trunk, feet.joints_m, feet.goes, made.given).shortfall_m
        lowered = lowering.after(drop, _left(short, comes_up))
        settled = float(np.abs(lowered - drop).max()) < ROOM_M
        drop = lowered
        if settled:
            break
    running = as_cycles @ np.array(
        [cycle.placed.carried.is_run for cycle in timeline.cycles], dtype=np.float64
    )
    # Where a cycle is as it is, feet miss their places as they do in it: in a walk, never.
    may_miss = swings & (comes_up > 0.0) & ((other > 0.0) | (running[:, None] > 0.0))
    tucks = comes_up * other
    own_m = np.zeros_like(plan.toe_m)
    if runs.max() >= RUNS_LEAST:
        plan = plan.tucked(np.minimum(short, most_m), tucks, tops, is_periodic=False)
        own_m = _own_moves_m(timeline, as_cycles)
        plan = plan.moved(own_m)
    # Legs themselves are only wanted in frames.
    rows, time_s = (
        np.arange(0, grid.count, timeline.per_frame) if for_needs is None else for_needs,
        grid.time_s,
    )
    floors = None if frames is None or edged or ground.is_even else _floors(frames, rows, ground)
    given, near_rad = made.given.at(rows), None
    for _ in range(DROP_ROUNDS):
        drop = drop + np.maximum(other, lowering.between) * ROOM_M
        trunk = posed_trunk(animal, carried.ends.lowered(*drop.T), carried.back)
        here, under = plan_rows(plan, rows), trunk_rows(trunk, rows)
        aimed = aim_legs(animal, under, here, given, near_rad)
        swinging = Swinging.of(timeline, made, trunk, other)
        if swinging is not None:
            aimed = swinging.aimed(here, here.toe_m - own_m[rows], rows, under, given, aimed, floors)
        near_rad, missed = aimed.near_rad, aimed.reach.shortfall_m
        near = np.abs(aimed.reach.target_m) < given.laid.shortest_m
        folds = too_near(near & ~may_miss[rows], plan.state.liftoff_s[rows], swings[rows])
        legs = solve_legs(animal, aimed, given, plan.state.swing_share[rows], may_miss[rows], folds)
        short = np.stack([np.interp(time_s, time_s[rows], missed[:, k]) for k in range(4)], axis=1)
        if _left(short, comes_up).max() <= 0.0:
            break
        if runs.max() >= RUNS_LEAST:
            plan = plan.tucked(np.minimum(short, most_m), tucks, tops, is_periodic=False)
        drop = np.maximum(drop, lowering.after(drop, _left(short, comes_up)))
    if for_needs is None:
        refuse_missed(timeline, legs.turn_rad, time_s[rows] * timeline.frame_rate_hz, slope_rad[rows])
    return Posed(trunk, legs, rows, drop)


def _floors(frames: Frames, rows: Ints, ground: Ground) -> Callable[[Feet, Array], Array]:
    """Say how high toes must be over a ground, at some samples: see `floors_m`."""
    here = replace(frames, place_m=frames.place_m[rows], heading_rad=frames.heading_rad[rows])
    return lambda feet, toe_m: floors_m(feet, toe_m, here, ground)


def _tops_m(animal: Animal, *, edged: bool) -> tuple[Array, Array]:
    """Return how high the tops of the limbs stand, and how far feet come up to them at the most: (4,). [m]"""
    tops = standing_positions_m(animal)[[limb.top for limb in animal.limbs], 2]
    return tops, MOST_TUCKED * tops if edged else np.full_like(tops, np.inf)


def _left(short: Array, comes_up: Array) -> Array:
    """Return what legs miss beside what their feet come up by; -1 where these come up wholly. [m]"""
    return np.where(comes_up < 1.0, np.where(short > 0.0, (1.0 - comes_up) * short, short), -1.0)


def _own_moves_m(timeline: Timeline, as_cycles: Array) -> Array:
    """How far legs move their swinging feet where a cycle is as it is, (samples, 4, 3). [m]"""
    moved = np.zeros((as_cycles.shape[0], 4, 3))
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(as_cycles[:, k] > 0.0)
        if rows.size:
            since = since_s(timeline, k, timeline.grid.time_s[rows])
            own = at_phase(cycle.solved.course.grid, cycle.moved_m, since)
            moved[rows] += as_cycles[rows, k, None, None] * own
    return moved
