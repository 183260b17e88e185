"""Hold a style back as far as the joints of the animal ask for it, and say so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import islice

import numpy as np
import numpy.typing as npt

from gaitgen.errors import GaitgenError, Notice
from gaitgen.gait.leg_factors import LegFactors
from gaitgen.gait.style import Style, factor_limits
from gaitgen.hanging.breathing import breath_turns
from gaitgen.numerics.rotations import pitch_roll_yaw_rad, quaternion_from_matrix
from gaitgen.numerics.search import farthest
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.carry import Carried, Course, on_feet
from gaitgen.pipeline.placed import Placed
from gaitgen.pipeline.placing import most_drop_m, place_feet
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.solve import Solved, solve_motion

Array = npt.NDArray[np.float64]

# A style is held back in so many steps from the plain one.
STEPS = 64
# So many factors, at the most, are tried as the one to hold back.
MOST_BLAMED = 2
# A factor that alone is at fault is held on such a step from 1, looked for up to the next of the wide ones
# beyond what was asked: what is asked between two of those is held alike, and looked for once.
HELD_STEP, WIDE_STEP = 0.01, 0.25
# A factor that is nearer than this to what was asked is not worth a word.
HELD_LEAST = 0.005
# Beyond what the plain motion sinks, if that is as far as it may, a style may sink so much (withers heights).
STYLE_DROP_SHARE = 0.01
# Beyond a range by less than this is rounding.
ROUNDED_RAD = 1e-9


@dataclass(frozen=True, eq=False)
class Tempered:
    """A motion that keeps every joint in its range as far as can be.

    Attributes
    ----------
    style
        What is left of the style that was asked for.
    placed, solved
        Its steps and its motion.
    rotations, turned_rad
        (frames, joints, 3, 3) of one stride, or of all that differ, and (frames, joints, 3) their pitch, roll
        and yaw.
    notices
        What was held back.
    """

    style: Style
    placed: Placed
    solved: Solved
    rotations: Array
    turned_rad: Array
    notices: tuple[Notice, ...]

    @cached_property
    def quaternions(self) -> Array:
        """(frames, joints, 4) the rotations as unit quaternions, wxyz."""
        return quaternion_from_matrix(self.rotations)


def tempered(settled: Settled) -> Tempered:
    """Solve the motion with the style asked for, or with as much of it as breaks nothing.

    What the plain motion does already is no fault of a style. A factor that is alone at fault is taken
    towards 1 until nothing breaks; if no single one is, all are, and those that do no harm come back.

    Raises
    ------
    GaitgenError
        If the request or the gait is not usable.
    """
    asked = settled.request.style
    trial = _Trial(settled)
    first = trial.run(asked)
    if first.fault is None:
        return first.tempered(())
    if asked == Style():
        return first.tempered((Notice("range", _said_plainly(first)),))
    plain = _once(settled.with_style(Style()))
    blame = () if plain.fault is None else (Notice("range", f"{plain.fault} even in the plain motion."),)
    trial = replace(trial, plain=plain)
    first = trial.judged(first)
    if first.fault is None:
        return first.tempered(blame)
    best = _held(trial, first)
    held = [
        f"{name} {best.style.named()[name]:.2f} instead of {value:.3g}"
        for name, value in asked.named().items()
        if abs(best.style.named()[name] - value) > HELD_LEAST
    ]
    text = f"only part of the style is applied: {', '.join(held)}; with more, {first.fault}."
    return best.tempered((Notice("style", text), *blame))


def _said_plainly(first: _Tried) -> str:
    """Say what a motion without style asks too much of, and what asks for less."""
    if np.isfinite(first.excess).all() and first.excess[0] > 0.0:
        return (
            f"the trunk sinks by {first.sunk_share:.1%} of the withers height so that the legs reach, more "
            "than looks natural on most animals; shorter steps (a reach of 0.8) keep it higher."
        )
    return f"{first.fault}: the animal is asked for more than its joints allow at this length and speed."


@lru_cache(maxsize=8)
def _once(settled: Settled) -> _Tried:
    """Try the style of a request; kept for the next ones, which often ask for a little more or less."""
    return _Trial(settled).run(settled.request.style)


def _held(trial: _Trial, first: _Tried) -> _Tried:
    """Hold back what breaks: one factor alone if that mends it, or else all, as little as can be."""
    asked = first.style
    changed = [name for name, value in asked.named().items() if value != 1.0]
    without = ((name, trial.again(asked.changed(name, 1.0))) for name in changed)
    mended = islice(((name, each) for name, each in without if each.fault is None), MOST_BLAMED)
    tried = [_held_alone(trial, name, safe, first) for name, safe in mended]
    if tried:
        return max(tried, key=lambda each: _kept(each.style, asked))
    best = _as_far_as_can_be(trial, trial.again(Style()), first)
    for name in changed:  # what is not at fault comes back
        again = trial.run(best.style.changed(name, asked.named()[name]))
        best = again if again.fault is None else best
    return best


def _held_alone(trial: _Trial, name: str, safe: _Tried, asked: _Tried) -> _Tried:
    """Hold one factor back, which ``safe`` is without, to where it begins to break something."""
    wanted, (least, most) = asked.style.named()[name], factor_limits(name)
    wide = WIDE_STEP if wanted > 1.0 else -WIDE_STEP
    end = min(max(1.0 + wide * math.ceil((wanted - 1.0) / wide), least), most)
    limit = _limit(trial.settled.with_style(safe.style), name, end)
    if limit is None or abs(limit.style.named()[name] - 1.0) >= abs(wanted - 1.0):
        return _as_far_as_can_be(trial, safe, asked)
    return limit


@lru_cache(maxsize=4)
def _limit(settled: Settled, name: str, end: float) -> _Tried | None:
    """Find how far one factor can be taken towards an end; None where that end is not too far.

    Kept for the next requests: while a slider is drawn beyond it, the answer is the same.
    """
    plain = settled.with_style(Style())
    trial = _Trial(settled, _once(plain))
    step, steps = math.copysign(HELD_STEP, end - 1.0), round(abs(end - 1.0) / HELD_STEP)

    def at(number: int) -> _Tried:
        return trial.again(settled.request.style.changed(name, 1.0 + number * step))

    try:
        if settled != plain and (alone := _limit(plain, name, end)):  # other factors seldom move the limit
            number = round((alone.style.named()[name] - 1.0) / step)
            if at(number).fault is None and at(number + 1).fault is not None:
                return at(number)
        beyond = at(steps)
    except GaitgenError:  # what is asked for is nearer, and can be tried
        return None
    return None if beyond.fault is None else farthest(at(0), beyond, steps, at, lambda tried: tried.excess)


def _as_far_as_can_be(trial: _Trial, safe: _Tried, asked: _Tried) -> _Tried:
    """Go from a style that works towards the one asked for."""

    def at(step: int) -> _Tried:
        return trial.run(_between(safe.style, asked.style, step / STEPS))

    return farthest(safe, asked, STEPS, at, lambda tried: tried.excess)


def _kept(style: Style, asked: Style) -> float:
    """Say how much of a style is kept: the least share over its factors."""
    left = style.named()
    wanted = {name: value for name, value in asked.named().items() if value != 1.0}
    return min(((left[name] - 1.0) / (value - 1.0) for name, value in wanted.items()), default=1.0)


def _between(safe: Style, asked: Style, share: float) -> Style:
    wanted = asked.named()
    return Style.of(
        {name: (1.0 - share) * value + share * wanted[name] for name, value in safe.named().items()}
    )


@dataclass(frozen=True, eq=False)
class _Tried:
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

    def tempered(self, notices: tuple[Notice, ...]) -> Tempered:
        return Tempered(self.style, self.placed, self.solved, self.rotations, self.turned_rad, notices)


def _carried(placed: Placed, style: Style, plain: Style) -> Carried:
    """Carry the body in a style over feet that were placed for less of it; what is the same is taken over."""
    rigid = replace(style, nod=1.0, overlap=1.0)  # what hangs moves neither feet nor forces here
    if rigid == plain:
        return placed.carried
    return on_feet(placed.course, style, placed.carried.body)


@dataclass(frozen=True, eq=False)
class _Trial:
    """Tries styles; places the feet anew only where the style moves them.

    Of the style only bounce, reach and load count where the feet are placed: they are placed for a plain
    walk, and the rest of the style has to fit it. ``plain`` is the motion without style, once it is known:
    what it does is allowed.
    """

    settled: Settled
    plain: _Tried | None = None

    def run(self, style: Style) -> _Tried:
        """Try one style."""
        animal = self.settled.animal
        legs = LegFactors(reach=style.legs.reach, load=style.legs.load)
        plain = Style(bounce=style.bounce, reach=style.reach, legs=legs)
        with np.errstate(invalid="ignore"):
            placed = place_feet(self.settled, plain)
            course: Course = placed.course
            carried = _carried(placed, style, plain)
            gait, stride_s = self.settled.gait, placed.timing.frames / self.settled.request.frame_rate_hz
            breaths = breath_turns(
                animal, course.grid, course.steps, stride_s, is_coupled=gait.has_lead, walks=gait.walks
            )
            solved = solve_motion(course, style, breaths, carried=carried)
            if gait.is_backward:
                placed, last = placed.in_reverse(self.settled.request.first_foot)
                solved = in_reverse(replace(solved, course=placed.course), course.grid.count, last)
            rows = np.arange(placed.loop_frames) * placed.per_frame
            rotations = solved.local_rotations(rows)
            turned = pitch_roll_yaw_rad(rotations)
        return self.judged(_Tried(style, placed, solved, rotations, turned, np.zeros(0)))

    def again(self, style: Style) -> _Tried:
        """Try one style that was perhaps tried for another request."""
        return self.judged(_once(self.settled.with_style(style)))

    def judged(self, tried: _Tried) -> _Tried:
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
