"""How one rhythm goes over into another: each foot keeps its own count of strides, and shifts it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.speeding import Evenly, Within, asked_frames, between, evenly, least_s

Array = npt.NDArray[np.float64]

# Strides before and after a change in which feet still go as in the cycle, so that the body can come out of
# it and into it.
STEADY_STRIDES = 0.6
# Strides over which tempo and speed change: two from a walk to a trot (dog: Blaszczyk & Dobrzecka 1989), two
# and a half from a trot to a canter (horse: Nauwelaerts, Aerts & Clayton 2013); others estimates.
CHANGE_STRIDES = 2.0
CHANGE_STRIDES_OF_LEAD = 2.5
# Strides over which the feet shift against each other: within one a diagonal pair (dog: Blaszczyk & Dobrzecka
# 1989).
SHIFT_STRIDES = 1.2
# As long as the tempo takes where the other foot is to lead: feet that have their turn sooner swing for less
# (estimate; within 1.2 a hind leg of a horse snaps by 18 degrees at a canter of 12 frames).
SHIFT_STRIDES_OF_LEADS = 2.0
LEFT, RIGHT = [0, 2], [1, 3]  # feet of each pair, in LIMBS order
# How many strides a join may be shorter and longer than it likes, and than is asked, so that feet shift less.
FREE_STRIDES, FREE_ASKED = (0.5, 0.25), (0.25, 0.25)
# What a stride of another length costs, against the square of a shift. [per stride^2]
LENGTH_COST = 0.04
# Two cycles have one rhythm, so that their manner changes alone, if their strides take as long, no foot lands
# by more than such a share of the stride beside that of the other, and the speed changes by a push of no more
# than such a share of gravity (estimates).
SAME_BEAT, SLIGHT_PUSH = 0.06, 0.05
ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class Change:
    """One rhythm going over into another, in frames from the start of its first stride.

    Attributes
    ----------
    before, after, evenly
        The cycles, and how the one becomes the other.
    frames
        Length; then the second begins a stride. [frames]
    tempo, shift
        First and last moment of the change of tempo, and of that of the feet against each other. [frames]
    strides
        (4,) strides that each foot counts till then.
    shifted
        (4,) by how much of them it runs ahead. [strides]
    is_style
        Whether the manner changes alone, in one rhythm.
    """

    before: Cycle
    after: Cycle
    evenly: Evenly
    frames: int
    tempo: tuple[float, float]
    shift: tuple[float, float]
    strides: Array
    shifted: Array
    is_style: bool = False

    def share(self, frame: Array) -> Array:
        """Return how far tempo, speed and manner have changed at moments (samples,). [frames]"""
        return self.evenly.share((frame - self.tempo[0]) / (self.tempo[1] - self.tempo[0]))

    def count(self, frame: Array) -> Array:
        """Count the strides of each foot, whole at its contacts: (samples, 4). [frames]"""
        gone = _gone(frame, self.before.frames, self.after.frames, self.tempo, self.evenly)
        shifting = _share(frame, self.shift)[:, None] * self.shifted
        return np.asarray(gone[:, None] - self.before.contact / self.before.frames + shifting)


def change(
    before: Cycle,
    after: Cycle,
    frame_rate_hz: float,
    asked: Within | None = None,
    longer_frames: int = 0,
) -> Change:
    """Find the shortest way for the feet from one rhythm into another, on whole frames.

    Length and counts are chosen so that the feet shift least (sum of squares), which makes one diagonal pair
    stay together from a trot to a canter, as dogs do (Blaszczyk & Dobrzecka 1989, abstract). It takes as many
    strides as are ``asked``, or as its push lets it, and so many frames longer than is best for the feet.

    Raises
    ------
    RequestError
        If it is to be in fewer strides than feet hold.
    """
    mean = (before.frames + after.frames) / 2.0
    even = evenly(before, after)
    steepest = even.steepest_m_s
    likes = CHANGE_STRIDES if asked is None else asked.strides
    if is_one_rhythm(before, after, steepest, likes * mean / frame_rate_hz):
        return _of_style(before, after, even, likes)
    if asked is None:
        strides = CHANGE_STRIDES_OF_LEAD if before.gait.has_lead != after.gait.has_lead else CHANGE_STRIDES
        length = max(strides * mean, least_s(steepest, between(before, after)) * frame_rate_hz)
    else:
        what = f"{before.gait.name} to {after.gait.name}"
        length = asked_frames(asked, mean, frame_rate_hz, steepest, what)
    like = STEADY_STRIDES * (before.frames + after.frames) + length
    free = FREE_STRIDES if asked is None else FREE_ASKED
    tried = np.arange(np.ceil(like - free[0] * mean), like + free[1] * mean + 1.0)
    made = (_tried(before, after, even, int(frames)) for frames in tried)
    best = min(made, key=lambda c: _cost(c, like, mean))
    return _tried(before, after, even, best.frames + longer_frames) if longer_frames else best


def is_one_rhythm(before: Cycle, after: Cycle, steepest_m_s: tuple[float, float], length_s: float) -> bool:
    """Tell whether cycles of two styles have one rhythm and about one speed, if they change within a time."""
    styles = (each.settled.request.style for each in (before, after))
    if before.frames != after.frames or before.gait.walks != after.gait.walks or len(set(styles)) == 1:
        return False
    beat = (before.contact - after.contact) / before.frames
    push = max(steepest_m_s) / length_s / GRAVITY_M_S2
    return bool(np.abs(beat - np.round(beat)).max() <= SAME_BEAT and push <= SLIGHT_PUSH)


def _of_style(before: Cycle, after: Cycle, even: Evenly, asked: float) -> Change:
    """Change the manner within as many strides as are asked, in the middle of the fewest whole ones.

    The body goes straight from the one cycle to the other, so that no stride beside it is needed.
    """
    whole = math.ceil(asked - ROUNDING)
    frames, beside = whole * before.frames, (whole - asked) / 2.0 * before.frames
    span = beside, frames - beside
    beat = (before.contact - after.contact) / before.frames
    strides = whole - np.round(beat)
    return Change(before, after, even, frames, span, span, strides, beat - np.round(beat), is_style=True)


def _cost(tried: Change, like: float, mean: float) -> float:
    length = (tried.frames - like) / mean
    return float((tried.shifted**2).sum() + LENGTH_COST * length**2)


def _tried(before: Cycle, after: Cycle, even: Evenly, frames: int) -> Change:
    tempo = STEADY_STRIDES * before.frames, frames - STEADY_STRIDES * after.frames
    gone = float(_gone(np.array([float(frames)]), before.frames, after.frames, tempo, even)[0])
    reached = gone - before.contact / before.frames  # without a shift
    wanted = -after.contact / after.frames
    strides = np.round(reached - wanted)
    over = SHIFT_STRIDES
    if before.gait.has_lead and after.gait.has_lead and _ahead(reached) @ _ahead(wanted) < 0.0:
        strides, over = _passing(reached, wanted, strides), SHIFT_STRIDES_OF_LEADS
    middle, half = sum(tempo) / 2.0, over / 4.0 * (before.frames + after.frames)
    shift = max(tempo[0], middle - half), min(tempo[1], middle + half)
    return Change(before, after, even, frames, tempo, shift, strides, strides + wanted - reached)


def _ahead(count: Array) -> Array:
    """By how much of a stride the left foot of each pair is ahead of the right one: (2,), -0.5 to 0.5."""
    ahead = count[LEFT] - count[RIGHT]
    return np.asarray(ahead - np.round(ahead))


def _passing(reached: Array, wanted: Array, strides: Array) -> Array:
    """Let feet of a pair change places by landing together on the way, as in a flying change: (4,) strides.

    Half a stride apart on the way they would trot, and one foot would land twice between two of the other.
    """
    strides = strides.copy()
    shifted = strides + wanted - reached
    apart = shifted[LEFT] - shifted[RIGHT] - (_ahead(wanted) - _ahead(reached))
    for pair, round_again in enumerate(np.round(apart)):  # of two pairs of feet
        left, right = LEFT[pair], RIGHT[pair]
        if abs(shifted[left] - round_again) < abs(shifted[right] + round_again):
            strides[left] -= round_again
        else:
            strides[right] += round_again
    return strides


def _share(frame: Array, span: tuple[float, float]) -> Array:
    return ramp((frame - span[0]) / (span[1] - span[0]))


def _gone(frame: Array, before: int, after: int, span: tuple[float, float], even: Evenly) -> Array:
    """Strides gone since moment 0, as the tempo changes over a span. [strides]"""
    length = span[1] - span[0]
    area = even.area((frame - span[0]) / length)
    return np.asarray(frame / before + (1.0 / after - 1.0 / before) * length * area)
