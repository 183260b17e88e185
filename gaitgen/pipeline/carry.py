"""Steps, body, feet: how an animal is carried over its course, before its legs are solved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.body.body import Body, move_body, swayed
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps
from gaitgen.gait.style import Style
from gaitgen.limbs.braking import earlier_by
from gaitgen.limbs.foot_path import FootPlan, plan_feet
from gaitgen.limbs.given import Given, given_by_law
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Lift and fold of the swinging legs in a walk on the spot, against a full walk (estimate).
LEAST_LIFT_SHARE = 0.55
RUNS_LEAST = 1e-6  # an end of the body that runs less than this walks


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
    most_rise_m
        How far the trunk may be raised where legs have room to spare. [m]
    held
        (samples, 2) heights at which chest and hips are held, how far they are, and (samples,) how far the
        body leaps, as in Wanted; None for not at all. [m]
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
    most_rise_m: float = 0.0
    held: tuple[Array, Array, Array] | None = None


@dataclass(frozen=True, eq=False)
class Carried:
    """The body on its feet, before the legs are solved.

    Attributes
    ----------
    body, plan, given
        What the body does; where the feet are; what load and swing do to the joints.
    lift
        Factor on the lift and fold of each foot, (4,) or (samples, 4).
    """

    body: Body
    plan: FootPlan
    given: Given
    lift: Array | float = 1.0

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


def carry(
    course: Course,
    style: Style,
    besides: Array | None = None,
    before: Carried | None = None,
    ahead_m: Array | None = None,
    *,
    is_reheld: bool = False,
) -> Carried:
    """Find the forces, move the body over its steps, and lead the feet from step to step.

    ``besides`` (samples, 6) is what limbs and hanging parts need beside the body; ``before`` is what was
    carried over the same course in the same style without that, or with each foot ``ahead_m`` (4,) farther
    back on a straight path, or held at other heights. [m]
    """
    known = None if before is None else before.body
    body = body_over(course, style, besides, known, ahead_m, is_reheld=is_reheld)
    if before is None:
        return on_feet(course, style, body)
    plan = before.plan if ahead_m is None else before.plan.farther(body.state, ahead_m)
    return Carried(body, plan, _given(course, style, body, plan, before.given), before.lift)


def body_over(
    course: Course,
    style: Style,
    besides: Array | None = None,
    before: Body | None = None,
    ahead_m: Array | None = None,
    *,
    is_reheld: bool = False,
) -> Body:
    """Find the forces and move the body, as `carry` does, without a look at how its feet swing."""
    return move_body(
        course.animal,
        course.steps,
        course.path,
        course.ground,
        course.grid,
        bounce=style.bounce,
        sway=style.sway,
        settle_strides=course.settle_strides,
        besides=besides,
        load=style.legs.load,
        before=before,
        ahead_m=ahead_m,
        held=course.held,
        is_reheld=is_reheld,
    )


def on_feet(course: Course, style: Style, body: Body) -> Carried:
    """Lead the feet of a body that is known from step to step.

    Of a style only bounce, sway, reach and load move the body; the feet go in the whole of it.
    """
    lift, earlier = _lift(course, style, body), earlier_by(course.steps)
    plan = plan_feet(course.animal, body.state, lift=lift, least_step=course.least_step, earlier=earlier)
    return Carried(body, plan, _given(course, style, body, plan, None), lift)


def with_sway(course: Course, style: Style, carried: Carried) -> Carried:
    """Sway a body that was carried in a style but for its sway; nothing else of it changes."""
    body = swayed(course.animal, course.grid, carried.body, bounce=style.bounce, sway=style.sway)
    given = _given(course, style, body, carried.plan, carried.given)
    return replace(carried, body=body, given=given)


def _lift(course: Course, style: Style, body: Body) -> Array:
    """Return the factor on the lift and fold of each foot, (4,) or (samples, 4)."""
    lift = style.lift * lift_share(course) * np.array(style.legs.lift)
    return lift if course.lift is None else lift * course.lift[body.state.stance % course.lift.size]


def _given(course: Course, style: Style, body: Body, plan: FootPlan, before: Given | None) -> Given:
    """Say what the laws of the limbs make of the loads."""
    return given_by_law(
        course.animal,
        plan,
        course.grid,
        body.balance.force_n[..., 2],
        body.back,
        lift=_lift(course, style, body),
        weight=style.weight * np.array(style.legs.weight),
        bounce=style.bounce,
        before=before,
    )


def lift_share(course: Course) -> float:
    """Share of a full walk's lift and fold that short steps ask for."""
    steps, grid = course.steps, course.grid
    down_s = float(np.mean(np.minimum(steps.liftoff_s - steps.touchdown_s, grid.span_s)))
    stance_m = float(np.mean(course.path.distance_m(grid.time_s, 1))) * down_s
    full_m = course.animal.tempo.stance_distance_m
    share = min(1.0, max(stance_m / full_m, course.least_step))
    return LEAST_LIFT_SHARE + (1.0 - LEAST_LIFT_SHARE) * share
