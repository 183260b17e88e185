"""What the body is to do under the forces, as terms of least squares, and what each is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.body.bumps import Stances
from gaitgen.body.mechanics import FREEDOMS
from gaitgen.body.wanted import LEAST_SHARE, Wanted
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# What one unit of each term weighs: the deviation that costs 1. Lengths are shares of the height at which the
# centre of mass stands, so that cats are held as firmly as elephants. Estimates, tuned on published forces.
STRUT = 0.0025  # an end of the body off its struts, while it walks
SWAY, SURGE, TURN_RAD = 0.010, 0.025, np.radians(0.8)
RUN_SURGE = 0.1
# Each end is carried over the feet that bear it, this firmly; the whole body may sway so much more freely
# then, and a running one roll.
OVER_FEET, FREER = 0.004, 2.0
PITCH_RAD = np.radians(1.5)  # at a run, of the whole body
RISE = 0.12  # the same, up and down: slow strides are carried level
STILL, STILL_RAD = 0.0004, 0.0005  # a standing body off its place
# Of a motion without a period: height of an end of the body, and its place along the path, over a stride. A
# walk that is held no firmer than a run lags behind its path, where its cycle is: its forces cost less there.
MEAN, MEAN_SURGE, RUN_MEAN_SURGE = 0.02, 0.003, 0.011
HELD = 0.0012  # an end of the body off a height that it is held at
LEAP_SURGE = 2.0  # times as freely a body that leaps may run ahead and fall behind
ENOUGH_HZ = 48.0


@dataclass(frozen=True, eq=False)
class Term:
    """One thing that the body is to do: a mix of its freedoms near a target.

    Attributes
    ----------
    mix
        Freedom to its share in the mix.
    target
        (samples,) [unit of the mix]
    unit
        Deviation that costs 1, the same always or (samples,). [unit of the mix]
    smooth
        (samples, samples) what is averaged before it is compared; None for nothing.
    has_mean
        Whether the mean counts; without it only what changes does.
    every
        How many moments there are to one that is looked at.
    """

    mix: Mapping[str, float]
    target: Array
    unit: float | Array
    smooth: Array | None = None
    has_mean: bool = True
    every: int = 1

    @property
    def units(self) -> float | Array:
        """The unit at the moments that are looked at."""
        return self.unit[:: self.every] if isinstance(self.unit, np.ndarray) else self.unit

    def is_mixed_alike(self, other: Term) -> bool:
        """Whether another, of the same moments and stances, mixes the same in the same units."""
        smooths = (self.smooth is None) == (other.smooth is None)
        how = self.mix == other.mix and self.every == other.every and smooths
        return how and np.array_equal(self.unit, other.unit)

    def mixed(self, freedoms: Mapping[str, Array]) -> Array:
        """Mix freedoms, (samples, ...) each, and divide by the unit: (moments, ...)."""
        moments = slice(None, None, self.every if self.smooth is None else None)
        mix = reduce(np.add, (share * freedoms[name][moments] for name, share in self.mix.items()))
        mix = mix if self.smooth is None else self.smooth[:: self.every] @ mix
        return np.asarray((mix.T / self.units).T)

    def missing(self, given: Array) -> Array:
        """Say what forces have to make, in units, beside what is given, (freedoms, samples): (moments,)."""
        freedoms = dict(zip(FREEDOMS, given, strict=True))
        missing = self.target[:: self.every] / self.units - self.mixed(freedoms)
        return missing if self.has_mean else self._without_mean(missing)

    def _without_mean(self, missing: Array) -> Array:
        away = missing * self.units
        return np.asarray((away - away.mean()) / self.units)


def motion_terms(grid: Grid, stances: Stances, wanted: Wanted, height_m: float) -> list[Term]:
    """List what the body is to do, besides the forces: least squares over all of it."""
    # Without a period there are many moments, and curves are smooth: some of them will do.
    some = 1 if grid.is_periodic else max(1, round(1.0 / (ENOUGH_HZ * grid.step_s)))
    # Terms of forces add up stance by stance, those of the motion moment by moment: both for one stride.
    many = float(np.sqrt(-(-grid.count // some) * len(LIMBS) / stances.count))
    zero, length_m = np.zeros(grid.count), many * height_m
    is_long = not grid.is_periodic or stances.count > len(LIMBS)  # than a stride
    smooth = stride_mean(grid, stances) if is_long else None
    terms = []
    for k, ahead in enumerate(wanted.ends_x_m):
        end, walks = {"z": 1.0, "pitch": ahead}, wanted.strut_share[:, k]
        if walks.max() > 0.0:
            firm = length_m * STRUT / np.maximum(walks, LEAST_SHARE)
            terms.append(Term(end, wanted.strut_m[:, k], firm, has_mean=not grid.is_periodic, every=some))
        if is_long:
            loose = length_m * MEAN / np.maximum(1.0 - walks, LEAST_SHARE) / wanted.alike
            terms.append(Term(end, zero, loose, smooth, has_mean=not grid.is_periodic, every=some))
        if wanted.held is not None and wanted.held_m is not None and wanted.held[:, k].max() > 0.0:
            firm = length_m * HELD / np.maximum(wanted.held[:, k], LEAST_SHARE)
            terms.append(Term(end, wanted.held_m[:, k], firm, every=some))
    running = 1.0 - wanted.strut_share.mean(axis=1)
    surge = (SURGE + running * (RUN_SURGE - SURGE)) * _freer(wanted)
    terms.append(Term({"x": 1.0}, zero, surge * length_m, every=some))
    terms += _sideways(wanted, length_m, many, some)
    if not grid.is_periodic:  # where its path is at each moment, taken over a stride
        firm = length_m * (MEAN_SURGE + running * (RUN_MEAN_SURGE - MEAN_SURGE)) * _freer(wanted)
        terms.append(Term({"x": 1.0}, zero, firm, smooth, every=some))
    if running.max() > 0.0:  # a running body is carried level, but for what a lame leg is spared
        share = np.maximum(running, LEAST_SHARE)
        (chest, hips), (chest_up, hips_up) = wanted.ends_x_m, wanted.rise_m.T
        pitch = (chest_up - hips_up) / (chest - hips)
        terms.append(Term({"pitch": 1.0}, pitch, many * PITCH_RAD / share / wanted.alike, every=some))
        if grid.is_periodic:
            terms.append(Term({"z": 1.0}, chest_up - chest * pitch, length_m * RISE / share, has_mean=False))
    if wanted.still.max() > 0.0:
        still = np.maximum(wanted.still, LEAST_SHARE)
        for name in FREEDOMS:
            unit = many * STILL_RAD if name in {"roll", "pitch", "yaw"} else length_m * STILL
            terms.append(Term({name: 1.0}, zero, unit / still, every=some))
    return terms


def _freer(wanted: Wanted) -> float | Array:
    """How many times as freely the body may run ahead and fall behind."""
    return 1.0 if wanted.leaps is None else 1.0 + (LEAP_SURGE - 1.0) * wanted.leaps


def _sideways(wanted: Wanted, length_m: float, many: float, every: int) -> list[Term]:
    """List what the body is to do to the sides."""
    zero, running = np.zeros(wanted.still.size), 1.0 - wanted.strut_share
    freer = 1.0 + wanted.sways.mean(axis=1) * (FREER - 1.0)
    rolls = 1.0 + (wanted.sways * running).mean(axis=1) * (FREER - 1.0)
    terms = [
        Term({"y": 1.0}, zero, freer * SWAY * length_m, every=every),
        Term({"roll": 1.0}, zero, rolls * TURN_RAD * many, every=every),
        Term({"yaw": 1.0}, zero, TURN_RAD * many, every=every),
    ]
    for k, ahead in enumerate(wanted.ends_x_m):
        if wanted.sways[:, k].max() > 0.0:
            firm = length_m * OVER_FEET / np.maximum(wanted.sways[:, k], LEAST_SHARE)
            terms.append(Term({"y": 1.0, "yaw": ahead}, wanted.over_feet_m[:, k], firm, every=every))
    return terms


@lru_cache(maxsize=1)  # it is asked for twice in a row
def stride_mean(grid: Grid, stances: Stances) -> Array:
    """Average over the local stride around each moment: (samples, samples), not to be written to."""
    middle = (stances.touchdown_s + stances.liftoff_s) / 2.0
    spans = []
    for limb in range(4):
        mine = np.sort(middle[stances.limb == limb])
        if mine.size > 1:
            centre = (mine[1:] + mine[:-1]) / 2.0
            spans.append(np.interp(grid.time_s, centre, np.diff(mine)))
    stride = np.mean(spans, axis=0) if spans else np.full(grid.count, grid.span_s)
    stride = np.clip(stride, 4.0 * grid.step_s, 2.0)
    away = np.abs(grid.time_s[:, None] - grid.time_s[None]) / stride[:, None]
    kernel = np.clip((0.5 - away) * stride[:, None] / grid.step_s + 0.5, 0.0, 1.0)
    kernel /= kernel.sum(axis=1, keepdims=True)
    kernel.setflags(write=False)
    return np.asarray(kernel)
