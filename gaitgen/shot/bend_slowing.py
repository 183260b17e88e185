"""How an animal that trots slows down round a hard bend: its tempo stays, its steps become shorter."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.errors import Notice
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import largest_around, local_mean
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Acceleration to the inside of a bend, of gravity, beyond which a run without a lead is shortened: the outer
# hind leg of a horse of 1.6 m turned 7 to 12 degrees past its range at 0.19 to 0.25, and 5 at most here
# (measured on bends of 4 to 8 m; estimate for other animals).
MOST_INWARD = 0.165
# So long before a bend, and after it, it begins and ends to go more slowly, within so long (estimates). [s]
EARLY_S, SOFT_S = 0.5, 0.5
ROUNDS = 8  # a place that is reached later is looked at again
LEAST_BEND_PER_M = 1e-9
LEAST_SAID, LEAST = 0.03, 1e-9  # shares of speed: what is told, and what is none


def round_bends(pace: Pace, path: Path, trots: Array) -> Pace:
    """Slow a pace down where its path bends hard for runs without a lead.

    Parameters
    ----------
    pace
        As it is on a wide bend, at even moments.
    path
        Where it leads.
    trots
        (moments,) how far the animal goes in a run without a lead.
    """
    if path.unspun.is_straight or not trots.any():
        return pace
    step_s = float(pace.time_s[1] - pace.time_s[0])
    early, soft = (max(1, round(each / step_s)) for each in (EARLY_S, SOFT_S))
    gone, kept = pace.distance_m(pace.time_s), np.ones(pace.time_s.size)
    for _ in range(ROUNDS):
        bend = np.maximum(np.abs(path.unspun.at(gone)[2]), LEAST_BEND_PER_M)
        most_m_s = np.sqrt(MOST_INWARD * GRAVITY_M_S2 / bend)
        less = trots * np.maximum(1.0 - most_m_s / np.maximum(pace.speed_m_s, LEAST), 0.0)
        kept = 1.0 - local_mean(largest_around(less, early, periodic=False), soft)
        if kept.min() > 1.0 - LEAST:
            return pace
        speed = pace.speed_m_s * kept
        ways = (speed[1:] + speed[:-1]) / 2.0 * np.diff(pace.time_s)
        gone = np.concatenate([[0.0], np.cumsum(ways)])
        gone -= np.interp(0.0, pace.time_s, gone)
    return Pace(pace.time_s, pace.speed_m_s * kept)


def bend_notices(timeline: Timeline, path: Path) -> tuple[Notice, ...]:
    """Say where a trot is shortened for a bend, and how far.

    Parameters
    ----------
    timeline, path
        The shot.
    """
    if timeline.wide is timeline.pace:
        return ()
    moment = np.arange(timeline.frames + 1) / timeline.frame_rate_hz
    wide, speed = (each.distance_m(moment, 1) for each in (timeline.wide, timeline.pace))
    row = int(np.argmax(wide - speed))
    if speed[row] > (1.0 - LEAST_SAID) * wide[row]:
        return ()
    bend = float(np.abs(path.unspun.at(timeline.pace.distance_m(moment))[2]).max())
    text = (
        f"on the bend of {1.0 / bend:.1f} m radius the trot slows down from {wide[row]:.1f} to "
        f"{speed[row]:.1f} m/s, in shorter steps, as its body would lean too far over its legs; "
        "a wider bend keeps its speed."
    )
    return (Notice("turn", text),)
