"""A small jump in a canter: each foot's contacts and lift-offs from one stride to the next.

Both fore feet leave before the hind feet push off nearly together; after the flight the trailing fore foot
lands first, then the leading one, then the hind feet, in the order of the gait (Leach, Ormrod & Clayton 1984,
EVJ 16:154, abstract). Shares of a stride are estimates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.pace import Pace
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp, within_one
from gaitgen.shot.cycle import Cycle

Array = npt.NDArray[np.float64]

# The highest and widest that an animal jumps here, in withers heights (estimates: small, for a horse).
HIGHEST, WIDEST = 0.32, 0.32
# Its centre of mass rises in the flight by so much of the hip height, and of the height of what it jumps
# (estimates: pitch and legs do the rest).
RISE_HIPS, RISE_HEIGHT = 0.05, 0.2
# In strides, all estimates: from the start to the contact of the first hind foot that pushes off, from that
# to the second, and from the first until both leave; between the fore feet that land, and how long each of
# them is down; from the first of them to the first hind foot.
UNDER, APART, PUSHES, LANDS_APART, LANDS, FOLLOWS = 0.9, 0.06, 0.4, 0.14, 0.36, 0.55
# The trunk is pitched by so much of the way of its centre at take-off, at the most so far, and by such a
# share of that, nose down, at landing (estimates).
PITCHED, MOST_PITCH_RAD, LANDS_PITCHED = 0.5, math.radians(13.0), 0.8
# It is lower than it stands by so many hip heights as it leaves and lands, and begins to rise after so much
# of a stride; it is held at its height this firmly (estimates).
SUNK, RISES, HELD = 0.1, 0.4, 0.05
STRIDES = 3  # from the start of the stride of the approach to the end of the first after it
FORE = np.array([True, True, False, False])


class Where(NamedTuple):
    """Where it is said, for messages: of a middle, a height and a thickness."""

    at: str = "a jump"
    height: str = "a jump"
    spread: str = "a jump"


UNSAID = Where()


@dataclass(frozen=True)
class Obstacle:
    """What is jumped: its middle along the path, its height, and its thickness along the path. [m]"""

    at_m: float
    height_m: float
    spread_m: float
    where: Where = UNSAID


@dataclass(frozen=True, eq=False)
class Leap:
    """The strides of a jump, in frames from the start of the stride in which the fore feet leave.

    Attributes
    ----------
    cycle
        The cycle before and after.
    obstacle
        What is jumped.
    frame_rate_hz
        Frames per second. [Hz]
    """

    cycle: Cycle
    obstacle: Obstacle
    frame_rate_hz: float

    @property
    def before(self) -> Cycle:
        """The cycle before it."""
        return self.cycle

    @cached_property
    def flight_frames(self) -> int:
        """From the last hind foot that leaves to the first fore foot that lands. [frames]"""
        obstacle = self.obstacle
        rise_m = RISE_HIPS * self.cycle.animal.hip_height_m + RISE_HEIGHT * obstacle.height_m
        flight_s = math.sqrt(8.0 * rise_m / GRAVITY_M_S2)
        return max(1, round(flight_s * self.frame_rate_hz))

    @cached_property
    def leaves(self) -> int:
        """When the last hind foot leaves. [frames]"""
        return round((UNDER + PUSHES) * self.cycle.frames)

    @property
    def lands(self) -> int:
        """When the first fore foot lands. [frames]"""
        return self.leaves + self.flight_frames

    @cached_property
    def resumes(self) -> int:
        """When the first hind foot lands, and with it the first stride begins again. [frames]"""
        return math.ceil(self.lands + FOLLOWS * self.cycle.frames)

    @property
    def frames(self) -> int:
        """Length, with one stride as in the cycle. [frames]"""
        return self.resumes + self.cycle.frames

    @property
    def strides(self) -> Array:
        """(4,) strides that each foot counts till then."""
        return np.full(len(LIMBS), float(STRIDES))

    def share(self, frame: Array) -> Array:
        """Return how far it is the cycle after it at moments (samples,). [frames]"""
        return ramp((frame - self.leaves) / self.flight_frames)

    @cached_property
    def touches(self) -> tuple[Array, Array]:
        """Contact and lift-off of the stance that pushes off or lands, each (4,). [frames]"""
        stride = self.cycle.frames
        late = np.zeros(len(LIMBS))
        contact = self.cycle.contact
        for pair, apart in ((FORE, LANDS_APART), (~FORE, APART)):
            first = contact[pair].min()
            late[pair] = np.where(contact[pair] > first, apart * stride, 0.0)
        down = np.where(FORE, self.lands, UNDER * stride) + late
        up = np.where(FORE, down + LANDS * stride, self.leaves)
        return np.asarray(np.round(down)), np.asarray(np.round(up))

    def count(self, frame: Array) -> Array:
        """Count the strides of each foot, whole at its contacts: (samples, 4). [frames]"""
        cycle, (down, up) = self.cycle, self.touches
        stride = cycle.frames
        reach = 2 + math.ceil(-frame.min(initial=0.0) / stride)
        beyond = 2 + math.ceil((frame.max(initial=self.frames) - self.frames) / stride)
        columns = []
        for limb in range(len(LIMBS)):
            before = cycle.contact[limb] + stride * np.arange(-reach, 1)
            after = self.resumes + cycle.contact[limb] + stride * np.arange(0, beyond + 2)
            lands = np.concatenate([before, down[limb : limb + 1], after])
            lifts = np.concatenate([before + cycle.down[limb], up[limb : limb + 1], after + cycle.down[limb]])
            numbers = np.arange(lands.size) - float(reach)
            moments = np.stack([lands, lifts], axis=1).ravel()
            counts = np.stack([numbers, numbers + cycle.duty[limb]], axis=1).ravel()
            columns.append(np.interp(frame, moments, counts))
        return np.stack(columns, axis=1)

    @cached_property
    def over_frames(self) -> Array:
        """(4,) the moment half-way through the swing of each foot over the obstacle. [frames]"""
        down, up = self.touches
        lifts = np.where(FORE, self.cycle.contact + self.cycle.down, up)
        lands = np.where(FORE, down, self.resumes + self.cycle.contact)
        return np.asarray((lifts + lands) / 2.0)

    @property
    def flight_s(self) -> float:
        """The same as flight_frames. [s]"""
        return self.flight_frames / self.frame_rate_hz

    @property
    def pitches_rad(self) -> tuple[float, float]:
        """Pitch of the trunk as the hind feet leave, and as the fore feet land, nose up. [rad]"""
        rises_m_s = GRAVITY_M_S2 * self.flight_s / 2.0
        up = min(PITCHED * math.atan2(rises_m_s, self.cycle.speed_m_s), MOST_PITCH_RAD)
        return up, -LANDS_PITCHED * up


@dataclass(frozen=True, eq=False)
class LaidLeap:
    """A jump, and the frame of a shot at which it begins."""

    at_frame: int
    leap: Leap

    def over_m(self, pace: Pace) -> float:
        """Return how far along the path it is that the feet are half-way over, on the whole. [m]"""
        leap = self.leap
        moments = (self.at_frame + leap.over_frames) / leap.frame_rate_hz
        return float(np.mean(pace.distance_m(moments) + leap.cycle.centre_m))

    def heights(self, time_s: Array) -> tuple[Array, Array, Array]:
        """Return how high chest and hips are to be, how firmly, and how far they leap.

        (samples, 2) over standing [m], (samples,) and (samples,), as in Wanted. Hips leave, and the chest
        lands, nearly as high as they stand.
        """
        leap = self.leap
        animal = leap.cycle.animal
        standing, centre = standing_positions_m(animal), whole_body(animal).centre_m[0]
        ahead, behind = (float(standing[animal.limb(end).top, 0] - centre) for end in ("fore", "hind"))
        up, down = leap.pitches_rad
        frame = time_s * leap.frame_rate_hz - self.at_frame
        since = (frame - leap.leaves) / leap.flight_frames
        inside = within_one(since)
        arc = GRAVITY_M_S2 / 2.0 * leap.flight_s**2 * inside * (1.0 - inside)
        stride = leap.cycle.frames
        rises = ramp((frame - RISES * stride) / (leap.leaves - RISES * stride))
        levels = 1.0 - ramp((frame - leap.lands) / (leap.resumes - leap.lands))
        pitch = rises * levels * (up + (down - up) * inside)
        height = -behind * up + (-ahead * down + behind * up) * inside + arc - SUNK * animal.hip_height_m
        height = rises * levels * height
        leaps = ramp(frame / stride) * ramp((leap.frames - frame) / stride)
        ends = np.stack([height + ahead * pitch, height + behind * pitch], axis=1)
        return ends, np.asarray(HELD * leaps, dtype=np.float64), leaps


def too_high(animal: Animal, obstacle: Obstacle) -> tuple[list[str], Obstacle]:
    """Say what is too high or too wide of an obstacle, and make it as large as the animal can jump."""
    said, where = [], obstacle.where
    withers_m = animal.withers_height_m
    high_m, wide_m = (math.floor(100.0 * k * withers_m) / 100.0 for k in (HIGHEST, WIDEST))
    for key, line, size_m, most_m, share in (
        ("height", where.height, obstacle.height_m, high_m, HIGHEST),
        ("spread", where.spread, obstacle.spread_m, wide_m, WIDEST),
    ):
        if size_m > most_m:
            said.append(
                f"{line}: {key} is {size_m:g}, and {animal.name} jumps at most {most_m:.2f} m in its "
                f"stride here, {share:g} of its withers height of {withers_m:.2f} m; give {key} = "
                f"{most_m:.2f}, or a larger animal"
            )
    height_m, spread_m = min(obstacle.height_m, high_m), min(obstacle.spread_m, wide_m)
    return said, replace(obstacle, height_m=height_m, spread_m=spread_m)
