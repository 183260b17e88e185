"""Hold a style back as far as the joints of the animal ask for it, and say so."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice
from gaitgen.gait.leg_factors import LegFactors
from gaitgen.gait.style import Style
from gaitgen.hanging.breathing import breath_turns
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.carry import Course, carry
from gaitgen.pipeline.placing import Placed, most_drop_m, place_feet
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.solve import Solved, solve_motion

BISECTIONS = 6
# So many factors, at the most, are tried as the one to hold back.
MOST_BLAMED = 2
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
    rotations
        (frames, joints, 3, 3) of one stride, or of all that differ.
    notices
        What was held back.
    """

    style: Style
    placed: Placed
    solved: Solved
    rotations: npt.NDArray[np.float64]
    notices: tuple[Notice, ...]


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
        text = f"{first.fault}: the animal is asked for more than its joints allow at this length and speed."
        return first.tempered((Notice("range", text),))
    plain = trial.run(Style())
    blame = () if plain.fault is None else (Notice("range", f"{plain.fault} even in the plain motion."),)
    trial = replace(trial, plain=plain)
    first = trial.run(asked)
    if first.fault is None:
        return first.tempered(blame)
    best = _held(trial, asked)
    held = [
        f"{name} {best.style.named()[name]:.2f} instead of {value:g}"
        for name, value in asked.named().items()
        if abs(best.style.named()[name] - value) > HELD_LEAST
    ]
    text = f"only part of the style is applied: {', '.join(held)}; with more, {first.fault}."
    return best.tempered((Notice("style", text), *blame))


def _held(trial: _Trial, asked: Style) -> _Tried:
    """Hold back what breaks: one factor alone if that mends it, or else all, as little as can be."""
    changed = [name for name, value in asked.named().items() if value != 1.0]
    alone = [name for name in changed if trial.run(asked.changed(name, 1.0)).fault is None]
    tried = [_bisected(trial, asked, asked.changed(name, 1.0)) for name in alone[:MOST_BLAMED]]
    if tried:
        return max(tried, key=lambda each: _kept(each.style, asked))
    best = _bisected(trial, asked, Style())
    for name in changed:  # what is not at fault comes back
        again = trial.run(best.style.changed(name, asked.named()[name]))
        best = again if again.fault is None else best
    return best


def _bisected(trial: _Trial, asked: Style, safe: Style) -> _Tried:
    """Go as far as can be from a style that works towards the one asked for."""
    best = trial.run(safe)
    low, high = 0.0, 1.0
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        tried = trial.run(_between(safe, asked, middle))
        if tried.fault is None:
            low, best = middle, tried
        else:
            high = middle
    return best


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
    """One style, its motion, and what is wrong with it."""

    style: Style
    placed: Placed
    solved: Solved
    rotations: npt.NDArray[np.float64]
    fault: str | None

    def tempered(self, notices: tuple[Notice, ...]) -> Tempered:
        return Tempered(self.style, self.placed, self.solved, self.rotations, notices)


@dataclass(frozen=True, eq=False)
class _Trial:
    """Tries styles; places the feet anew only where the style moves them.

    Of the style only bounce, reach and load count where the feet are placed: they are placed for a plain
    walk, and the rest of the style has to fit it. ``plain`` is the motion without style, if that is at fault
    too: what it does is allowed.
    """

    settled: Settled
    placed: dict[Style, Placed] = field(default_factory=dict)
    plain: _Tried | None = None

    def run(self, style: Style) -> _Tried:
        """Try one style; say what fails."""
        animal = self.settled.animal
        legs = LegFactors(reach=style.legs.reach, load=style.legs.load)
        plain = Style(bounce=style.bounce, reach=style.reach, legs=legs)
        with np.errstate(invalid="ignore"):
            if plain not in self.placed:
                self.placed[plain] = place_feet(self.settled, plain)
            placed = self.placed[plain]
            course: Course = placed.course
            rigid = replace(style, nod=1.0, overlap=1.0)  # what hangs moves neither feet nor forces here
            carried = placed.carried if rigid == plain else carry(course, style)
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
            sunk = most_drop_m(animal, placed.timing) + 1e-3
            fault = _fault(animal, solved, rotations, self.plain, sunk)
            return _Tried(style, placed, solved, rotations, fault)


def _fault(
    animal: Animal, solved: Solved, rotations: npt.NDArray[np.float64], plain: _Tried | None, sunk: float
) -> str | None:
    """Name the joint that is farthest outside its range and beyond what the plain motion does, if any is."""
    if not np.all(np.isfinite(solved.legs.turn_rad)):
        return "a leg cannot fold or stretch that far"
    least, most = animal.ranges_rad[..., 0], animal.ranges_rad[..., 1]
    if plain is not None and np.all(np.isfinite(plain.rotations)):
        sunk = max(sunk, max(plain.solved.drop_m) + STYLE_DROP_SHARE * animal.withers_height_m)
        own = pitch_roll_yaw_rad(plain.rotations)
        least, most = np.minimum(least, own.min(axis=0)), np.maximum(most, own.max(axis=0))
    if max(solved.drop_m) > sunk:
        return "the trunk would have to sink too far for the legs to reach"
    turns = pitch_roll_yaw_rad(rotations)
    beyond = np.round(np.maximum(least - turns.min(axis=0), turns.max(axis=0) - most), 9)  # left before right
    row, axis = np.unravel_index(int(np.argmax(beyond)), beyond.shape)
    if beyond[row, axis] <= ROUNDED_RAD:
        return None
    name, amount = animal.joint_names[row], float(np.degrees(beyond[row, axis]))
    return f"{name} would {('pitch', 'roll', 'yaw')[axis]} {amount:.1f} degrees past its range"
