"""How quickly speed changes: an even push that eases in and out, and what pushes and brakes an animal has."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.errors import RequestError
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import even_travel, within_one
from gaitgen.shot.cycle import Cycle

Array = npt.NDArray[np.float64]

# Share of a change over which the push comes, and again goes; in between it is even.
EASE = 0.30
STEEPEST = 1.0 / (1.0 - EASE)  # of a change, against its mean
# Greatest acceleration along the path, of gravity: speeding up, and braking (estimates).
MOST_PUSH, MOST_BRAKE = 0.35, 0.30
# And no more than such a share of what would tip a standing body over its hind feet, or its fore feet: at low
# speed that is the limit of ponies and greyhounds (Williams et al. 2009, Biol Lett 5:610, abstract).
TIPS = 0.9
# From and to a halt a run with a lead of hips that are lower than SHORT of what falls in a stride has no more
# than such shares of that for its pushes (estimates: where cat, hare and dachshund keep their height).
ROOM, SHORT = (0.9, 0.85), 0.3
# And one without a lead, whose pairs bear both ends, speeds up from a halt by so much; out of one with a lead
# into another gait it brakes by as much (estimates: where cat, dachshund and hare reach their feet).
MOST_SPRING = 0.2
# Where strides are asked for: what is refused, of gravity (feet hold 0.6, as law 7 has it, of which trotting
# and galloping take some beside).
MOST_ASKED = 0.5
# Moments at which a change is looked at, and rounds of finding when it is so far.
SAMPLES, NEWTON_ROUNDS = 201, 6
# Speeds that differ by less than such a share are alike; where a change of rhythm leads that of speed, it
# goes at least so much as quickly at each moment as on the whole (estimates).
ALIKE, LEAST_SLOPE = 0.05, 0.25
# So many strides may be asked for.
FEWEST, MOST = 1.0, 40.0


class Within(NamedTuple):
    """How many strides something is to take, and who says so: a place for messages, and how it is written."""

    strides: float
    where: str = ""
    key: str = "strides = "


def eased(share: npt.ArrayLike) -> Array:
    """Go from 0 to 1 under an even push that eases in and out; C2. Ratio in, ratio out."""
    return even_travel(share, EASE, EASE)


def mixed_speed_m_s(before: Cycle, after: Cycle, share: Array) -> Array:
    """Speed of a rhythm between two cycles, so far (samples,) the second. [m/s]"""
    mixed = np.stack([1.0 - share, share], axis=-1)
    stance, tempo, duty = (
        mixed @ np.array(pair)
        for pair in (
            (before.stance_m, after.stance_m),
            (1.0 / before.frames, 1.0 / after.frames),
            (before.duty.mean(), after.duty.mean()),
        )
    )
    rate = before.settled.request.frame_rate_hz
    return np.asarray(stance * tempo / duty * rate)


@dataclass(frozen=True, eq=False)
class Evenly:
    """How far a rhythm has become another over a change that lasts 1, so that its speed changes evenly.

    Attributes
    ----------
    share, area
        How far at a share of the time, and its integral from 0.
    steepest_m_s
        Most that speed rises, and falls, were it to last one unit of time. [m/s]
    """

    share: Callable[[Array], Array]
    area: Callable[[Array], Array]
    steepest_m_s: tuple[float, float]


def evenly(before: Cycle, after: Cycle) -> Evenly:
    """Let tempo, stances and shares of the stride change so that the speed does as evenly as can be.

    Of stances that hardly lengthen, speed goes with tempo over share of the stride, which rises ever faster
    from a walk to a gallop: those lead, and the speed gains as much in each second.
    """
    at = np.linspace(0.0, 1.0, SAMPLES)
    speed = mixed_speed_m_s(before, after, at)
    gained = speed[-1] - speed[0]
    apart = abs(gained) > ALIKE * float(speed.max())
    slope = np.gradient(speed, at) / gained if apart else np.ones(SAMPLES)
    # As much of the even speed as leaves each moment at least so much of the change.
    low = float(slope.min())
    even = 1.0 if low >= LEAST_SLOPE else (1.0 - LEAST_SLOPE) / (1.0 - low)
    way = (1.0 - even) * at + even * ((speed - speed[0]) / gained if apart else at)
    moment = eased(at)
    curve = CubicSpline(at, way)
    share = np.interp(moment, way, at)
    for _ in range(NEWTON_ROUNDS):
        share = within_one(share - (curve(share) - moment) / curve(share, 1))
    share[0], share[-1] = 0.0, 1.0
    along = CubicSpline(at, share, bc_type="clamped")
    area = along.antiderivative()
    rising = np.gradient(mixed_speed_m_s(before, after, share), at)
    return Evenly(
        lambda x: np.where(np.asarray(x) < 1.0, within_one(along(within_one(x))), 1.0),  # 1 but for rounding
        lambda x: np.asarray(area(within_one(x)) + np.maximum(x - 1.0, 0.0)),
        (float(max(rising.max(), 0.0)), float(max(-rising.min(), 0.0))),
    )


def most_pushes(animal: Animal) -> tuple[float, float]:
    """Return how hard an animal speeds up and brakes, of gravity."""
    standing, centre = standing_positions_m(animal), whole_body(animal).centre_m
    hind, fore = (float(standing[animal.limb(end).foot_joint, 0]) for end in ("hind", "fore"))
    tips = TIPS / centre[2]
    return min(MOST_PUSH, tips * (centre[0] - hind)), min(MOST_BRAKE, tips * (fore - centre[0]))


def least_s(steepest: tuple[float, float], most: tuple[float, float]) -> float:
    """Return how long it takes to rise and fall so steeply within greatest pushes, of gravity. [s]"""
    return max(up / (push * GRAVITY_M_S2) for up, push in zip(steepest, most, strict=True))


def from_rest(cycle: Cycle) -> tuple[float, float]:
    """Return the greatest pushes into a gait from a halt, and out of it to one, of gravity.

    While one pair of feet is off the ground in a run, that end of the body sinks or rises by some a T^2,
    which short legs have less room for.
    """
    room = _room(cycle)
    push, brake = most_pushes(cycle.animal)
    if cycle.gait.walks or room > SHORT:
        return push, brake
    if not cycle.gait.has_lead:
        return min(push, MOST_SPRING), brake
    return min(push, ROOM[0] * room), min(brake, ROOM[1] * room)


def between(before: Cycle, after: Cycle) -> tuple[float, float]:
    """Return the greatest pushes from one gait into another, of gravity, as in `from_rest`."""
    push, brake = most_pushes(before.animal)
    short = any(each.gait.has_lead and _room(each) <= SHORT for each in (before, after))
    return push, min(brake, MOST_SPRING) if short else brake


def _room(cycle: Cycle) -> float:
    """Height of the hips against what falls in a stride."""
    stride_s = cycle.frames / cycle.settled.request.frame_rate_hz
    return cycle.animal.hip_height_m / (GRAVITY_M_S2 * stride_s**2)


def asked_frames(
    asked: Within, stride_frames: float, frame_rate_hz: float, steepest: tuple[float, float], what: str
) -> float:
    """Return the length of a change that is to take so many strides. [frames]

    Raises
    ------
    RequestError
        If it would take more push than feet hold, with the fewest strides that it can take.
    """
    least = least_s(steepest, (MOST_ASKED, MOST_ASKED)) * frame_rate_hz / stride_frames
    if asked.strides < least:
        count = f"{asked.strides:g} {'stride' if asked.strides == 1.0 else 'strides'}"
        push, fewest = MOST_ASKED * least / asked.strides, math.ceil(10.0 * least) / 10.0
        where = f"{asked.where}: " if asked.where else ""
        raise RequestError(
            f"{where}{what} in {count} takes {push:.2f} of gravity along the ground, and feet hold "
            f"{MOST_ASKED:g} there; give {asked.key}{fewest:g} or more, or a speed that is nearer"
        )
    return asked.strides * stride_frames
