"""The order of the stages: steps, body, feet, limbs, what hangs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.body import Body
from gaitgen.body.trunk import Trunk
from gaitgen.errors import Notice
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.hanging.followers import Hung, hang
from gaitgen.limbs.legs import LegPoses
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.carry import Carried, Course, carry, with_sway
from gaitgen.pipeline.departure import departure
from gaitgen.pipeline.on_legs import Drop, on_legs

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int64]

# What limbs and hanging parts need beside the body is carried again until little of it changes.
CARRYING_ROUNDS, RUN_ROUNDS = 1, 3
SIDEWAYS = [1, 3, 5]  # what is needed to the left, in roll and in yaw


@dataclass(frozen=True, eq=False)
class Begun:
    """A body on its feet, and the legs that reach these: all that comes before anything hangs or sways.

    Attributes
    ----------
    carried, trunk, legs
        The stages.
    drop_m
        How far chest and hips were lowered for the legs to reach. [m]
    """

    carried: Carried
    trunk: Trunk
    legs: LegPoses
    drop_m: Drop


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


def begin(course: Course, carried: Carried) -> Begun:
    """Lower a body that is carried over its course, without sway, until its legs reach."""
    return Begun(carried, *on_legs(course, carried))


def solve_motion(
    course: Course,
    style: Style,
    breath_turns: Array | None = None,
    *,
    begun: Begun | None = None,
) -> Solved:
    """Move one animal over its steps, with or without a period.

    Solved again with what limbs and hanging parts need beside a stiff body: once at a walk, RUN_ROUNDS times
    at a run. All this is done without the style's sway, which is laid over the body in the end.

    Parameters
    ----------
    course
        The animal, its steps, path, ground and moments.
    style
        Style factors.
    breath_turns
        (samples,) breaths taken since the start; None leaves out whatever hangs.
    begun
        How it begins, if that is known already.
    """
    plain = replace(style, sway=1.0)
    begun = begun or begin(course, carry(course, plain))
    carried, trunk, legs, drop = begun.carried, begun.trunk, begun.legs, begun.drop_m
    hanging = _Hanging.of(course, style, breath_turns, carried)
    needs: Array | None = None
    for _ in range(RUN_ROUNDS if carried.is_run else CARRYING_ROUNDS):
        needs = _needs(course, carried, trunk, legs, hanging, needs)
        if needs is None:
            break
        carried = carry(course, plain, needs, carried)
        trunk, legs, drop = on_legs(course, carried, legs)
    if style.sway != plain.sway:
        carried = with_sway(course, style, carried)
        trunk, legs, drop = on_legs(course, carried, legs)
    return Solved(course, carried.body, trunk, legs, hanging.on(trunk), drop)


def solve_body(course: Course, style: Style, breath_turns: Array, rounds: int) -> Body:
    """Move the body alone, in so many rounds of `solve_motion`: limbs are posed only for what they need."""
    carried = carry(course, style)
    hanging = _Hanging.of(course, style, breath_turns, carried)
    legs: LegPoses | None = None
    needs: Array | None = None
    for _ in range(rounds):
        trunk, legs, _ = on_legs(course, carried, legs)
        needs = _needs(course, carried, trunk, legs, hanging, needs)
        if needs is None:
            break
        carried = carry(course, style, needs, carried)
    return carried.body


@dataclass(frozen=True, eq=False)
class _Hanging:
    """What hangs in one stretch of motion: all of it in a style, after any trunk.

    ``spared_n`` (samples,) is what the forelegs are spared of their load. [N]
    """

    course: Course
    style: Style
    breath_turns: Array | None
    spared_n: Array

    @classmethod
    def of(cls, course: Course, style: Style, breath_turns: Array | None, carried: Carried) -> _Hanging:
        weight = course.animal.body_mass_kg * GRAVITY_M_S2
        return cls(course, style, breath_turns, carried.body.footing.spared[:, 0] * weight)

    def on(self, trunk: Trunk, *, weighed_only: bool = False) -> Hung | None:
        """Hang it on a trunk, or of it only what the body feels; None without breaths."""
        if self.breath_turns is None:
            return None
        count = self.course.grid.count if self.course.is_reversed else 0
        made = hang(
            self.course.animal,
            in_reverse(trunk, count),
            self.course.grid,
            self.breath_turns,
            nod=self.style.nod,
            overlap=self.style.overlap,
            spared_n=in_reverse(self.spared_n, count) if self.spared_n.any() else None,
            weighed_only=weighed_only,
        )
        return in_reverse(made, count)


def _needs(
    course: Course,
    carried: Carried,
    trunk: Trunk,
    legs: LegPoses,
    hanging: _Hanging,
    before: Array | None,
) -> Array | None:
    """Return what limbs and hanging parts need beside the body, (samples, 6); None where no leg is posed.

    ``before`` is what they needed in the round before.
    """
    if not np.all(np.isfinite(legs.turn_rad)):
        turn_rad = legs.turn_rad if course.grid.is_periodic else filled(legs.turn_rad)
        if not np.all(np.isfinite(turn_rad)):
            return None
        legs = replace(legs, turn_rad=turn_rad)
    hung = hanging.on(trunk, weighed_only=True)
    more = departure(course.animal, course.grid, carried.body.stiff, trunk, legs, hung)
    return more if before is None else half_way(more, before)


def half_way(needs: Array, before: Array) -> Array:
    """Go half of the way to other needs, (samples, 6), to the sides: whole, legs would overshoot.

    Standing legs answer a body that rolls with as much again.
    """
    more = needs.copy()
    more[:, SIDEWAYS] = (needs[:, SIDEWAYS] + before[:, SIDEWAYS]) / 2.0
    return more


def filled(turn_rad: Array) -> Array:
    """Let legs that reach nothing for some moments, (samples, 4, bones), go over these from pose to pose."""
    filled, time = turn_rad.copy(), np.arange(turn_rad.shape[0])
    for limb in range(turn_rad.shape[1]):
        known = np.isfinite(turn_rad[:, limb]).all(axis=1)
        if known.any() and not known.all():
            for bone in range(turn_rad.shape[2]):
                filled[~known, limb, bone] = np.interp(time[~known], time[known], turn_rad[known, limb, bone])
    return filled
