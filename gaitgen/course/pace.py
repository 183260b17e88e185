"""How far along its path a body has gone at each moment, as a smooth curve."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.errors import CourseError

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Pace:
    """Speeds at moments, smooth between them; before the first and after the last the speed stays.

    Attributes
    ----------
    time_s, speed_m_s
        (moments,) rising moments, and the speed along the path at each. [s], [m/s]
    """

    time_s: Array
    speed_m_s: Array

    def __post_init__(self) -> None:
        """Lock the arrays and refuse what is no pace.

        Raises
        ------
        CourseError
            If the moments do not rise, or a speed is not finite.
        """
        if self.time_s.size < 2 or not np.all(np.diff(self.time_s) > 0.0):
            raise CourseError("the moments of a pace do not rise; give at least two, each after the last")
        if not np.isfinite(self.speed_m_s).all():
            raise CourseError("a speed of a pace is not finite; give numbers in m/s")
        for array in (self.time_s, self.speed_m_s):
            array.setflags(write=False)

    @cached_property
    def _curves(self) -> tuple[CubicSpline, CubicSpline, CubicSpline]:
        """Distance, speed and acceleration; the distance is 0 at second 0, or at the first moment."""
        from scipy.interpolate import CubicSpline

        speed = CubicSpline(self.time_s, self.speed_m_s, bc_type="clamped")
        return speed.antiderivative(), speed, speed.derivative()

    @cached_property
    def _begun_m(self) -> float:
        """Distance at second 0, or at the first moment, from which it is counted. [m]"""
        return float(self._curves[0](np.clip(0.0, self.time_s[0], self.time_s[-1])))

    def distance_m(self, time_s: Array, order: int = 0) -> Array:
        """Return the distance gone since second 0, or its first or second derivative. [m]"""
        time = np.asarray(time_s, dtype=np.float64)
        first, last = self.time_s[0], self.time_s[-1]
        inside = np.clip(time, first, last)
        value = self._curves[order](inside)
        if order == 0:
            beyond = np.where(time < first, self.speed_m_s[0], self.speed_m_s[-1]) * (time - inside)
            value = value + beyond - self._begun_m
        elif order == 2:
            value = np.where(time == inside, value, 0.0)
        return np.asarray(value)
