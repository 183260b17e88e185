"""A turn on the spot: the fore feet step round the hind ones, or the hind feet round the fore ones.

From a halt to a halt, in the rhythm of the animal's walk. At the end that steps round, the foot on the side
that it steps to opens, and the other crosses in front of it on the haunches, on the forehand the foot on the
inside of the turn in front of that on the outside; the feet of the other end mark time about the inner one
(riding manuals, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.spin import Spin
from gaitgen.errors import RequestError
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.section import SETTLE_S, SHIFT_S

Array = npt.NDArray[np.float64]
Pivot = Literal["forehand", "haunches"]

PIVOTS: tuple[Pivot, ...] = ("haunches", "forehand")
# How far an animal turns in one stride (common practice, no source), and may be asked to (estimate). [rad]
USUAL_RAD, MOST_RAD = math.radians(22.5), math.radians(60.0)
# The farthest that the feet of the end that goes round step in one, in hip heights, less the width of a sole:
# wide feet are not set across each other (estimate).
USUAL_STEP = 0.50
# Feet that step round pass each other so far ahead and behind of where they stand, in lengths and widths of a
# sole in all, and at the most in hip heights (estimates).
# The one behind is farther back before its last step, on which it passes the other on the way to its place.
APART, MOST_APART = 0.75, 0.18
LAST_APART = 1.3
# Strides that the body takes to come into the turn, and out of it, and by which it has turned before the last
# foot lands (estimates).
EASE_STRIDES, EARLY_STRIDES = 0.6, 0.2
# A foot is down for at least so long, and in the air. [frames]
LEAST_FRAMES = 2
ROUNDING = 0.15  # of a stride, that is not worth one more


class Stance(NamedTuple):
    """One stance of a turn: foot, frames, and the moment and place under the body that it is for.

    ``ahead_m`` is how far the foot is ahead of where it stands under the body at that moment. [m]
    """

    limb: int
    touchdown: float
    liftoff: float
    when: float
    ahead_m: float


@dataclass(frozen=True, eq=False)
class TurnOnSpot:
    """A turn on the spot, from a halt to a halt.

    Attributes
    ----------
    cycle
        The walk whose steps it takes.
    turn_rad
        How far to the left. [rad]
    on
        The end that stays.
    strides
        In how many strides.
    frame_rate_hz
        Frames per second. [Hz]
    """

    cycle: Cycle
    turn_rad: float
    on: Pivot
    strides: int
    frame_rate_hz: float

    @property
    def kind(self) -> str:
        """How a timeline calls it."""
        return self.on

    @property
    def shift_frames(self) -> int:
        """Frames from standing to the first lift-off."""
        return max(1, round(SHIFT_S * self.frame_rate_hz))

    @property
    def opens(self) -> int:
        """The foot that moves first: of the end that steps round, that on the side that this goes to."""
        to_left = (self.turn_rad > 0.0) == (self.on == "haunches")
        return LIMBS.index(("L" if to_left else "R") + ("F" if self.on == "haunches" else "H"))

    @property
    def inner(self) -> str:
        """The side that it turns to."""
        return "L" if self.turn_rad > 0.0 else "R"

    @cached_property
    def _swings(self) -> tuple[Array, Array]:
        """When each foot leaves and lands, in frames from the start: (4, strides)."""
        cycle = self.cycle
        swing = np.maximum(cycle.frames - cycle.down, LEAST_FRAMES)
        after = (cycle.contact - cycle.contact[self.opens]) % cycle.frames
        lands = self.shift_frames + swing[self.opens] + after[:, None]
        lands = np.round(lands + np.arange(self.strides) * cycle.frames)
        lifts = np.maximum(np.round(lands - swing[:, None]), self.shift_frames)
        return lifts, np.maximum(lands, lifts + LEAST_FRAMES)

    @property
    def frames(self) -> int:
        """Length. [frames]"""
        return math.ceil(float(self._swings[1].max()) + SETTLE_S * self.frame_rate_hz)

    def spin(self, at_frame: int, along_m: float) -> Spin:
        """Return how the body turns, if it begins at a frame of a shot, so far along its path. [m]"""
        lifts, lands = self._swings
        animal = self.cycle.animal
        standing = standing_positions_m(animal)
        end = "hind" if self.on == "haunches" else "fore"
        foot = standing[animal.limb(end, self.inner).foot_joint]
        tops = [float(standing[animal.limb(each).top, 0]) for each in ("fore", "hind")]
        return Spin(
            start_s=(at_frame + float(lifts.min())) / self.frame_rate_hz,
            end_s=(at_frame + float(lands.max()) - EARLY_STRIDES * self.cycle.frames) / self.frame_rate_hz,
            turn_rad=self.turn_rad,
            ease_s=EASE_STRIDES * self.cycle.frames / self.frame_rate_hz,
            pivot_m=(float(foot[0]), float(foot[1])),
            middle_m=sum(tops) / 2.0,
            at_m=along_m,
        )

    def stances(self) -> list[Stance]:
        """Return the stances between the first lift-off of each foot and its last landing."""
        lifts, lands = self._swings
        found = []
        for limb in range(len(LIMBS)):
            ahead = self._ahead_m(limb)
            mine = zip(lands[limb, :-1].tolist(), lifts[limb, 1:].tolist(), strict=True)
            found += [Stance(limb, down, up, (down + up) / 2.0, ahead) for down, up in mine]
            if ahead < 0.0 and self.strides > 1:
                found[-1] = found[-1]._replace(ahead_m=LAST_APART * ahead)
        return found

    def first_lifts(self) -> Array:
        """(4,) when each foot leaves first. [frames]"""
        return np.asarray(self._swings[0][:, 0])

    def last_lands(self) -> Array:
        """(4,) when each foot lands last. [frames]"""
        return np.asarray(self._swings[1][:, -1])

    def _ahead_m(self, limb: int) -> float:
        """Let the feet that step round pass clear of each other: that which crosses is in front. [m]"""
        name = LIMBS[limb]
        if (name[1] == "F") != (self.on == "haunches"):
            return 0.0
        crosses = name[0] != LIMBS[self.opens][0]
        animal = self.cycle.animal
        foot, standing = animal.limbs[limb].foot, standing_positions_m(animal)
        fore, hind = (standing[animal.limb(end).foot_joint] for end in ("fore", "hind"))
        step_m = abs(self.turn_rad) / self.strides * float(fore[0] - hind[0])
        wide_m = 2.0 * foot.half_width_m
        # When one lands the other has half of a step left to go.
        over_m = step_m / 2.0 + wide_m - 2.0 * abs(float(standing[animal.limbs[limb].foot_joint, 1]))
        needed = min(max(2.0 * over_m / wide_m, 0.0), 1.0)
        apart = min(APART * (foot.toe_m + foot.heel_m + wide_m), MOST_APART * animal.hip_height_m)
        return (1.0 if crosses else -1.0) * needed * apart


def turn_on_spot(cycle: Cycle, turn_rad: float, on: Pivot, strides: int | None, number: int) -> TurnOnSpot:
    """Turn in a number of strides, or as many as the animal takes.

    Parameters
    ----------
    cycle, turn_rad, on
        As in TurnOnSpot.
    strides
        As asked; None for as many as it takes.
    number
        Of the passage, for messages.

    Raises
    ------
    RequestError
        If that is farther in a stride than legs go, with the number of strides that it takes.
    """
    rate = cycle.settled.request.frame_rate_hz
    usual = strides_for(cycle.animal, turn_rad)
    least = max(1, math.ceil(abs(turn_rad) / MOST_RAD - 1e-9))
    if strides is not None and strides < least:
        each = math.degrees(abs(turn_rad)) / strides
        raise RequestError(
            f"passage {number} turns by {each:.0f} degrees in a stride, and legs cross by at most "
            f"{math.degrees(MOST_RAD):.0f}; give strides = {least} or more, {usual} as the animal would"
        )
    return TurnOnSpot(cycle, turn_rad, on, usual if strides is None else strides, rate)


def strides_for(animal: Animal, turn_rad: float) -> int:
    """In how many strides an animal turns on the spot (common practice, no source)."""
    standing = standing_positions_m(animal)
    limbs = [animal.limb(end) for end in ("fore", "hind")]
    apart_m = float(standing[limbs[0].foot_joint, 0] - standing[limbs[1].foot_joint, 0])
    step_m = USUAL_STEP * animal.hip_height_m - 2.0 * max(limb.foot.half_width_m for limb in limbs)
    each = min(USUAL_RAD, step_m / apart_m)
    return math.ceil(abs(turn_rad) / each - ROUNDING)
