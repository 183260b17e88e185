"""Try one style: its motion, and how far it is beyond what joints and trunk may do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.gait.leg_factors import LegFactors
from gaitgen.gait.style import Style
from gaitgen.hanging.breathing import breath_turns
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.carry import Course, on_feet
from gaitgen.pipeline.placed import Placed
from gaitgen.pipeline.placing import most_drop_m, place_feet
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.solve import Begun, Solved, begin, solve_motion

Array = npt.NDArray[np.float64]

# Beyond what the plain motion sinks, if that is as far as it may, a style may sink so much (withers heights).
STYLE_DROP_SHARE = 0.01
# Beyond a range by less than this is rounding.
ROUNDED_RAD = 1e-9


@dataclass(frozen=True, eq=False)
class Tried:
    """One style, its motion, and how far it is beyond what may be: above zero is too far.

    Attributes
    ----------
    excess
        (1 + joints x 3,) of the sinking trunk [m], then of every joint's pitch, roll and yaw [rad]; all
        infinite where a leg does not reach at all.
    """

    style: Style
    placed: Placed
    solved: Solved
    rotations: Array
    turned_rad: Array
    excess: Array

    @property
    def sunk_share(self) -> float:
        """How far the trunk sinks at the more lowered end, in withers heights."""
        return float(max(self.solved.drop_m)) / self.placed.course.animal.withers_height_m

    @property
    def fault(self) -> str | None:
        """Name the joint that is farthest outside its range, or what else is wrong, if anything is."""
        if not np.isfinite(self.excess).all():
            return "a leg cannot fold or stretch that far"
        sunk, turned = self.excess[0], self.excess[1:].reshape(-1, 3)
        if sunk > 0.0:
            return f"the trunk would have to sink by {self.sunk_share:.1%} of the withers height"
        row, axis = np.unravel_index(int(np.argmax(turned)), turned.shape)
        if turned[row, axis] <= 0.0:
            return None
        name, amount = self.placed.course.animal.joint_names[row], float(np.degrees(turned[row, axis]))
        return f"{name} would {('pitch', 'roll', 'yaw')[axis]} {amount:.1f} degrees past its range"


@dataclass(frozen=True, eq=False)
class Trial:
    """Tries styles; places the feet anew only where the style moves them.

    Of the style only bounce, reach and load count where the feet are placed: they are placed for a plain
    walk, and the rest of the style has to fit it. ``plain`` is the motion without style, once it is known:
    what it does is allowed.
    """

    settled: Settled
    plain: Tried | None = None

    def run(self, style: Style) -> Tried:
        """Try one style."""
        animal = self.settled.animal
        with np.errstate(invalid="ignore"):
            placed = place_feet(self.settled, _of_feet(style))
            course: Course = placed.course
            begun = _begun(self.settled.with_style(replace(style, sway=1.0, nod=1.0, overlap=1.0)))
            gait, stride_s = self.settled.gait, placed.timing.frames / self.settled.request.frame_rate_hz
            breaths = breath_turns(
                animal, course.grid, course.steps, stride_s, is_coupled=gait.has_lead, walks=gait.walks
            )
            solved = solve_motion(course, style, breaths, begun=begun)
            if gait.is_backward:
                placed, last = placed.in_reverse(self.settled.request.first_foot)
                solved = in_reverse(replace(solved, course=placed.course), course.grid.count, last)
            rows = np.arange(placed.loop_frames) * placed.per_frame
            rotations = solved.local_rotations(rows)
            turned = pitch_roll_yaw_rad(rotations)
        return self.judged(Tried(style, placed, solved, rotations, turned, np.zeros(0)))

    def again(self, style: Style) -> Tried:
        """Try one style that was perhaps tried for another request."""
        return self.judged(once(self.settled.with_style(style)))

    def judged(self, tried: Tried) -> Tried:
        """Say how far a motion is beyond ranges, and beyond what the plain one does."""
        animal, solved, plain = self.settled.animal, tried.solved, self.plain
        if not np.all(np.isfinite(solved.legs.turn_rad)):
            return replace(tried, excess=np.full(1 + animal.ranges_rad[..., 0].size, np.inf))
        sunk = most_drop_m(animal, tried.placed.timing) + 1e-3
        least, most = animal.ranges_rad[..., 0], animal.ranges_rad[..., 1]
        if plain is not None and np.all(np.isfinite(plain.rotations)):
            sunk = max(sunk, max(plain.solved.drop_m) + STYLE_DROP_SHARE * animal.withers_height_m)
            own = plain.turned_rad
            least, most = np.minimum(least, own.min(axis=0)), np.maximum(most, own.max(axis=0))
        turns = tried.turned_rad
        # Rounded, so that of left and right that are as far out it is the left that is told.
        beyond = np.round(np.maximum(least - turns.min(axis=0), turns.max(axis=0) - most), 9)
        excess = np.append(max(solved.drop_m) - sunk, beyond.ravel() - ROUNDED_RAD)
        return replace(tried, excess=excess)


@lru_cache(maxsize=8)
def once(settled: Settled) -> Tried:
    """Try the style of a request; kept for the next ones, which often ask for a little more or less."""
    return Trial(settled).run(settled.request.style)


@lru_cache(maxsize=8)
def _begun(settled: Settled) -> Begun:
    """Begin a motion in a style without what hangs and sways; kept for those that differ in it alone."""
    style, plain = settled.request.style, _of_feet(settled.request.style)
    placed = place_feet(settled, plain)
    carried = placed.carried if style == plain else on_feet(placed.course, style, placed.carried.body)
    return begin(placed.course, carried)


def _of_feet(style: Style) -> Style:
    """Return what of a style counts where the feet are placed."""
    legs = LegFactors(reach=style.legs.reach, load=style.legs.load)
    return Style(bounce=style.bounce, reach=style.reach, legs=legs)
