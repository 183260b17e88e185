"""How one rhythm goes over into another: each foot keeps its own count of strides, and shifts it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp
from gaitgen.shot.cycle import Cycle

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
# Greatest acceleration along the path, of gravity, where one of the two walks, and where both run (estimates;
# a body on its hind feet tips over at about 0.4, by statics).
MOST_PUSH, MOST_RUN_PUSH = 0.16, 0.20
STEEPEST = 1.875  # of a ramp, against its mean
# How much a join may be longer or shorter than it likes, so that the feet shift less. [strides]
FREE_STRIDES = 0.5
# What a stride of another length costs, against the square of a shift. [per stride^2]
LENGTH_COST = 0.04


@dataclass(frozen=True, eq=False)
class Change:
    """One rhythm going over into another, in frames from the start of its first stride.

    Attributes
    ----------
    before, after
        The cycles.
    frames
        Length; then the second begins a stride. [frames]
    tempo, shift
        First and last moment of the change of tempo, and of that of the feet against each other. [frames]
    strides
        (4,) strides that each foot counts till then.
    shifted
        (4,) by how much of them it runs ahead. [strides]
    """

    before: Cycle
    after: Cycle
    frames: int
    tempo: tuple[float, float]
    shift: tuple[float, float]
    strides: Array
    shifted: Array

    def share(self, frame: Array) -> Array:
        """Return how far tempo, speed and manner have changed at moments (samples,). [frames]"""
        return _share(frame, self.tempo)

    def count(self, frame: Array) -> Array:
        """Count the strides of each foot, whole at its contacts: (samples, 4). [frames]"""
        gone = _gone(frame, self.before.frames, self.after.frames, self.tempo)
        shifting = _share(frame, self.shift)[:, None] * self.shifted
        return np.asarray(gone[:, None] - self.before.contact / self.before.frames + shifting)


def change(before: Cycle, after: Cycle, frame_rate_hz: float) -> Change:
    """Find the shortest way for the feet from one rhythm into another, on whole frames.

    Length and counts are chosen so that the feet shift least (sum of squares), which makes one diagonal pair
    stay together from a trot to a canter, as dogs do (Blaszczyk & Dobrzecka 1989, abstract).
    """
    mean = (before.frames + after.frames) / 2.0
    strides = CHANGE_STRIDES_OF_LEAD if before.gait.has_lead != after.gait.has_lead else CHANGE_STRIDES
    push = MOST_PUSH if before.gait.walks or after.gait.walks else MOST_RUN_PUSH
    faster = abs(after.speed_m_s - before.speed_m_s)
    strides = max(strides, STEEPEST * faster * frame_rate_hz / (push * GRAVITY_M_S2 * mean))
    ends = STEADY_STRIDES * (before.frames + after.frames)
    like = ends + strides * mean
    tried = np.arange(np.ceil(like - FREE_STRIDES * mean), like + FREE_STRIDES * mean + 1.0)
    return min((_tried(before, after, int(frames)) for frames in tried), key=lambda c: _cost(c, like, mean))


def _cost(tried: Change, like: float, mean: float) -> float:
    length = (tried.frames - like) / mean
    return float((tried.shifted**2).sum() + LENGTH_COST * length**2)


def _tried(before: Cycle, after: Cycle, frames: int) -> Change:
    tempo = STEADY_STRIDES * before.frames, frames - STEADY_STRIDES * after.frames
    gone = float(_gone(np.array([float(frames)]), before.frames, after.frames, tempo)[0])
    reached = gone - before.contact / before.frames  # without a shift
    wanted = -after.contact / after.frames
    strides = np.round(reached - wanted)
    middle, half = sum(tempo) / 2.0, SHIFT_STRIDES / 4.0 * (before.frames + after.frames)
    shift = max(tempo[0], middle - half), min(tempo[1], middle + half)
    return Change(before, after, frames, tempo, shift, strides, strides + wanted - reached)


def _share(frame: Array, span: tuple[float, float]) -> Array:
    return ramp((frame - span[0]) / (span[1] - span[0]))


def _gone(frame: Array, before: int, after: int, span: tuple[float, float]) -> Array:
    """Strides gone since moment 0, as the tempo changes over a span. [strides]"""
    length = span[1] - span[0]
    x = (frame - span[0]) / length
    inside = np.clip(x, 0.0, 1.0)
    area = inside**4 * (2.5 + inside * (inside - 3.0)) + np.maximum(x - 1.0, 0.0)
    return np.asarray(frame / before + (1.0 / after - 1.0 / before) * length * area)
