"""Evenly spaced moments, with or without a period: the one place that differentiates, integrates, filters."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.numerics import curves
from gaitgen.numerics.curves import Each

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """Moments on which curves are sampled.

    Attributes
    ----------
    start_s, step_s
        First moment, and time between two. [s]
    count
        Number of samples.
    is_periodic
        Whether the last sample is one step before the first of the next period.
    local_s
        Without a period: the time around each moment over which its mean, and its largest value, are taken;
        0 takes them over all moments. [s]
    """

    start_s: float
    step_s: float
    count: int
    is_periodic: bool
    local_s: float = 0.0

    @cached_property
    def time_s(self) -> Array:
        """(samples,) the moments. [s]"""
        return np.asarray(self.start_s + self.step_s * np.arange(self.count, dtype=np.float64))

    @property
    def span_s(self) -> float:
        """Length: the period, or from the first to the last moment. [s]"""
        return self.step_s * (self.count if self.is_periodic else self.count - 1)

    def derivative(self, values: Array, order: int = 1) -> Array:
        """Differentiate along the first axis. [per s ** order]"""
        return curves.derivative(values, self.step_s, order, periodic=self.is_periodic)

    def twice_integrated(self, acceleration: Array) -> Array:
        """Integrate twice along the first axis.

        With a period: the one answer whose mean, and whose mean acceleration, is zero. Without one: the
        answer that starts at zero and at rest (a cubic a step, exact for an acceleration that is straight
        between samples).
        """
        if self.is_periodic:
            return curves.twice_integrated(acceleration, self.step_s)
        first, second = acceleration[:-1], acceleration[1:]
        speed, place = np.zeros_like(acceleration), np.zeros_like(acceleration)
        np.add(first, second, out=speed[1:])
        speed[1:] *= self.step_s / 2.0
        np.cumsum(speed[1:], axis=0, out=speed[1:])
        np.multiply(speed[:-1], self.step_s, out=place[1:])
        grown = 2.0 * first
        grown += second
        grown *= self.step_s**2 / 6.0
        place[1:] += grown
        np.cumsum(place[1:], axis=0, out=place[1:])
        return place

    def oscillated(self, drive: Array, frequency_hz: Each, damping_ratio: Each) -> Array:
        """Solve a'' + 2 z w a' + w^2 a = drive along the first axis. [unit of drive x s^2]

        Frequency and damping are one for all, or one for each column of (samples, columns).
        """
        return curves.oscillate(drive, frequency_hz, damping_ratio, self.step_s, periodic=self.is_periodic)

    def smoothed(self, values: Array, frequency_hz: Each, damping_ratio: Each = 0.8) -> Array:
        """Let a curve be felt as through a damped spring: it comes a little late, without corners.

        Frequency and damping as in `oscillated`. Without a period the spring has settled on the first value.
        """
        first = self._settled(values)
        drive = (values - first) * (2.0 * np.pi * np.asarray(frequency_hz)) ** 2
        return first + self.oscillated(drive, frequency_hz, damping_ratio)

    def smoothed_on(self, values: Array, frequency_hz: Each, damping_ratio: float, times: int) -> Array:
        """Smooth columns (samples, columns) again and again: (samples, times, columns)."""
        if self.is_periodic:
            return curves.smoothed_on(values, frequency_hz, damping_ratio, self.step_s, times)
        smooth = []
        for _ in range(times):
            values = self.smoothed(values, frequency_hz, damping_ratio)
            smooth.append(values)
        return np.stack(smooth, axis=1)

    def followed(self, base: Array, pushed: Array, frequency_hz: Each, damping_ratio: float) -> Array:
        """Let what is sprung and damped to a base follow it, pushed as another moves: (samples, columns).

        Frequency as in `oscillated`.
        """
        return curves.follow(
            base, pushed, frequency_hz, damping_ratio, self.step_s, periodic=self.is_periodic
        )

    def _settled(self, values: Array) -> Array:
        return np.zeros_like(values[:1]) if self.is_periodic else values[:1].copy()

    def without_mean(self, values: Array) -> Array:
        """Take the mean over all moments away; the local one, where the grid has such."""
        return np.asarray(values - self.mean(values))

    def mean(self, values: Array) -> Array:
        """Return the mean over all moments, or the local one at each."""
        if self._is_local:
            return curves.local_mean(values, self._local)
        return np.asarray(np.add.reduce(values) / values.shape[0])

    def largest(self, values: Array) -> Array:
        """Return the largest value over all moments, or a smooth curve over the local ones."""
        if self._is_local:
            return curves.envelope(values, self._local)
        return np.asarray(values.max(axis=0))

    def part(self, first: int, after: int) -> Grid:
        """Return the moments from one to before another as a grid without a period."""
        start_s = self.start_s + first * self.step_s
        return Grid(start_s, self.step_s, after - first, is_periodic=False, local_s=self.local_s)

    @property
    def _is_local(self) -> bool:
        return self.local_s > 0.0 and not self.is_periodic

    @property
    def _local(self) -> int:
        return max(1, round(self.local_s / self.step_s))
