"""The order of the stages: steps, body, feet, limbs, what hangs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.body import Body, move_body
from gaitgen.body.trunk import Trunk, posed_trunk
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps, along
from gaitgen.errors import Notice
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.hanging.followers import Hung, hang
from gaitgen.limbs.foot_path import FootPlan, plan_feet
from gaitgen.limbs.legs import Given, LegPoses, aim_legs, given_by_law, reach_for, solve_legs
from gaitgen.numerics.curves import envelope
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.departure import departure

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.int64]
Drop = tuple[float, float]  # of chest and hips [m]
Drops = tuple[float | Array, float | Array]  # the same at each moment, (samples,) [m]

# Lift and fold of the swinging legs in a walk on the spot, against a full walk (estimate).
LEAST_LIFT_SHARE = 0.55
TUCK_ROUNDS = 5  # how often a foot comes up to its leg by what is still missed
DROP_ROUNDS = 5  # the reach of a leg depends a little on how far its end has sunk
# What limbs and hanging parts need beside the body is carried again until little of it changes.
CARRYING_ROUNDS, RUN_ROUNDS = 1, 3
RUNS_LEAST = 1e-6
SIDEWAYS = [1, 3, 5]  # what is needed to the left, in roll and in yaw
# Without a period the trunk is lowered where legs ask for it, and so long before and after.
LOCAL_DROP_S = 0.6
ROOM_M = 1e-4  # left under the reach of a leg


@dataclass(frozen=True, eq=False)
class Course:
    """Who goes where, and when it is looked at.

    Attributes
    ----------
    animal, steps, path, ground
        The animal, its steps, the path of its body, the ground.
    grid
        Evenly spaced moments; whole periods if the steps repeat.
    settle_strides
        Share of a stride after contact at which an end is lowest at a walk; None as the animal does.
    lift
        (stances,) factor on the lift and fold of the swing after each stance; None for 1.
    is_reversed
        Whether the motion will be played in reverse, so that what hangs has to trail the other way.
    least_step
        How far feet that cover no ground are lifted, tip and hang, against a full step.
    held
        (samples, 2) heights at which chest and hips are held, and how far they are; None for not at all. [m]
    """

    animal: Animal
    steps: Steps
    path: Path
    grid: Grid
    ground: Ground = FLAT
    settle_strides: float | None = None
    lift: Array | None = None
    is_reversed: bool = False
    least_step: float = 0.0
    held: tuple[Array, Array] | None = None


@dataclass(frozen=True, eq=False)
class Carried:
    """The body on its feet, before the legs are solved.

    Attributes
    ----------
    body, plan, given
        What the body does; where the feet are; what load and swing do to the joints.
    """

    body: Body
    plan: FootPlan
    given: Given

    @cached_property
    def runs(self) -> Array:
        """(samples, 4) how far each foot's end of the body runs: 1 at a run, 0 at a walk."""
        return np.repeat(1.0 - self.body.footing.wanted.strut_share, 2, axis=1)

    @cached_property
    def to_reach(self) -> Bools:
        """(samples, 4) feet that must be reached; one that swings at a run comes up to its leg instead."""
        return self.body.state.planted | (self.runs < RUNS_LEAST)

    @cached_property
    def is_run(self) -> bool:
        """Whether any end of the body runs at any moment."""
        return bool(self.runs.max() >= RUNS_LEAST)


@dataclass(frozen=True, eq=False)
class Solved:
    """One stretch of motion on its grid, as the body sees it.

    Attributes
    ----------
    course
        What was asked.
    body, trunk, legs, hung
        The stages.
    drop_m
        How far chest and hips were lowered for the legs to reach. [m]
    """

    course: Course
    body: Body
    trunk: Trunk
    legs: LegPoses
    hung: Hung | None
    drop_m: Drop

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What had to be held back."""
        return () if self.hung is None else self.hung.notices

    def local_rotations(self, rows: Rows) -> Array:
        """Return the rotation of every joint in its parent's frame: (rows, joints, 3, 3)."""
        animal = self.course.animal
        local = np.broadcast_to(np.eye(3), (rows.size, len(animal.joint_names), 3, 3)).copy()
        parts = [self.trunk.local(animal, rows), self.legs.local(animal, self.trunk, rows)]
        if self.hung is not None:
            parts.append(self.hung.local(rows))
        for part in parts:
            for joint, rotation in part.items():
                local[:, joint] = rotation
        return local


def carry(
    course: Course,
    style: Style,
    besides: Array | None = None,
    before: Carried | None = None,
    ahead_m: Array | None = None,
) -> Carried:
    """Find the forces, move the body over its steps, and lead the feet from step to step.

    ``besides`` (samples, 6) is what limbs and hanging parts need beside the body; ``before`` is what was
    carried over the same course in the same style without that, or with each foot ``ahead_m`` (4,) farther
    back on a straight path. [m]
    """
    animal = course.animal
    body = move_body(
        animal,
        course.steps,
        course.path,
        course.ground,
        course.grid,
        bounce=style.bounce,
        sway=style.sway,
        settle_strides=course.settle_strides,
        besides=besides,
        load=style.legs.load,
        before=None if before is None else before.body,
        ahead_m=ahead_m,
        held=course.held,
    )
    lift = style.lift * lift_share(course) * np.array(style.legs.lift)
    if course.lift is not None:
        lift = lift * course.lift[body.state.stance % course.lift.size]
    if before is None:
        plan = plan_feet(animal, body.state, lift=lift, least_step=course.least_step)
    else:
        plan = before.plan if ahead_m is None else before.plan.farther(body.state, ahead_m)
    given = given_by_law(
        animal,
        plan,
        course.grid,
        body.balance.force_n[..., 2],
        body.back,
        lift=lift,
        weight=style.weight * np.array(style.legs.weight),
        bounce=style.bounce,
        before=None if before is None else before.given,
    )
    return Carried(body, plan, given)


def shortfall_m(course: Course, carried: Carried, drop_m: Drops, forward_m: Array | None = None) -> Array:
    """Say how much lower the top of each limb must come at each moment: (samples, 4). [m]

    ``forward_m`` (4,) tries the feet this much farther ahead, in LIMBS order. [m]
    """
    trunk = posed_trunk(course.animal, carried.body.ends.lowered(*drop_m), carried.body.back)
    feet = carried.plan.rolling
    feet_m = feet.joints_m
    if forward_m is not None:
        feet_m = feet_m + along(forward_m)
    return reach_for(trunk, feet_m, feet.heading_rad, carried.given).shortfall_m


def more_drop(drop_m: Drops, shortfall: Array) -> Drop:
    """Lower each end of the trunk by what its legs miss, or raise it again as far as it was lowered."""
    left_fore, right_fore, left_hind, right_hind = shortfall.max(axis=0).tolist()
    fore, hind = max(left_fore, right_fore), max(left_hind, right_hind)
    if not (np.isfinite(fore) and np.isfinite(hind)):  # so far away that the trunk itself cannot be placed
        return np.inf, np.inf
    return max(0.0, float(drop_m[0]) + fore), max(0.0, float(drop_m[1]) + hind)


def local_drop(grid: Grid, drop_m: Drops, shortfall: Array) -> Drops:
    """Lower each end of the trunk as `more_drop`, at each moment by what its legs miss around it."""
    needed = np.stack(np.broadcast_arrays(*drop_m), axis=-1) + shortfall.reshape(-1, 2, 2).max(axis=2)
    radius = max(2, round(LOCAL_DROP_S / grid.step_s))
    over = envelope(np.maximum(needed, 0.0), radius)
    return over[:, 0], over[:, 1]


def solve_motion(
    course: Course,
    style: Style,
    breath_turns: Array | None = None,
    *,
    carried: Carried | None = None,
    rounds: int | None = None,
) -> Solved:
    """Move one animal over its steps, with or without a period.

    Solved again with what limbs and hanging parts need beside a stiff body: once at a walk, RUN_ROUNDS times
    at a run.

    Parameters
    ----------
    course
        The animal, its steps, path, ground and moments.
    style
        Style factors.
    breath_turns
        (samples,) breaths taken since the start; None leaves out whatever hangs.
    carried
        The body on its feet, if it is known already.
    rounds
        How often it is solved again, where not as said above.
    """
    animal, grid = course.animal, course.grid
    carried = carried or carry(course, style)
    spared_n = carried.body.footing.spared[:, 0] * animal.body_mass_kg * GRAVITY_M_S2

    def hung(trunk: Trunk, *, weighed_only: bool) -> Hung | None:
        if breath_turns is None:
            return None
        count = grid.count if course.is_reversed else 0
        made = hang(
            animal,
            in_reverse(trunk, count),
            grid,
            breath_turns,
            nod=style.nod,
            overlap=style.overlap,
            spared_n=in_reverse(spared_n, count) if spared_n.any() else None,
            weighed_only=weighed_only,
        )
        return in_reverse(made, count)

    trunk, legs, drop = _on_legs(course, carried)
    usual = RUN_ROUNDS if carried.is_run else CARRYING_ROUNDS
    needs: Array | None = None
    for _ in range(usual if rounds is None else rounds):
        if not np.all(np.isfinite(legs.turn_rad)):
            if grid.is_periodic:
                break
            legs = replace(legs, turn_rad=_filled(legs.turn_rad))
        more = departure(animal, grid, carried.body, trunk, legs, hung(trunk, weighed_only=True))
        if (
            needs is not None
        ):  # half of the way: standing legs would answer a body that rolls with as much again
            more[:, SIDEWAYS] = (more[:, SIDEWAYS] + needs[:, SIDEWAYS]) / 2.0
        needs = more
        carried = carry(course, style, needs, carried)
        trunk, legs, drop = _on_legs(course, carried, legs)
    return Solved(course, carried.body, trunk, legs, hung(trunk, weighed_only=False), drop)


def _filled(turn_rad: Array) -> Array:
    """Let legs that reach nothing for some moments, (samples, 4, bones), go over these from pose to pose."""
    filled, time = turn_rad.copy(), np.arange(turn_rad.shape[0])
    for limb in range(turn_rad.shape[1]):
        known = np.isfinite(turn_rad[:, limb]).all(axis=1)
        if known.any() and not known.all():
            for bone in range(turn_rad.shape[2]):
                filled[~known, limb, bone] = np.interp(time[~known], time[known], turn_rad[known, limb, bone])
    return filled


def _on_legs(course: Course, carried: Carried, near: LegPoses | None = None) -> tuple[Trunk, LegPoses, Drop]:
    """Lower the trunk for the legs to reach, and solve them; ``near`` are legs near those to be found."""
    animal, given, grid = course.animal, carried.given, course.grid
    near_rad = None if near is None else near.unknown_rad
    drop: Drops = (0.0, 0.0)
    for _ in range(DROP_ROUNDS):
        short = np.where(carried.to_reach, shortfall_m(course, carried, drop), -1.0)
        lower = _lower(grid, drop, short)
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
        more = _lower(grid, drop, short)
        drop = np.maximum(drop[0], more[0]), np.maximum(drop[1], more[1])
    may_miss = ~carried.to_reach if carried.is_run else None
    legs = solve_legs(animal, aimed, given, carried.body.state.swing_share, may_miss)
    return trunk, legs, (float(np.max(drop[0])), float(np.max(drop[1])))


def _lower(grid: Grid, drop_m: Drops, shortfall: Array) -> Drops:
    if grid.is_periodic:
        return more_drop(drop_m, shortfall)
    return local_drop(grid, drop_m, shortfall)


def _tucked(course: Course, carried: Carried, drop_m: Drops, near: LegPoses | None) -> FootPlan:
    """Raise the swinging feet of a run to their legs; they hang as they do from ``near``, if that is known.

    Several times over: what is missed where a swing begins and ends is made up for by a part each time.
    """
    animal, given, plan = course.animal, carried.given, carried.plan
    tops = standing_positions_m(animal)[[limb.top for limb in animal.limbs], 2]
    trunk = posed_trunk(animal, carried.body.ends.lowered(*drop_m), carried.body.back)
    feet = plan.rolling
    for turn in range(TUCK_ROUNDS):
        short = reach_for(trunk, feet.led_along(plan).joints_m, feet.heading_rad, given).shortfall_m
        if turn > 0 and short.max() <= ROOM_M:
            break
        plan = plan.tucked(short, carried.runs, tops, is_periodic=course.grid.is_periodic)
        if turn == 0:
            feet = aim_legs(animal, trunk, plan, given).feet if near is None else near.feet
    return plan


def lift_share(course: Course) -> float:
    """Share of a full walk's lift and fold that short steps ask for."""
    steps, grid = course.steps, course.grid
    down_s = float(np.mean(np.minimum(steps.liftoff_s - steps.touchdown_s, grid.span_s)))
    stance_m = float(np.mean(course.path.distance_m(grid.time_s, 1))) * down_s
    full_m = course.animal.tempo.stance_distance_m
    share = min(1.0, max(stance_m / full_m, course.least_step))
    return LEAST_LIFT_SHARE + (1.0 - LEAST_LIFT_SHARE) * share
