"""The ground: height and normal at any place; flat unless told otherwise."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import CourseError

Array = npt.NDArray[np.float64]

# Distance over which the slope of a ground that is given by its heights is read. [m]
SLOPE_STEP_M = 1e-3


@dataclass(frozen=True)
class Ground:
    """A plane.

    Attributes
    ----------
    grade
        Rise over run in the direction of steepest rise; 0 is flat, 0.1 climbs 10 %.
    uphill_rad
        That direction, to the left of x. [rad]
    """

    grade: float = 0.0
    uphill_rad: float = 0.0

    def height_m(self, place_m: Array) -> Array:
        """Height over places (..., 2): (...). [m]

        Raises
        ------
        CourseError
            If there is no ground at one of them.
        """
        up = self.grade * np.array([np.cos(self.uphill_rad), np.sin(self.uphill_rad)])
        return np.asarray(place_m @ up)

    @property
    def is_even(self) -> bool:
        """Whether it is a plane."""
        return True

    @property
    def has_steps(self) -> bool:
        """Whether it is made of steps."""
        return False

    @property
    def called(self) -> str:
        """What it is called in messages."""
        return "the ground"

    def hole(self, place_m: Array) -> CourseError:
        """Return the complaint about a hole at a place (2,). [m]"""
        x, y = place_m
        return CourseError(
            f"{self.called} has a hole at x {x:.2f} m, y {y:.2f} m, or ends before, where a foot or the body "
            "would be; give it a height there, or lead the path around it"
        )

    def known_m(self, place_m: Array) -> Array:
        """Height over places (..., 2), nan where there is none: (...). [m]"""
        return self.height_m(place_m)

    def normal(self, place_m: Array) -> Array:
        """Return the unit normal over places (..., 2): (..., 3)."""
        rise = self.grade * np.array([np.cos(self.uphill_rad), np.sin(self.uphill_rad)])
        normal = np.array([-rise[0], -rise[1], 1.0])
        return np.broadcast_to(normal / np.linalg.norm(normal), (*place_m.shape[:-1], 3))


@dataclass(frozen=True)
class Heights(Ground):
    """A ground that is known by its heights.

    Attributes
    ----------
    heights_m
        Function from places (..., 2) to heights (...); nan where there is a hole. [m]
    name
        What it is called in messages.
    rise_m
        The highest step in it; None where it has none but what its heights say. [m]
    where
        The line that asks for it, for messages; empty where there is none.
    """

    heights_m: Callable[[Array], Array] = lambda place_m: np.zeros(place_m.shape[:-1])
    name: str = "the ground"
    rise_m: float | None = None
    where: str = ""

    @property
    def is_even(self) -> bool:
        """Whether it is a plane."""
        return False

    @property
    def has_steps(self) -> bool:
        """Whether it is made of steps."""
        return self.rise_m is not None

    @property
    def called(self) -> str:
        """What it is called in messages."""
        return self.name

    def known_m(self, place_m: Array) -> Array:
        """Height over places (..., 2), nan where there is none: (...). [m]"""
        return np.asarray(self.heights_m(place_m), dtype=np.float64)

    def height_m(self, place_m: Array) -> Array:
        """Height over places (..., 2): (...). [m]"""
        heights = self.known_m(place_m)
        hole = ~np.isfinite(heights)
        if hole.any():
            raise self.hole(place_m[hole][0])
        return heights

    def normal(self, place_m: Array) -> Array:
        """Return the unit normal over places (..., 2): (..., 3), by central differences."""
        step = SLOPE_STEP_M * np.eye(2)
        rises = [
            (self.height_m(place_m + s) - self.height_m(place_m - s)) / (2.0 * SLOPE_STEP_M) for s in step
        ]
        normal = np.stack([-rises[0], -rises[1], np.ones_like(rises[0])], axis=-1)
        return np.asarray(normal / np.linalg.norm(normal, axis=-1, keepdims=True))


FLAT = Ground()
