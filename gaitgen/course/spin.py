"""A body that turns on the spot: about what point, when, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.curves import even_travel, ramp, within_one

Array = npt.NDArray[np.float64]

MOST_EASE = 0.45  # of the time of a turn, that it takes to come into it, and out of it


@dataclass(frozen=True)
class Spin:
    """One turn on the spot, which begins and ends at rest.

    Attributes
    ----------
    start_s, end_s
        When it begins and ends. [s]
    turn_rad
        How far to the left. [rad]
    ease_s
        So long it takes to come into it, and out of it. [s]
    pivot_m
        The point that stays where it is, ahead of under the root and to the left. [m]
    middle_m
        How far ahead of its root the body has its middle. [m]
    at_m
        How far along its path the body is then. [m]
    """

    start_s: float
    end_s: float
    turn_rad: float
    ease_s: float
    pivot_m: tuple[float, float]
    middle_m: float
    at_m: float

    @property
    def _ease(self) -> float:
        return min(MOST_EASE, self.ease_s / (self.end_s - self.start_s))

    def turned_rad(self, time_s: Array) -> Array:
        """Return how far it has turned at moments (...). [rad]"""
        share = (np.asarray(time_s) - self.start_s) / (self.end_s - self.start_s)
        return self.turn_rad * even_travel(share, self._ease, self._ease)

    def rates(self, time_s: Array) -> tuple[Array, Array]:
        """Return how fast it turns at moments (...), and how that changes. [rad/s], [rad/s^2]"""
        span, ease = self.end_s - self.start_s, self._ease
        share = within_one((np.asarray(time_s) - self.start_s) / span)
        fastest = self.turn_rad / (span * (1.0 - ease))
        inside, is_late = np.minimum(share, 1.0 - share) / ease, share > 0.5
        within = within_one(inside)
        steep = 30.0 * within**2 * (1.0 - within) ** 2 / (ease * span)
        return fastest * ramp(inside), fastest * np.where(is_late, -steep, steep)


def rotated(place_m: Array, about_m: Array, angle_rad: Array) -> Array:
    """Turn places (..., 2) to the left about a point (2,) by angles (...). [m], [rad]"""
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    x, y = place_m[..., 0] - about_m[0], place_m[..., 1] - about_m[1]
    return np.stack([about_m[0] + cos * x - sin * y, about_m[1] + sin * x + cos * y], axis=-1)
