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
from gaitgen.pipeline.carry import Carried, Course, carry
from gaitgen.pipeline.departure import departure
from gaitgen.pipeline.on_legs import Drop, on_legs

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int64]

# What limbs and hanging parts need beside the body is carried again until little of it changes.
CARRYING_ROUNDS, RUN_ROUNDS = 1, 3
SIDEWAYS = [1, 3, 5]  # what is needed to the left, in roll and in yaw


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

    trunk, legs, drop = on_legs(course, carried)
    usual = RUN_ROUNDS if carried.is_run else CARRYING_ROUNDS
    needs: Array | None = None
    for _ in range(usual if rounds is None else rounds):
        if not np.all(np.isfinite(legs.turn_rad)):
            turn_rad = legs.turn_rad if grid.is_periodic else _filled(legs.turn_rad)
            if not np.all(np.isfinite(turn_rad)):
                break
            legs = replace(legs, turn_rad=turn_rad)
        more = departure(animal, grid, carried.body, trunk, legs, hung(trunk, weighed_only=True))
        if (
            needs is not None
        ):  # half of the way: standing legs would answer a body that rolls with as much again
            more[:, SIDEWAYS] = (more[:, SIDEWAYS] + needs[:, SIDEWAYS]) / 2.0
        needs = more
        carried = carry(course, style, needs, carried)
        trunk, legs, drop = on_legs(course, carried, legs)
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
