"""Feet, limbs and what hangs over a whole shot: each cycle's manner as far as it counts at each moment."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.struts import walking_share
from gaitgen.body.trunk import BackPose, Trunk, posed_trunk
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.stance import StanceState
from gaitgen.errors import ReachError
from gaitgen.hanging.followers import hang
from gaitgen.limbs.chain import CHANGING, chains_of
from gaitgen.limbs.foot_path import FootPlan, plan_feet, step_share
from gaitgen.limbs.given import Given, given_by_law
from gaitgen.limbs.legs import LegPoses, aim_legs, solve_legs
from gaitgen.limbs.reach import reach_for
from gaitgen.limbs.slings import tops_m
from gaitgen.numerics.curves import envelope, ramp
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline.carry import RUNS_LEAST
from gaitgen.pipeline.on_legs import ROOM_M
from gaitgen.shot.carriage import Carriage, at_phase
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.leaping import leap_folds_rad
from gaitgen.shot.on_the_spot import PIVOTS
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

DROP_ROUNDS = 6
# Where a cycle counts almost wholly, what else there is to sink is little, and at the most so much more. [m]
LEAST_OTHER, MOST_BESIDE_M = 0.15, 0.05
# Of what one end is lowered beyond any cycle the other is too, so that the trunk does not tip (estimate).
TOGETHER = 0.6
# A swinging foot comes up wholly to a leg that does not reach it where its end runs so far; where that walks
# the trunk sinks, and in between each does its part (estimate).
COMES_UP = 0.25
# How far around a moment it counts that a leg does not reach, and that on ground with edges; on so much
# of a slope both ends are lowered alike, but for what they are in the cycles.
DROP_STRIDES, DROP_EDGED, SLOPES = 0.5, 0.25, 0.05
# Feet that turn on the spot are lifted, and at least tip and hang, as in so much of a full step (estimate).
LEAST_ROUND = 0.6
BEGINS = ("steady", *PIVOTS)  # pieces that a cycle begins with
# How far ahead the head looks, in withers heights, and in seconds of the way; and what share of the range of
# the neck it takes for that (estimates).
LOOK_BODIES, LOOK_S = 0.6, 0.35
LOOK_SHARE = 0.45
LOOK_ROUND_S = 0.9  # how far ahead it looks in a turn on the spot (estimate)
LEVEL_SHARE = 0.6  # of a slope that the neck takes back (estimate)
# Joints give to at the most so many times the greatest force in their cycle, and wholly to such a share of
# that (estimates: tendons stiffen).
MOST_FELT, FELT_WHOLE = 1.2, 0.85
# A foot that has stood for long rolls over its toe for so many times its swing at the most (estimate).
LONGEST_ROLL_SWINGS = 0.6
# A manner is followed so long before it counts, so that loads and hanging parts have come to rest. [s]
LEAD_IN_S = 0.5
HANG_LEAD_IN_S = 2.0


@dataclass(frozen=True, eq=False)
class Manner:
    """Where feet and limbs are meant to be, by the laws of all cycles as far as each counts.

    Attributes
    ----------
    plan, given
        Feet and laws.
    runs
        (samples, 4) how far each foot's end of the body runs.
    """

    plan: FootPlan
    given: Given
    runs: Array


def manner(
    timeline: Timeline,
    state: StanceState,
    carried: Carriage,
    as_cycles: Array,
    folds: Array | None = None,
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
    """
    grid, share = timeline.grid, timeline.solved_share
    folds = np.ones((grid.count, 4)) if folds is None else folds
    whole: dict[str, Array] = {}
    on_spot = {piece.cycles[0] for piece in timeline.pieces if piece.kind in PIVOTS}
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(share[:, k] > 0.0)
        if rows.size == 0:
            continue
        first, after = max(0, rows[0] - round(LEAD_IN_S / grid.step_s)), int(rows[-1]) + 1
        here = _rows_of(state, first, after)
        for name, values in _of_cycle(
            cycle,
            here,
            carried.force_n[first:after, :, 2],
            grid.part(first, after),
            back_rows(carried.back, slice(first, after)),
            LEAST_ROUND if k in on_spot else 0.0,
            folds[first:after],
        ):
            weight = share[first:after, k].reshape(-1, *(1,) * (values.ndim - 1))
            if name not in whole:
                whole[name] = np.zeros((grid.count, *values.shape[1:]))
            whole[name][first:after] += weight * values
    for name in ("opening", "sling"):  # what came of the loads of a cycle is kept where it is as it is
        own = np.zeros_like(whole[name])
        for k, cycle in enumerate(timeline.cycles):
            rows = np.flatnonzero(as_cycles[:, k] > 0.0)
            if rows.size:
                weight = as_cycles[rows, k].reshape(-1, *(1,) * (own.ndim - 1))
                own[rows] += weight * (
                    _repeated(timeline, cycle, k, name, grid.time_s[rows]) - whole[name][rows]
                )
        whole[name] = whole[name] + own
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
    return Manner(plan, given, runs)


PLANNED = ("toe", "heading", "normal", "rolled", "hangs", "landing")


def _repeated(timeline: Timeline, cycle: Cycle, number: int, name: str, time_s: Array) -> Array:
    """Repeat what the laws made of a joint or a sling in a cycle."""
    own = cycle.given
    table = {"opening": own.opening_rad, "sling": own.sling_rad}[name]
    return at_phase(cycle.solved.course.grid, table, time_s - _since_s(timeline, number))


def _since_s(timeline: Timeline, number: int) -> float:
    """When the first stride of a cycle begins. [s]"""
    piece = next(p for p in timeline.pieces if p.kind in BEGINS and p.cycles[0] == number)
    return piece.first / timeline.frame_rate_hz


def _of_cycle(
    cycle: Cycle,
    state: StanceState,
    force_n: Array,
    grid: Grid,
    back: BackPose,
    least_step: float,
    folds: Array,
) -> list[tuple[str, Array]]:
    """Lead feet and bend joints as one cycle does, (samples, ...) each.

    ``least_step`` is as in plan_feet, ``folds`` as in manner.
    """
    animal, style = cycle.animal, cycle.style
    lift = (
        style.lift
        * np.array(style.legs.lift)
        * cycle.lift_share(
            step_share(animal, state) if least_step == 0.0 else np.full(state.planted.shape, least_step)
        )
    )
    plan = plan_feet(
        animal,
        state,
        lift=lift,
        least_step=least_step,
        longest_roll=np.maximum(cycle.roll_swings, LONGEST_ROLL_SWINGS),
    )
    given = given_by_law(
        animal,
        plan,
        grid,
        _felt(force_n, MOST_FELT * cycle.solved.body.balance.force_n[..., 2].max(axis=0)),
        back,
        lift=folds * lift,
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
        ("hang", np.broadcast_to(given.hang_rad, (count, 4))),
        *((name, np.broadcast_to(of, (count, *of.shape))) for name, of in own.items()),
    ]


def _felt(force_n: Array, most_n: Array) -> Array:
    """Let joints give to a force as far as in their cycle and a little more, softly: (samples, 4). [N]"""
    share = force_n / most_n
    over = FELT_WHOLE + (1.0 - FELT_WHOLE) * np.tanh((share - FELT_WHOLE) / (1.0 - FELT_WHOLE))
    return np.asarray(most_n * np.where(share < FELT_WHOLE, share, over))


def _rows_of(state: StanceState, first: int, after: int) -> StanceState:
    """Take some moments out of the steps of all."""
    return _moments(state, slice(first, after))


def _moments(state: StanceState, here: slice | Ints) -> StanceState:
    return StanceState(*(getattr(state, each.name)[here] for each in fields(state)))


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
) -> Posed:
    """Lower the trunk where the legs need it, over a stride or so, and solve the legs.

    Where a cycle is as it is (``as_cycles``, (samples, cycles)), its trunk is as low as there. On a slope of
    the ground (``slope_rad``, (samples,)) both ends are lowered alike; ``edged`` tells whether it has edges.

    Raises
    ------
    ReachError
        If a foot that is down is out of reach, with the moment.
    """
    grid, animal, plan, runs = timeline.grid, timeline.cycles[0].animal, made.plan, made.runs
    around = (DROP_EDGED if edged else DROP_STRIDES) * timeline.longest_s
    radius = max(2, round(around / grid.step_s))
    alike = ramp(np.abs(slope_rad) / SLOPES)[:, None] if ground.is_even else np.zeros((grid.count, 1))
    own = as_cycles @ np.array([cycle.solved.drop_m for cycle in timeline.cycles])
    deepest = np.array([cycle.solved.drop_m for cycle in timeline.cycles]).max(axis=0)
    wholly = np.minimum(as_cycles.sum(axis=1), 1.0)[:, None]
    other = 1.0 - wholly
    tops = standing_positions_m(animal)[[limb.top for limb in animal.limbs], 2]
    drop = np.zeros((grid.count, 2))
    swings = ~plan.state.planted
    comes_up = np.where(swings, ramp(runs / COMES_UP), 0.0)  # of what a leg misses; the rest the trunk sinks

    def lower(short: Array) -> Array:
        """Lower each end by what its legs miss at each moment, smoothly."""
        needed = drop + _left(short, comes_up).reshape(-1, 2, 2).max(axis=2)
        beside = (needed - own) / np.maximum(other, LEAST_OTHER)  # own already counts as far as it does
        beside = np.where(other > 0.0, np.clip(beside, needed, needed + MOST_BESIDE_M), needed)
        beside = np.maximum(beside, TOGETHER * (beside - deepest)[:, ::-1])
        both = deepest + (beside - deepest).max(axis=1, keepdims=True)
        beside = beside + alike * (both - beside)
        return np.asarray(own + other * envelope(np.maximum(beside, 0.0), radius))

    for _ in range(DROP_ROUNDS):
        trunk = posed_trunk(animal, carried.ends.lowered(*drop.T), carried.back)
        feet = plan.rolling
        short = reach_for(trunk, feet.joints_m, feet.heading_rad, made.given).shortfall_m
        lowered = lower(short)
        settled = float(np.abs(lowered - drop).max()) < ROOM_M
        drop = lowered
        if settled:
            break
    may_miss = swings & (comes_up > 0.0)
    tucks = comes_up * other
    if runs.max() >= RUNS_LEAST:
        plan = plan.tucked(short, tucks, tops, is_periodic=False).raised(_own_tucks(timeline, as_cycles))
    # Legs themselves are only wanted in frames.
    rows, time_s = np.arange(0, grid.count, timeline.per_frame), grid.time_s
    given, near_rad = made.given.at(rows), None
    for _ in range(DROP_ROUNDS):
        drop = drop + other * ROOM_M
        trunk = posed_trunk(animal, carried.ends.lowered(*drop.T), carried.back)
        aimed = aim_legs(animal, trunk_rows(trunk, rows), _plan_rows(plan, rows), given, near_rad)
        near_rad, missed = aimed.near_rad, aimed.reach.shortfall_m
        legs = solve_legs(animal, aimed, given, plan.state.swing_share[rows], may_miss[rows])
        short = np.stack([np.interp(time_s, time_s[rows], missed[:, k]) for k in range(4)], axis=1)
        if _left(short, comes_up).max() <= 0.0:
            break
        if runs.max() >= RUNS_LEAST:
            plan = plan.tucked(short, tucks, tops, is_periodic=False)
        drop = np.maximum(drop, lower(short))
    _refuse_missed(timeline, legs, time_s[rows] * timeline.frame_rate_hz)
    return Posed(trunk, legs, rows, drop)


def _refuse_missed(timeline: Timeline, legs: LegPoses, frame: Array) -> None:
    """Refuse legs that do not reach their feet in the clip, which ``frame`` (samples,) counts. [frames]

    Raises
    ------
    ReachError
        With the first of those frames.
    """
    fails = ~np.isfinite(legs.turn_rad).all(axis=(1, 2)) & (frame > -0.5) & (frame < timeline.frames + 0.5)
    if fails.any():
        first, name = frame[int(np.argmax(fails))] + 1.0, timeline.cycles[0].animal.name
        raise ReachError(
            f"about frame {first:.0f} a leg of {name} does not reach its foot; give "
            "slower gaits, a wider turn or a gentler slope there"
        )


def _left(short: Array, comes_up: Array) -> Array:
    """Return what legs miss beside what their feet come up by; -1 where these come up wholly. [m]"""
    return np.where(comes_up < 1.0, np.where(short > 0.0, (1.0 - comes_up) * short, short), -1.0)


def _own_tucks(timeline: Timeline, as_cycles: Array) -> Array:
    """How far feet come up to their legs where a cycle is as it is, (samples, 4). [m]"""
    wholly = as_cycles
    raised = np.zeros((as_cycles.shape[0], 4))
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(wholly[:, k] > 0.0)
        if rows.size:
            since = timeline.grid.time_s[rows] - _since_s(timeline, k)
            raised[rows] += wholly[rows, k, None] * at_phase(cycle.solved.course.grid, cycle.tucked_m, since)
    return raised


def hung_turns(
    timeline: Timeline, trunk: Trunk, grid: Grid, share: Array, as_cycles: Array, breath: Array
) -> dict[int, Array]:
    """Let neck, head, ears, jaw and tail follow, each cycle's way as far as it counts; their turns. [rad]"""
    local = replace(grid, local_s=timeline.longest_s)
    whole: dict[int, Array] = {}
    for k, cycle in enumerate(timeline.cycles):
        rows = np.flatnonzero(share[:, k] > 0.0)
        if rows.size == 0:
            continue
        first, after = max(0, rows[0] - round(HANG_LEAD_IN_S / grid.step_s)), int(rows[-1]) + 1
        part = trunk_rows(trunk, slice(first, after))
        style = cycle.style
        hung = hang(
            cycle.animal,
            part,
            local.part(first, after),
            breath[first:after],
            nod=style.nod,
            overlap=style.overlap,
        )
        own = _own_turns(timeline, cycle, grid.time_s[first:after], k)
        steady = as_cycles[first:after, k] / np.maximum(share[first:after, k], 1e-9)
        for joint, turns in hung.turns_rad.items():
            mixed = turns + steady[:, None] * (own[joint] - turns)
            whole.setdefault(joint, np.zeros((grid.count, 3)))[first:after] += (
                share[first:after, k, None] * mixed
            )
    return whole


def _own_turns(timeline: Timeline, cycle: Cycle, time_s: Array, number: int) -> dict[int, Array]:
    """Repeat what hangs in a cycle."""
    hung, own = cycle.solved.hung, cycle.solved.course.grid
    if hung is None:
        return {}
    since = time_s - _since_s(timeline, number)
    joints = list(hung.turns_rad)
    table = np.stack([hung.turns_rad[joint] for joint in joints], axis=1)
    turned = at_phase(own, table, since)
    return {joint: turned[:, k] for k, joint in enumerate(joints)}


def _plan_rows(plan: FootPlan, rows: Ints) -> FootPlan:
    return FootPlan(
        plan.animal,
        _moments(plan.state, rows),
        plan.toe_m[rows],
        plan.heading_rad[rows],
        plan.normal[rows],
        plan.rolled_rad[rows],
        plan.hangs[rows],
        plan.landing_rad[rows],
    )


def back_rows(back: BackPose, here: slice | Ints) -> BackPose:
    """Take some moments out of the back."""
    return replace(
        back,
        turns_rad=back.turns_rad[here],
        pelvis_roll_rad=back.pelvis_roll_rad[here],
        chest_in_pelvis=back.chest_in_pelvis[here],
        chest_joint_m=back.chest_joint_m[here],
        link_m=back.link_m[here],
    )


def trunk_rows(trunk: Trunk, here: slice | Ints) -> Trunk:
    """Take some moments out of the trunk."""
    back = back_rows(trunk.back, here)
    return Trunk(trunk.root_m[here], trunk.pelvis[here], back)


def looking(timeline: Timeline, path: Path, frames: Frames, grid: Grid) -> Array:
    """Turn of head and neck to where the path goes, against the chest, (samples,). [rad]"""
    animal = timeline.cycles[0].animal
    standing = standing_positions_m(animal)
    here = path.distance_m(grid.time_s) + standing[animal.limb("fore").top, 0]
    ahead = LOOK_BODIES * animal.withers_height_m + LOOK_S * frames.speed_m_s
    plain = path.unspun
    there = plain.at(here + ahead)[1]
    most = LOOK_SHARE * float(animal.ranges_rad[list(animal.neck), 2, 1].sum()) if animal.neck else 0.0
    wanted = there - plain.at(here)[1]
    if path.spins:
        wanted = wanted + path.turned_rad(grid.time_s + LOOK_ROUND_S) - path.turned_rad(grid.time_s)
    return np.asarray(most * np.tanh(wanted / most)) if most > 0.0 else np.zeros(grid.count)


def kept_level(timeline: Timeline, turns: dict[int, Array], slope_rad: Array) -> dict[int, Array]:
    """Pitch the neck against the slope that the trunk follows: head low uphill, high downhill (from memory).

    Parameters
    ----------
    timeline, turns
        The shot, and how far each hanging joint is turned.
    slope_rad
        (samples,) of the ground under the body, positive where it climbs. [rad]
    """
    animal = timeline.cycles[0].animal
    if not animal.neck or np.abs(slope_rad).max() < 1e-9:
        return turns
    joint = animal.neck[0]
    added = np.zeros((slope_rad.size, 3))
    added[:, 0] = -LEVEL_SHARE * slope_rad
    return {**turns, joint: turns.get(joint, np.zeros_like(added)) + added}


def look_along(timeline: Timeline, turns: dict[int, Array], wanted_rad: Array) -> dict[int, Array]:
    """Share a turn of the head out over the joints of the neck, each as wide as its range."""
    animal = timeline.cycles[0].animal
    neck = list(animal.neck)
    if not neck:
        return turns
    width = animal.ranges_rad[neck, 2, 1]
    turned = dict(turns)
    for joint, own in zip(neck, width / width.sum(), strict=True):
        added = np.zeros((wanted_rad.size, 3))
        added[:, 2] = own * wanted_rad
        turned[joint] = turned.get(joint, np.zeros_like(added)) + added
    return turned
