"""Lowers the trunk until the legs reach their feet, raises those that may come up, and solves the legs."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import Trunk, posed_trunk
from gaitgen.course.steps import along
from gaitgen.limbs.foot_path import FootPlan
from gaitgen.limbs.given import Given
from gaitgen.limbs.leg_swing import carried_joints_m, carries, off_ground_m
from gaitgen.limbs.legs import Aimed, LegPoses, aim_legs, solve_legs, too_near, within_reach_m
from gaitgen.limbs.reach import reach_for, reach_from, tops_m
from gaitgen.limbs.tuck import Tuck
from gaitgen.numerics.curves import envelope
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline.carry import Carried, Course

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Drop = tuple[float, float]  # of chest and hips [m]
Drops = tuple[float | Array, float | Array]  # the same at each moment, (samples,) [m]

TUCK_ROUNDS = 5  # how often a foot comes up to its leg by what is still missed
DROP_ROUNDS = 5  # the reach of a leg depends a little on how far its end has sunk
# Without a period the trunk is lowered where legs ask for it, and so long before and after.
LOCAL_DROP_S = 0.6
CARRY_ROUNDS = 3  # feet hang from legs that carry them, and these reach for the joints of the feet
ROOM_M = 1e-4  # left under the reach of a leg
# A foot swings so much lower for a leg that cannot fold to it, in lengths of the leg (estimate).
MOST_UNFOLDED = 0.05


def shortfall_m(course: Course, carried: Carried, drop_m: Drops, forward_m: Array | None = None) -> Array:
    """Say how much lower the top of each limb must come at each moment: (samples, 4). [m]

    ``forward_m`` (4,) tries the feet this much farther ahead, in LIMBS order. [m]
    """
    trunk = posed_trunk(course.animal, carried.body.ends.lowered(*drop_m), carried.body.back)
    feet = carried.plan.rolling
    feet_m = feet.joints_m
    if forward_m is not None:
        feet_m = feet_m + along(forward_m)
    return reach_for(trunk, feet_m, feet.goes, carried.given).shortfall_m


def more_drop(drop_m: Drops, shortfall: Array, most_rise_m: float = 0.0) -> Drop:
    """Lower each end of the trunk by what its legs miss, or raise it, at the most so far over standing."""
    left_fore, right_fore, left_hind, right_hind = shortfall.max(axis=0).tolist()
    fore, hind = max(left_fore, right_fore), max(left_hind, right_hind)
    if not (np.isfinite(fore) and np.isfinite(hind)):  # so far away that the trunk itself cannot be placed
        return np.inf, np.inf
    return max(-most_rise_m, float(drop_m[0]) + fore), max(-most_rise_m, float(drop_m[1]) + hind)


def local_drop(grid: Grid, drop_m: Drops, shortfall: Array, most_rise_m: float = 0.0) -> Drops:
    """Lower each end of the trunk as `more_drop`, at each moment by what its legs miss around it."""
    needed = np.stack(np.broadcast_arrays(*drop_m), axis=-1) + shortfall.reshape(-1, 2, 2).max(axis=2)
    radius = max(2, round(LOCAL_DROP_S / grid.step_s))
    over = envelope(np.maximum(needed, -most_rise_m), radius)
    return over[:, 0], over[:, 1]


def on_legs(course: Course, carried: Carried, near: LegPoses | None = None) -> tuple[Trunk, LegPoses, Drop]:
    """Lower the trunk for the legs to reach, and solve them; ``near`` are legs near those to be found."""
    animal, given = course.animal, carried.given
    near_rad = None if near is None else near.unknown_rad
    drop: Drops = (0.0, 0.0)
    for _ in range(DROP_ROUNDS):
        short = np.where(carried.to_reach, shortfall_m(course, carried, drop), -1.0)
        lower = _lower(course, drop, short)
        settled = max(np.abs(lower[0] - drop[0]).max(), np.abs(lower[1] - drop[1]).max()) < ROOM_M
        drop = lower
        if settled:
            break
    plan = _tucked(course, carried, drop, near) if carried.is_run else carried.plan
    for _ in range(DROP_ROUNDS):
        drop = drop[0] + ROOM_M, drop[1] + ROOM_M
        trunk = posed_trunk(animal, carried.body.ends.lowered(*drop), carried.body.back)
        aimed = aim_legs(animal, trunk, plan, given, near_rad)
        near_rad = aimed.near_rad
        short = np.where(carried.to_reach, aimed.reach.shortfall_m, -1.0)
        if short.max() <= 0.0:
            break
        # Feet that hang reach for the ground a little farther than feet that roll.
        more = _lower(course, drop, short)
        drop = np.maximum(drop[0], more[0]), np.maximum(drop[1], more[1])
    may_miss = ~carried.to_reach if carried.is_run else None
    state = carried.body.state
    legs = solve_legs(animal, aimed, given, state.swing_share, may_miss)
    if not (carried.is_run or np.isfinite(legs.turn_rad).all()):
        folds = too_near(_nearly_folded(aimed, given), state.liftoff_s, ~state.planted)
        legs = solve_legs(animal, aimed, given, state.swing_share, may_miss, folds)
    return trunk, legs, (float(np.max(drop[0])), float(np.max(drop[1])))


def _nearly_folded(aimed: Aimed, given: Given) -> Bools:
    """Tell where a leg would fold a little shorter than it can, (samples, 4)."""
    lacks_m = given.laid.shortest_m - np.abs(aimed.reach.target_m)
    return (lacks_m > 0.0) & (lacks_m < MOST_UNFOLDED * given.laid.longest_m)


def _lower(course: Course, drop_m: Drops, shortfall: Array) -> Drops:
    if course.grid.is_periodic:
        return more_drop(drop_m, shortfall, course.most_rise_m)
    return local_drop(course.grid, drop_m, shortfall, course.most_rise_m)


def _tucked(course: Course, carried: Carried, drop_m: Drops, near: LegPoses | None) -> FootPlan:
    """Raise the swinging feet of a run to their legs; they hang as they do from ``near``, if that is known.

    Several times over: what is missed where a swing begins and ends is made up for by a part each time.
    """
    animal, given, plan = course.animal, carried.given, carried.plan
    legs_m = standing_positions_m(animal)[[limb.top for limb in animal.limbs], 2]
    tuck = Tuck.of(plan.state, carried.runs, legs_m, is_periodic=course.grid.is_periodic)
    trunk = posed_trunk(animal, carried.body.ends.lowered(*drop_m), carried.body.back)
    feet, top_m = plan.rolling, tops_m(trunk, given)
    for turn in range(TUCK_ROUNDS):
        short = reach_from(top_m, plan.toe_m + feet.arms_m, feet.goes, given).shortfall_m
        if turn > 0 and short.max() <= ROOM_M:
            break
        plan = plan.raised(tuck.raise_m(short))
        if turn == 0:
            feet = aim_legs(animal, trunk, plan, given).feet if near is None else near.feet
    how_far = carries(animal, carried.runs)
    near_rad = None if near is None else near.unknown_rad
    return plan if not how_far.any() else _carried_by_legs(course, carried, plan, trunk, how_far, near_rad)


def _carried_by_legs(
    course: Course, carried: Carried, plan: FootPlan, trunk: Trunk, how_far: Array, near_rad: Array | None
) -> FootPlan:
    """Move swinging feet, as far as each is carried (samples, 4), to where their running legs carry them."""
    animal, given, state = course.animal, carried.given, plan.state
    top_m, swings = tops_m(trunk, given), (how_far * ~state.planted)[..., None]
    wanted = carried_joints_m(carried.plan, course.grid, top_m, given, carried.lift)
    reach = reach_from(top_m, wanted, plan.goes, given)
    wanted = within_reach_m(wanted, reach, given, state.swing_share)
    for _ in range(CARRY_ROUNDS):
        aimed = aim_legs(animal, trunk, plan, given, near_rad)
        near_rad = aimed.near_rad
        plan = plan.moved(swings * (wanted - aimed.feet.joints_m))
    return plan.raised(swings[..., 0] * off_ground_m(plan, plan.toe_m))
