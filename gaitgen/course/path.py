"""The path of the body over the ground: where it is meant to be at each moment, and facing where."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.course.pace import Pace
from gaitgen.course.spin import Spin, rotated
from gaitgen.errors import CourseError

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Frames:
    """The frame that goes along with the body: (samples,) each.

    Attributes
    ----------
    place_m
        (samples, 2) under the body. [m]
    heading_rad
        To the left of x. [rad]
    speed_m_s
        Along the path. [m/s]
    acceleration_m_s2
        (samples, 2) of the place, forward and to the left. [m/s^2]
    turning_rad_s2
        (samples,) of the heading, where it turns on the spot; None where it does not. [rad/s^2]
    """

    place_m: Array
    heading_rad: Array
    speed_m_s: Array
    acceleration_m_s2: Array
    turning_rad_s2: Array | None = None

    @cached_property
    def _ahead(self) -> tuple[Array, Array]:
        """Cosine and sine of the heading."""
        return np.cos(self.heading_rad), np.sin(self.heading_rad)

    def seen(self, point_m: Array) -> Array:
        """Take points (samples, ..., 3) of the world into the moving frame; heights stay. [m]"""
        shape = (-1,) + (1,) * (point_m.ndim - 2)
        cos, sin = (each.reshape(shape) for each in self._ahead)
        x = point_m[..., 0] - self.place_m[:, 0].reshape(shape)
        y = point_m[..., 1] - self.place_m[:, 1].reshape(shape)
        return np.stack([cos * x + sin * y, cos * y - sin * x, point_m[..., 2]], axis=-1)

    def seen_direction(self, direction: Array) -> Array:
        """Take directions (samples, ..., 3) of the world into the moving frame."""
        shape = (-1,) + (1,) * (direction.ndim - 2)
        cos, sin = (each.reshape(shape) for each in self._ahead)
        x, y = direction[..., 0], direction[..., 1]
        return np.stack([cos * x + sin * y, cos * y - sin * x, direction[..., 2]], axis=-1)

    def carried(self, point_m: Array) -> Array:
        """Take points (samples, 3) of the moving frame into the world; heights stay. [m]"""
        cos, sin = self._ahead
        x, y = point_m[:, 0], point_m[:, 1]
        return np.stack(
            [
                self.place_m[:, 0] + cos * x - sin * y,
                self.place_m[:, 1] + sin * x + cos * y,
                point_m[:, 2],
            ],
            axis=1,
        )


@dataclass(frozen=True)
class Path:
    """Pieces of constant curvature, walked at a given pace.

    Attributes
    ----------
    start_m, heading_rad
        Where the body is at distance 0, and facing where. [m], [rad]
    pieces
        Length and curvature of each piece, positive to the left; the last goes on for ever, and the first
        goes back for ever. [m], [1/m]
    pace
        (time, distance) pairs that the body passes, smoothly; two of them are an even speed, and from more
        the body starts at rest, ends at rest, and rests between two of one distance; or a `Pace`. [s], [m]
    spins
        Turns on the spot, in order, one over before the next begins. What is laid out above turns with each
        of them: with the body where a moment is given, else from where along the path it is on.
    """

    start_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    pieces: tuple[tuple[float, float], ...] = ((math.inf, 0.0),)
    pace: tuple[tuple[float, float], ...] | Pace = ((0.0, 0.0), (1.0, 1.0))
    spins: tuple[Spin, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what nobody can walk.

        Raises
        ------
        CourseError
            If the path goes some way in no time or has no pieces.
        """
        pace = ((0.0, 0.0), (1.0, 1.0)) if isinstance(self.pace, Pace) else self.pace
        if not self.pieces or len(pace) < 2:
            raise CourseError("the path has no pieces, or fewer than two moments; give at least one and two")
        for (before, here), (after, there) in pairwise(pace):
            if not (after > before and math.isfinite(there - here)):
                raise CourseError(
                    f"the path goes {there - here:g} m in {after - before:g} s at second {before:g}; "
                    "give every piece of it some time"
                )

    @classmethod
    def straight(
        cls, speed_m_s: float, heading_rad: float = 0.0, start: tuple[float, float] = (0.0, 0.0)
    ) -> Path:
        """Return a straight path at an even speed."""
        return cls(start, heading_rad, pace=((0.0, 0.0), (1.0, speed_m_s)))

    @classmethod
    def circle(cls, speed_m_s: float, radius_m: float, heading_rad: float = 0.0) -> Path:
        """Return a circle at an even speed; a positive radius turns to the left."""
        return cls((0.0, 0.0), heading_rad, ((math.inf, 1.0 / radius_m),), ((0.0, 0.0), (1.0, speed_m_s)))

    @property
    def is_straight(self) -> bool:
        """Whether it bends nowhere, and nobody turns on it."""
        return not self.spins and all(bend == 0.0 for _, bend in self.pieces)

    @property
    def unspun(self) -> Path:
        """The same without its turns on the spot."""
        return replace(self, spins=()) if self.spins else self

    def at(self, distance_m: Array, time_s: Array | None = None) -> tuple[Array, Array, Array]:
        """Return place (..., 2), heading, curvature (...) at distances along the path. [m], [rad], [1/m]

        ``time_s`` (...) are the moments that count for turns on the spot. [s]
        """
        distance = np.asarray(distance_m, dtype=np.float64)
        if len(self.pieces) == 1 and self.is_straight:
            ahead = np.array([np.cos(self.heading_rad), np.sin(self.heading_rad)])
            place, level = np.array(self.start_m) + distance[..., None] * ahead, np.zeros(distance.shape)
            return place, level + self.heading_rad, level
        starts, places, headings, curvatures = self._laid
        row = np.clip(np.searchsorted(starts, distance, side="right") - 1, 0, len(starts) - 1)
        bent = curvatures[row]
        along = distance - starts[row]
        turn = along * bent
        chord = along * np.sinc(turn / (2.0 * np.pi))
        middle = headings[row] + turn / 2.0
        step = chord[..., None] * np.stack([np.cos(middle), np.sin(middle)], axis=-1)
        place, heading = places[row] + step, headings[row] + turn
        for spin, pivot in zip(self.spins, self._pivots_m, strict=True):
            whole = np.where(distance >= spin.at_m, spin.turn_rad, 0.0)
            angle = whole if time_s is None else spin.turned_rad(time_s)
            place, heading = rotated(place, pivot, angle), heading + angle
        return place, heading, bent

    def leg(self, time_s: float) -> Path:
        """Return the path that the body is on at a moment, as if it had always lain there. [s]"""
        place, heading, _ = self.at(np.array(0.0), np.array(time_s))
        return replace(self, start_m=(float(place[0]), float(place[1])), heading_rad=float(heading), spins=())

    @cached_property
    def _pivots_m(self) -> tuple[Array, ...]:
        """The points that turns on the spot go about, (2,) each. [m]"""
        found: list[Array] = []
        for number, spin in enumerate(self.spins):
            known = replace(self, spins=())
            place, heading, _ = known.at(np.array(spin.at_m + spin.middle_m))
            for before, about in zip(self.spins[:number], found, strict=True):
                place = rotated(place, about, np.array(before.turn_rad))
                heading = heading + before.turn_rad
            ahead, left = spin.pivot_m[0] - spin.middle_m, spin.pivot_m[1]
            cos, sin = np.cos(heading), np.sin(heading)
            found.append(place + np.array([cos * ahead - sin * left, sin * ahead + cos * left]))
        return tuple(found)

    def turned_rad(self, time_s: Array) -> Array:
        """Return how far the body has turned on the spot at moments (...). [rad]"""
        return np.asarray(sum((spin.turned_rad(time_s) for spin in self.spins), np.zeros(np.shape(time_s))))

    @cached_property
    def _laid(self) -> tuple[Array, Array, Array, Array]:
        """Where each piece starts: distance, place (pieces, 2), heading, curvature."""
        lengths, curvatures = np.array(self.pieces[:-1]).reshape(-1, 2).T
        turns = lengths * curvatures
        headings = self.heading_rad + np.concatenate([[0.0], np.cumsum(turns)])
        chords = lengths * np.sinc(turns / (2.0 * np.pi))
        middles = headings[:-1] + turns / 2.0
        steps = chords[:, None] * np.stack([np.cos(middles), np.sin(middles)], axis=1)
        places = np.array(self.start_m) + np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
        starts = np.concatenate([[0.0], np.cumsum(lengths)])
        return starts, places, headings, np.append(curvatures, self.pieces[-1][1])

    def beside(self, distance_m: Array, left_m: Array, time_s: Array | None = None) -> tuple[Array, Array]:
        """Return places (..., 2) beside the path, and the heading there; ``time_s`` as in at. [m], [rad]"""
        place, heading, _ = self.at(distance_m, time_s)
        across = np.stack([-np.sin(heading), np.cos(heading)], axis=-1)
        return place + np.asarray(left_m)[..., None] * across, heading

    def distance_m(self, time_s: Array, order: int = 0) -> Array:
        """Return the distance along the path at moments, or its first or second derivative. [m]"""
        if isinstance(self.pace, Pace):
            return self.pace.distance_m(time_s, order)
        time = np.asarray(time_s, dtype=np.float64)
        if len(self.pace) == 2:
            (start_s, start_m), (end_s, end_m) = self.pace
            speed = (end_m - start_m) / (end_s - start_s)
            if order == 0:
                return np.asarray(start_m + speed * (time - start_s))
            return np.full_like(time, speed if order == 1 else 0.0)
        times = np.array([moment for moment, _ in self.pace])
        gone = np.array([distance for _, distance in self.pace])
        value = np.interp(time, times, gone) if order == 0 else np.zeros_like(time)
        for first, last in _moving(gone):
            inside = (time >= times[first]) & (time < times[last])
            value[inside] = _smooth(self.pace[first : last + 1])(time[inside], order)
        return value

    def frames(self, time_s: Array, ahead_m: float = 0.0) -> Frames:
        """Return the frame that goes along with the body at moments (samples,). [s]

        ``ahead_m`` is where, ahead of its root, a straight body touches the path with its middle. [m]
        """
        place, heading, curvature = self.at(self.distance_m(time_s) + ahead_m, time_s)
        place = place - ahead_m * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
        speed = self.distance_m(time_s, 1)
        acceleration = np.stack([self.distance_m(time_s, 2), speed**2 * curvature], axis=-1)
        if not self.spins:
            return Frames(place, heading, speed, acceleration)
        turning = np.zeros_like(speed)
        for spin in self.spins:
            rate, more = spin.rates(time_s)
            ahead, left = spin.middle_m - spin.pivot_m[0], -spin.pivot_m[1]
            acceleration[:, 0] -= more * left + rate**2 * ahead
            acceleration[:, 1] += more * ahead - rate**2 * left
            turning += more
        return Frames(place, heading, speed, acceleration, turning)


def gone_ahead_m(place_m: Array, heading_rad: Array) -> Array:
    """Return how far a body has gone ahead or back along its way, but not aside, (frames,). [m]

    Parameters
    ----------
    place_m, heading_rad
        (frames, 2 or 3) where it is, and (frames,) facing where. [m], [rad]
    """
    faces = np.stack([np.cos(heading_rad), np.sin(heading_rad)], axis=1)
    steps = np.diff(place_m[:, :2], axis=0) * (faces[1:] + faces[:-1]) / 2.0
    return np.concatenate([[0.0], np.cumsum(np.abs(steps.sum(axis=1)))])


def _smooth(stretch: tuple[tuple[float, float], ...]) -> CubicSpline:
    """Return the spline through the moments of one stretch, at rest at both ends."""
    from scipy.interpolate import CubicSpline

    return CubicSpline([moment for moment, _ in stretch], [gone for _, gone in stretch], bc_type="clamped")


def _moving(gone_m: Array) -> list[tuple[int, int]]:
    """Find the stretches of moments between which the distance changes: first and last of each."""
    moves = np.diff(gone_m) != 0.0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], moves, [False]]).astype(np.int64)))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]
