"""Hold a style back as far as the joints of the animal ask for it, and say so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import islice

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.gait.style import Style
from gaitgen.numerics.rotations import quaternion_from_matrix
from gaitgen.numerics.search import farthest
from gaitgen.pipeline.placed import Placed
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.solve import Solved
from gaitgen.pipeline.trial import Trial, Tried, once

Array = npt.NDArray[np.float64]

# A style is held back in so many steps from the plain one.
STEPS = 64
# So many factors, at the most, are tried as the one to hold back.
MOST_BLAMED = 2
# A factor that alone is at fault is held on such a step from 1; the first try is on a multiple of so many of
# them, so that it is known already where a little more or less was asked before.
HELD_STEP, FIRST_ON = 0.01, 10
# A factor that is nearer than this to what was asked is not worth a word.
HELD_LEAST = 0.005


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
    trial = Trial(settled)
    first = trial.run(asked)
    if first.fault is None:
        return _tempered(first)
    if asked == Style():
        return _tempered(first, Notice("range", _said_plainly(first)))
    plain = once(settled.with_style(Style()))
    blame = () if plain.fault is None else (Notice("range", f"{plain.fault} even in the plain motion."),)
    trial = replace(trial, plain=plain)
    first = trial.judged(first)
    if first.fault is None:
        return _tempered(first, *blame)
    best = _held(trial, first)
    held = [
        f"{name} {best.style.named()[name]:.2f} instead of {value:.3g}"
        for name, value in asked.named().items()
        if abs(best.style.named()[name] - value) > HELD_LEAST
    ]
    if held:
        text = f"only part of the style is applied: {', '.join(held)}; with more, {first.fault}."
        blame = (Notice("style", text), *blame)
    return _tempered(best, *blame)


def _tempered(tried: Tried, *notices: Notice) -> Tempered:
    return Tempered(tried.style, tried.placed, tried.solved, tried.rotations, tried.turned_rad, notices)


def _said_plainly(first: Tried) -> str:
    """Say what a motion without style asks too much of, and what asks for less."""
    if np.isfinite(first.excess).all() and first.excess[0] > 0.0:
        return (
            f"the trunk sinks by {first.sunk_share:.1%} of the withers height so that the legs reach, more "
            "than looks natural on most animals; shorter steps (a reach of 0.8) keep it higher."
        )
    return f"{first.fault}: the animal is asked for more than its joints allow at this length and speed."


def _held(trial: Trial, first: Tried) -> Tried:
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


def _held_alone(trial: Trial, name: str, safe: Tried, asked: Tried) -> Tried:
    """Hold one factor back, which ``safe`` is without, to where it begins to break something."""
    wanted = asked.style.named()[name]
    step = math.copysign(HELD_STEP, wanted - 1.0)

    def at(number: int) -> Tried:
        return trial.again(safe.style.changed(name, 1.0 + number * step))

    if safe.style != Style():  # other factors seldom move where it is held
        alone = _alone(trial.settled.with_style(Style().changed(name, wanted)), name)
        number = round((alone - 1.0) / step)
        if abs(alone - 1.0) < abs(wanted - 1.0) and at(number).fault is None and at(number + 1).fault:
            return at(number)
    steps = math.ceil(abs(wanted - 1.0) / HELD_STEP)
    return farthest(safe, asked, steps, at, lambda tried: tried.excess, first_on=FIRST_ON)


@lru_cache(maxsize=4)
def _alone(settled: Settled, name: str) -> float:
    """Return how far the one factor of a style can be taken; kept for styles that have others beside it."""
    plain = once(settled.with_style(Style()))
    trial = Trial(settled, plain)
    asked = trial.again(settled.request.style)
    held = asked if asked.fault is None else _held_alone(trial, name, plain, asked)
    return held.style.named()[name]


def _as_far_as_can_be(trial: Trial, safe: Tried, asked: Tried) -> Tried:
    """Go from a style that works towards the one asked for."""

    def at(step: int) -> Tried:
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
