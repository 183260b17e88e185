"""Flights of steps: where treads follow each other evenly, strides take the length of whole treads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.numerics.curves import ramp
from gaitgen.shot.cycle import Cycle

Array = npt.NDArray[np.float64]

# The ground is looked at so closely for edges, and what rises by so much there is one (estimates). [m]
LOOK_M, LEAST_RISE_M = 0.005, 0.02
# Treads of a flight differ in length by such a share of it at the most, and there are so many edges at least.
ALIKE, LEAST_EDGES = 0.12, 3
# A stride on a flight takes about such a share of its length on the level, up and down, and rises by so many
# hip heights at the most; one of an odd number of treads, whose left and right feet land half a tread apart,
# is as much worse than one whose length differs by this (estimates). As logarithms, but the rise.
USUAL_UP, USUAL_DOWN, HIGHEST, ODD = 0.75, 0.75, 0.4, 0.15
# Over so many strides before a flight an animal fits its steps, by such a share at the most (estimates).
FITTED_STRIDES, FITTED = 2.0, 0.3
TRIED = 61
FELT_M = 2.0  # so far from a flight its slope slows down what goes on the level (shot/slowing.py)
# On a flight, where legs reach as far ahead as behind, feet land farther ahead of the body than on the level
# by so many hip heights for each unit of slope, in LIMBS order (measured on what is made of dogs, cats, goats
# and horses: .4 to .6 and .8 to 1.0 up, 1.1 to 1.3 and .8 to 1.1 down).
LANDS_UP, LANDS_DOWN = np.array([0.5, 0.5, 0.9, 0.9]), np.array([1.2, 1.2, 1.0, 1.0])
# What is left of the speed goes over into that of a flight within such a share of a stride (estimate).
OVER_STRIDES = 0.4


@dataclass(frozen=True)
class Flight:
    """Steps one after the other.

    Attributes
    ----------
    first_m, last_m
        The first and the last edge, along the path. [m]
    tread_m, rise_m
        From edge to edge, and up at each; down is less than nothing. [m]
    """

    first_m: float
    last_m: float
    tread_m: float
    rise_m: float


@dataclass(frozen=True, eq=False)
class Striding:
    """How feet follow each other, at the moments of a pace.

    Attributes
    ----------
    fits_treads
        Whether strides take whole treads of steps.
    count, down
        (samples, 4) strides of each foot, and the share of one that it is down.
    cycles, share
        The cycles of a shot, and (samples, cycles) how far each counts.
    frame_rate_hz
        Frames per second. [Hz]
    """

    fits_treads: bool
    count: Array
    down: Array
    cycles: tuple[Cycle, ...]
    share: Array
    frame_rate_hz: float

    @property
    def stride_m(self) -> Array:
        """(samples,) length of a stride on the level. [m]"""
        each = [cycle.speed_m_s * cycle.frames / self.frame_rate_hz for cycle in self.cycles]
        return np.asarray(self.share @ np.array(each))

    def middles(self, limb: int, level: Pace) -> tuple[Array, Array]:
        """Return when a foot is half-way through each stance, and how far ahead of the body. [s], [m]"""
        middle = self.count[:, limb] - self.down[:, limb] / 2.0
        numbers = np.arange(np.ceil(middle[0]), np.floor(middle[-1]) + 1.0)
        moment_s = np.interp(numbers, middle, level.time_s)
        ahead = self.share @ np.array([cycle.centre_m[limb] for cycle in self.cycles])
        return moment_s, np.interp(moment_s, level.time_s, ahead)


def edges_along(ground: Ground, path: Path, first_m: float, last_m: float) -> tuple[Array, Array]:
    """Find the edges of steps between two places along a path: where, and how high each is, (edges,). [m]"""
    along = np.arange(first_m, last_m, LOOK_M)
    rises = np.diff(ground.known_m(path.at(along)[0]))
    found = np.flatnonzero(np.abs(np.nan_to_num(rises)) > LEAST_RISE_M)
    return along[found] + LOOK_M / 2.0, rises[found]


def flights_along(ground: Ground, path: Path, first_m: float, last_m: float) -> tuple[Flight, ...]:
    """Find the flights between two places along a path."""
    if ground.is_even:
        return ()
    at, rises = edges_along(ground, path, first_m, last_m)
    found: list[Flight] = []
    first = 0
    for after in range(1, at.size + 1):
        treads = np.diff(at[first : after + 1])
        goes_on = after < at.size and rises[after] * rises[first] > 0.0
        if goes_on and np.ptp(treads) <= ALIKE * treads.mean():
            continue
        if after - first >= LEAST_EDGES:
            tread = float(at[after - 1] - at[first]) / (after - 1 - first)
            mean = float(rises[first:after].mean())
            found.append(Flight(float(at[first]), float(at[after - 1]), tread, mean))
        first = after
    return tuple(found)


def treads_of(flight: Flight, stride_m: float, hip_height_m: float) -> int:
    """Return how many treads of a flight a stride takes that is so long on the level. [m]"""
    usual = USUAL_UP if flight.rise_m > 0.0 else USUAL_DOWN
    most = max(1, int(HIGHEST * hip_height_m / abs(flight.rise_m)))
    numbers = np.arange(1, most + 1)
    off = np.abs(np.log(numbers * flight.tread_m / (usual * stride_m))) + ODD * (numbers % 2)
    return int(numbers[off.argmin()])


def on_flights(
    along: Array,
    left: Array,
    level: Pace,
    flights: tuple[Flight, ...],
    striding: Striding,
    begins_m: float,
) -> Array:
    """Let strides on flights take whole treads, and feet land in the middle of these.

    Parameters
    ----------
    along, left
        (places,) along the path, and what is left of the speed there. [m]
    level
        The pace as it would be on level ground.
    flights, striding
        The steps, and how feet follow each other.

    Returns
    -------
    What is left of the speed, (places,).
    """
    for flight in flights:  # one after the other: each is come to as the one before has been left
        stretch = _stretch(flight, along, left, level, striding)
        left = left + stretch.beside(along) * np.maximum(stretch.left - left, 0.0)
        left = left + stretch.inside(along) * (stretch.left - left)
        off_m = _off_m(flight, along, left, level, striding)
        left = left * _fitted(stretch, along, left, off_m, begins_m)
        begins_m = stretch.last_m
    return left


@dataclass(frozen=True)
class _Stretch:
    """Where the body is as its feet are on a flight, what is left of its speed, and its stride there."""

    first_m: float
    last_m: float
    left: float
    stride_m: float

    def inside(self, along: Array) -> Array:
        """Tell how far places are on it, (places,)."""
        return self._within(along, OVER_STRIDES * self.stride_m)

    def beside(self, along: Array) -> Array:
        """Tell how far places are on it or near enough for its slope to be felt, (places,)."""
        return self._within(along, FELT_M)

    def _within(self, along: Array, over: float) -> Array:
        return ramp((along - self.first_m + over) / over) * ramp((self.last_m + over - along) / over)


def gone_m(along: Array, left: Array, level: Pace) -> Array:
    """Return where along the path a body is that has so much left of its speed, (samples,). [m]"""
    step = along[1] - along[0]
    whole = np.concatenate([[0.0], np.cumsum(step / ((left[1:] + left[:-1]) / 2.0))])
    whole -= np.interp(0.0, along, whole)
    return np.interp(level.distance_m(level.time_s), whole, along)


def _stretch(flight: Flight, along: Array, left: Array, level: Pace, striding: Striding) -> _Stretch:
    """Find the stretch of a flight."""
    middle_m = (flight.first_m + flight.last_m) / 2.0
    half_s = np.interp(middle_m, gone_m(along, left, level), level.time_s)
    row = min(int(np.searchsorted(level.time_s, half_s)), level.time_s.size - 1)
    cycle = striding.cycles[int(striding.share[row].argmax())]
    stride_m = float(striding.stride_m[row])
    treads = treads_of(flight, stride_m, cycle.animal.hip_height_m)
    centres, half = cycle.centre_m, flight.tread_m / 2.0
    first_m, last_m = flight.first_m + half - centres.max(), flight.last_m + half - centres.min()
    return _Stretch(float(first_m), float(last_m), treads * flight.tread_m / stride_m, stride_m)


def _off_m(flight: Flight, along: Array, left: Array, level: Pace, striding: Striding) -> float:
    """Return how much farther ahead the body has to be for feet to land in the middle of treads. [m]"""
    gone, tread = gone_m(along, left, level), flight.tread_m
    slope, hip_m = flight.rise_m / tread, striding.cycles[0].animal.hip_height_m
    lands = (LANDS_UP if slope > 0.0 else LANDS_DOWN) * slope * hip_m
    found = []
    for limb in range(striding.count.shape[1]):
        moment_s, ahead = striding.middles(limb, level)
        place = np.interp(moment_s, level.time_s, gone) + ahead + lands[limb]
        on = (place > flight.first_m - tread / 2.0) & (place < flight.last_m + tread / 2.0)
        found.append(place[on])
    tried = tread * np.linspace(-0.5, 0.5, TRIED)[:, None]
    off = (np.concatenate(found) - flight.first_m + tried) / tread % 1.0 - 0.5
    return float(tried[(off**2).sum(axis=1).argmin(), 0])


def _fitted(stretch: _Stretch, along: Array, left: Array, off_m: float, begins_m: float) -> Array:
    """Return by which factor steps before a flight are longer, so that the body is farther ahead on it."""
    last = stretch.first_m
    first = max(begins_m, last - FITTED_STRIDES * stretch.stride_m)
    if last - first < LOOK_M:
        return np.ones_like(left)
    here = bump_between(along, first, last)
    tried = np.linspace(-FITTED, FITTED, TRIED)
    sooner = ((1.0 - 1.0 / (1.0 + tried[:, None] * here)) / left).sum(axis=1) * (along[1] - along[0])
    more = np.interp(off_m / stretch.left, sooner, tried)
    return np.asarray(1.0 + more * here)


def bump_between(along: Array, first_m: float, last_m: float) -> Array:
    """Return a smooth bump between two places, (places,)."""
    share = (along - first_m) / (last_m - first_m)
    return ramp(2.0 * share) * ramp(2.0 * (1.0 - share))
