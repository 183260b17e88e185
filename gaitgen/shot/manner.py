"""Where feet and limbs are meant to be over a whole shot: each cycle's manner as far as it counts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from gaitgen.body.struts import walking_share
from gaitgen.body.trunk import BackPose
from gaitgen.course.stance import StanceState
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.limbs.braking import earlier_by
from gaitgen.limbs.chain import CHANGING
from gaitgen.limbs.foot_path import FootPlan, plan_feet, step_share
from gaitgen.limbs.given import Given, given_by_law
from gaitgen.limbs.slings import tops_m
from gaitgen.numerics.curves import largest_around
from gaitgen.numerics.grid import Grid
from gaitgen.shot.carriage import Carriage, at_phase
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.leaping import leap_folds_rad
from gaitgen.shot.on_the_spot import PIVOTS
from gaitgen.shot.rows import back_rows, state_rows
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Feet that turn on the spot are lifted, and at least tip and hang, as in so much of a full step (estimate).
LEAST_ROUND = 0.6
BEGINS = ("steady", *PIVOTS)  # pieces that a cycle begins with
# Joints give to at the most so many times the greatest force in their cycle, and wholly to such a share of
# that (estimates: tendons stiffen).
MOST_FELT, FELT_WHOLE = 1.2, 0.85
# That is of the force so far through a stance, or within such a share of it, and at least such a share of the
# greatest, at so many places of it: tendons are let go before a foot leaves (estimates).
NEAR_SHARE, LEAST_FELT, SHARES = 0.1, 0.2, 41
# A foot that has stood for long rolls over its toe for so many times its swing at the most (estimate).
LONGEST_ROLL_SWINGS = 0.6
# A manner is followed so long before it counts, so that loads and hanging parts have come to rest. [s]
LEAD_IN_S = 0.5
# A foot that swings for less long than in the cycles there is lifted by as much less, and at least by such a
# share (estimate), so that its leg folds and opens about as quickly as in those.
LEAST_LIFTED = 0.4
EVEN = 1e-6  # shares of times that are alike, but for rounding
# A foot tips by the way of its body over it, or by a little more of its next step, which is as far in cycles.
TIPS_SHARE = 0.97
# A foot that has been down for more strides than this stood still: it tips by no more than the body has gone
# over it, and at least by so much of a full step (estimates).
STOOD_STRIDES, LEAST_TIPPED = 1.2, 0.8
PLANNED = ("toe", "heading", "normal", "rolled", "hangs", "landing")


@dataclass(frozen=True, eq=False)
class Manner:
    """Where feet and limbs are meant to be, by the laws of all cycles as far as each counts.

    Attributes
    ----------
    plan, given
        Feet and laws.
    runs
        (samples, 4) how far each foot's end of the body runs.
    lift
        (samples, 4) factor on how far swinging legs fold.
    """

    plan: FootPlan
    given: Given
    runs: Array
    lift: Array


def manner(
    timeline: Timeline,
    state: StanceState,
    carried: Carriage,
    as_cycles: Array,
    folds: Array | None = None,
    *,
    lets_go: bool = False,
) -> Manner:
    """Lead the feet, and bend the joints by their laws, each cycle's as far as it counts.

    Parameters
    ----------
    timeline, state, carried
        The shot; its steps as the body sees them; its body.
    as_cycles
        (samples, cycles) how far each cycle is as it is.
    folds
        (samples, 4) factor of lift as which swinging legs fold beside it; None for 1.
    lets_go
        Whether joints give no farther than they do so far through a stance in the cycles, as what is seen in
        the end does; the body is found without.
    """
    grid = timeline.grid
    folds = np.ones((grid.count, 4)) if folds is None else folds
    whole = _followed(timeline, state, carried, as_cycles, folds, lets_go=lets_go)
    for name in ("opening", "sling"):  # what came of the loads of a cycle is kept where it is as it is
        whole[name] = whole[name] + _to_cycles(timeline, name, whole[name], as_cycles)
    if timeline.leaps:
        more = leap_folds_rad(timeline, state)
        whole["folded"], whole["opening"] = whole["folded"] + more, whole["opening"] - more
    animal = timeline.cycles[0].animal
    plan = FootPlan(animal, state, *(whole[name] for name in PLANNED))
    own_way: dict[str, Any] = {name: whole[name] for name in CHANGING}
    chains = replace(chains_of(animal), **own_way)
    given = Given(
        folded_rad=whole["folded"],
        opening_rad=whole["opening"],
        laid=chains.laid(chains.sign * whole["opening"]),
        sling_rad=whole["sling"],
        top_m=tops_m(animal, carried.back, whole["sling"]),
        hang_rad=whole["hang"],
    )
    runs = np.repeat(1.0 - walking_share(state, grid), 2, axis=1)
    return Manner(plan, given, runs, whole["lift"])


def _followed(
    timeline: Timeline,
    state: StanceState,
    carried: Carriage,
    as_cycles: Array,
    folds: Array,
    *,
    lets_go: bool,
) -> dict[str, Array]:
    """Let each cycle lead feet and joints as far as it counts: what `_of_cycle` finds, by its name."""
    grid, share = timeline.grid, timeline.solved_share
    whole: dict[str, Array] = {}
    other = 1.0 - np.minimum(as_cycles.sum(axis=1, keepdims=True), 1.0)  # a cycle as it is says that itself
    quick, gone = 1.0 - other * (1.0 - quick_lifts(timeline, state)), other * _gone_shares(timeline, state)
    on_spot = {piece.cycles[0] for piece in timeline.pieces if piece.kind in PIVOTS}
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(share[:, k] > 0.0)
        if rows.size == 0:
            continue
        first, after = max(0, rows[0] - round(LEAD_IN_S / grid.step_s)), int(rows[-1]) + 1
        here = state_rows(state, first, after)
        for name, values in _of_cycle(
            cycle,
            here,
            carried.force_n[first:after, :, 2],
            grid.part(first, after),
            back_rows(carried.back, slice(first, after)),
            LEAST_ROUND if k in on_spot else 0.0,
            folds[first:after],
            quick[first:after],
            gone[first:after],
            lets_go=lets_go,
        ):
            weight = share[first:after, k].reshape(-1, *(1,) * (values.ndim - 1))
            if name not in whole:
                whole[name] = np.zeros((grid.count, *values.shape[1:]))
            whole[name][first:after] += weight * values
    return whole


def _to_cycles(timeline: Timeline, name: str, found: Array, as_cycles: Array) -> Array:
    """Return what leads from what was found of a joint or a sling to what it is in each cycle as it is."""
    own = np.zeros_like(found)
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(as_cycles[:, k] > 0.0)
        if rows.size:
            weight = as_cycles[rows, k].reshape(-1, *(1,) * (own.ndim - 1))
            there = _repeated(timeline, cycle, k, name, timeline.grid.time_s[rows])
            own[rows] += weight * (there - found[rows])
    return own


def quick_lifts(timeline: Timeline, state: StanceState) -> Array:
    """Say by how much less feet are lifted that swing for less long than in their cycles, (samples, 4)."""
    swings = np.array([cycle.frames - cycle.down for cycle in timeline.cycles]) / timeline.frame_rate_hz
    own_s = timeline.solved_share @ swings
    share = (state.next_touchdown_s - state.liftoff_s) / own_s + EVEN
    return np.asarray(np.clip(share, LEAST_LIFTED, 1.0))


def _gone_shares(timeline: Timeline, state: StanceState) -> Array:
    """Say how far the body goes over each foot that is down, of a full stance, (samples, 4).

    A foot tips over its toe by that as it leaves, however near it lands again, as in the last step of a halt.
    """
    moments = np.stack([state.touchdown_s, state.liftoff_s])
    gone = np.diff(timeline.pace.distance_m(moments), axis=0)[0]
    full_m = timeline.cycles[0].animal.tempo.stance_distance_m
    return np.asarray(np.clip(TIPS_SHARE * gone / full_m, 0.0, 1.0))


def _stood(cycle: Cycle, state: StanceState) -> npt.NDArray[np.bool_]:
    """Tell which feet stood still before they leave, as no foot is down so long as it goes, (samples, 4)."""
    stride_s = cycle.frames / cycle.settled.request.frame_rate_hz
    return np.asarray(state.liftoff_s - state.touchdown_s > STOOD_STRIDES * stride_s)


def _repeated(timeline: Timeline, cycle: Cycle, number: int, name: str, time_s: Array) -> Array:
    """Repeat what the laws made of a joint or a sling in a cycle."""
    own = cycle.given
    table = {"opening": own.opening_rad, "sling": own.sling_rad}[name]
    return at_phase(cycle.solved.course.grid, table, since_s(timeline, number, time_s))


def since_s(timeline: Timeline, number: int, time_s: Array) -> Array:
    """How far a cycle, by its number, has gone at moments (...), from its first stride. [s]"""
    piece = next(p for p in timeline.pieces if p.kind in BEGINS and p.cycles[0] == number)
    if not piece.lingers:
        return np.asarray(time_s - piece.first / timeline.frame_rate_hz)
    return piece.own_frame(time_s * timeline.frame_rate_hz) / timeline.frame_rate_hz


def _of_cycle(
    cycle: Cycle,
    state: StanceState,
    force_n: Array,
    grid: Grid,
    back: BackPose,
    least_step: float,
    folds: Array,
    quick: Array,
    gone: Array,
    *,
    lets_go: bool,
) -> list[tuple[str, Array]]:
    """Lead feet and bend joints as one cycle does, (samples, ...) each.

    ``least_step`` is as in plan_feet, ``folds`` and ``lets_go`` as in manner, ``quick`` from quick_lifts and
    ``gone`` from _gone_shares.
    """
    animal, style = cycle.animal, cycle.style
    lift = np.asarray(
        quick
        * style.lift
        * np.array(style.legs.lift)
        * cycle.lift_share(
            step_share(animal, state) if least_step == 0.0 else np.full(state.planted.shape, least_step)
        )
    )
    plan = plan_feet(
        animal,
        state,
        lift=lift,
        least_step=np.maximum(least_step, gone),
        most_step=np.where(_stood(cycle, state), np.maximum(max(LEAST_TIPPED, least_step), gone), 1.0),
        longest_roll=np.maximum(cycle.roll_swings, LONGEST_ROLL_SWINGS),
        marks_time=least_step > 0.0,
        earlier=earlier_by(cycle.placed.course.steps),
    )
    given = given_by_law(
        animal,
        plan,
        grid,
        _felt(force_n, _most_felt_n(cycle, state, lets_go=lets_go)),
        back,
        lift=folds * quick * lift,
        weight=style.weight * np.array(style.legs.weight),
        bounce=style.bounce,
    )
    count = grid.count
    own = {name: getattr(given.laid.chains, name) for name in CHANGING}
    return [
        ("toe", plan.toe_m),
        ("heading", plan.heading_rad),
        ("normal", plan.normal),
        ("rolled", plan.rolled_rad),
        ("hangs", plan.hangs),
        ("landing", plan.landing_rad),
        ("folded", given.folded_rad),
        ("opening", given.opening_rad),
        ("sling", given.sling_rad),
        ("lift", np.asarray(folds * lift)),
        ("hang", np.broadcast_to(given.hang_rad, (count, 4))),
        *((name, np.broadcast_to(of, (count, *of.shape))) for name, of in own.items()),
    ]


def _most_felt_n(cycle: Cycle, state: StanceState, *, lets_go: bool) -> Array:
    """Say to how much force joints give at the most: as in a cycle, or so far through its stances. [N]"""
    course, force_n = cycle.placed.course, cycle.solved.body.balance.force_n[..., 2]
    if cycle.gait.walks or not lets_go:  # in a walk the other feet take a load over slowly
        return np.asarray(MOST_FELT * np.broadcast_to(force_n.max(axis=0), state.planted.shape))
    steps, own = course.steps, cycle.solved.course.grid
    place = np.linspace(0.0, 1.0, SHARES)
    most = np.empty(state.planted.shape)
    for row, limb in enumerate(steps.limb.tolist()):
        times = steps.touchdown_s[row] + place * (steps.liftoff_s[row] - steps.touchdown_s[row])
        curve = at_phase(own, force_n[:, limb], times)
        curve = np.maximum(
            largest_around(curve, round(NEAR_SHARE * SHARES), periodic=False), LEAST_FELT * curve.max()
        )
        most[:, limb] = MOST_FELT * np.interp(state.stance_share[:, limb], place, curve)
    return most


def _felt(force_n: Array, most_n: Array) -> Array:
    """Let joints give to a force as far as in their cycle and a little more, softly: (samples, 4). [N]"""
    share = force_n / most_n
    over = FELT_WHOLE + (1.0 - FELT_WHOLE) * np.tanh((share - FELT_WHOLE) / (1.0 - FELT_WHOLE))
    return np.asarray(most_n * np.where(share < FELT_WHOLE, share, over))
