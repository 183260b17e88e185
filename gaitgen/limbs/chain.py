"""All limbs as chains in a plane, in complex numbers (real = forward, imaginary = up), with one unknown each.

Angles are directions of bones from the trunk to the foot, counter-clockwise from forward, as seen from the
animal's right. Bones above the one that points the limb follow the line to the foot; below it, every joint
opens by a given angle and by its share of one unknown (a horse's hind leg binds hock to stifle so). Limbs of
fewer bones are filled up with bones of no length, so that all are solved in one batch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.turns import direction

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]
Bools = npt.NDArray[np.bool_]

EULER_STEPS = 12
ENOUGH_RAD = 3e-4  # the next step would be of the order of its cube
LEAST_GROWTH = 1e-12  # a limb that is as long as it can be grows by no less [m^2/rad]
# What may change over time, where an animal goes over from one gait to another: (samples, ...) then.
CHANGING = ("follows", "opens", "low", "straight", "high")
# A limb is never longer than this share of its bones laid end to end.
REACH_SHARE = 0.985


@dataclass(frozen=True, eq=False)
class Chains:
    """The limbs of one animal as arrays; limbs in LIMBS order, bones from the top, foot left out.

    Attributes
    ----------
    bones
        (4, bones) each bone, standing, in the plane of its limb. [m]
    across_m
        (4,) how far the foot joint is to the left of the top of the limb, standing. [m]
    is_above
        (4, bones) whether the bone is above the one that points the limb.
    follows
        (4, bones) turn in space for that of the line to the foot.
    sign, opens
        (4, bones) turn in the plane for an opening of the joint; opening for the unknown.
    standing_rad
        (4, bones) included angle of the joint at the top of each bone, standing. [rad]
    low, straight, high
        (4,) least, straightest and greatest unknown. [rad]
    """

    bones: Complex
    across_m: Array
    is_above: Bools
    follows: Array
    sign: Array
    opens: Array
    standing_rad: Array
    low: Array
    straight: Array
    high: Array

    @cached_property
    def standing_line_rad(self) -> Array:
        """(4,) direction of the line from the top of each limb to its foot joint, standing. [rad]"""
        return np.asarray(np.angle(self.bones.sum(axis=1)))

    @cached_property
    def most_above(self) -> int:
        """How many bones, at the most, are above the pointing one."""
        return int(self.is_above.sum(axis=1).max())

    @cached_property
    def above(self) -> Complex:
        """(4, most bones above) the bones above the pointing one. [m]"""
        return np.where(self.is_above, self.bones, 0.0)[:, : self.most_above]

    @cached_property
    def rate(self) -> Array:
        """(4, bones) turn of each bone against the pointing one for that of the unknown."""
        return np.cumsum(self.sign * self.opens, axis=-1)

    @cached_property
    def rates(self) -> Array:
        """(rates, 4) the rates of each limb that differ, the first of them 0; filled up with 0."""
        own = [sorted(set(row) - {0.0}) for row in self.rate.tolist()]
        rates = np.zeros((1 + max(map(len, own)), len(own)))
        for limb, each in enumerate(own):
            rates[1 : 1 + len(each), limb] = each
        return rates

    @cached_property
    def at_rate(self) -> Complex:
        """(rates, 4, bones) each bone from the pointing one on, at the rate at which it turns."""
        is_its = self.rate == self.rates[..., None]
        is_its[1:] &= self.rates[1:, :, None] != 0.0
        return np.where(is_its, self.below, 0.0)

    @cached_property
    def whole_m(self) -> Array:
        """(4,) length of the bones from the pointing one on, laid end to end. [m]"""
        return np.asarray(np.abs(self.below).sum(axis=-1))

    @cached_property
    def below(self) -> Complex:
        """(4, bones) the bones from the pointing one on; no length above. [m]"""
        return np.where(self.is_above, 0.0, self.bones)

    def laid(self, given: Array) -> Laid:
        """Lay the bones out from the pointing one on, that one as it stands.

        Parameters
        ----------
        given
            (samples, 4, bones) turn of each bone against the one above, without the unknown. [rad]
        """
        turn = np.cumsum(given, axis=-1)
        if self.opens.ndim > 2:  # bones that open alike at one moment do not at another
            moving = np.moveaxis(direction(turn) * self.below, -1, 0)
            return Laid(self, turn, np.zeros_like(moving[0]), moving, np.moveaxis(self.rate, -1, 0))
        still, *alike = np.einsum("slb,rlb->rsl", direction(turn), self.at_rate)
        return Laid(self, turn, still, np.stack(alike), self.rates[1:, None])

    def at(self, rows: npt.NDArray[np.int64]) -> Chains:
        """Return the limbs at some moments, if they change over time."""
        if self.opens.ndim == 2:
            return self
        here: dict[str, Any] = {name: getattr(self, name)[rows] for name in CHANGING}
        return replace(self, **here)


@dataclass(frozen=True, eq=False)
class Laid:
    """The limbs with all that is given laid out: bones that the unknown turns alike are as one.

    Attributes
    ----------
    chains
        The limbs.
    turn_rad
        (samples, 4, bones) turn of each bone against the pointing one, but for the unknown. [rad]
    still_m, moving_m
        (samples, 4) sum of the bones that the unknown does not turn, and (rates, samples, 4) of those
        that it turns at each rate. [m]
    rates
        (rates, samples or 1, 4) turn of these bones for that of the unknown.
    """

    chains: Chains
    turn_rad: Array
    still_m: Complex
    moving_m: Complex
    rates: Array

    def at(self, rows: npt.NDArray[np.int64]) -> Laid:
        """Return the limbs at some of the samples."""
        rates = self.rates if self.rates.shape[1] == 1 else self.rates[:, rows]
        turn, still, moving = self.turn_rad[rows], self.still_m[rows], self.moving_m[:, rows]
        return Laid(self.chains.at(rows), turn, still, moving, rates)

    @cached_property
    def _rate(self) -> tuple[Array, Complex]:
        """(rates, samples, 4) rates for every sample, as lengths and turns are multiplied by them often."""
        rate = np.ascontiguousarray(np.broadcast_to(self.rates, self.moving_m.shape))
        return rate, rate.astype(np.complex128)

    def vector(self, unknown: Array) -> tuple[Complex, Complex]:
        """Return the vector to the foot joint, (samples, 4) [m], and its slope with the unknown [m/rad]."""
        vector, aside, _ = self._curve(unknown)
        return vector, 1j * aside

    def _curve(self, unknown: Array) -> Complex:
        """Return the vector to the foot joint, its slope / 1j and its bend / -1, (3, samples, 4). [m]"""
        rate, factor = self._rate
        parts = np.empty((3, *self.moving_m.shape), dtype=np.complex128)
        np.multiply(self.moving_m, direction(rate * unknown), out=parts[0])
        np.multiply(parts[0], factor, out=parts[1])
        np.multiply(parts[1], factor, out=parts[2])
        curve: Complex = np.add.reduce(parts, axis=1)
        curve[0] += self.still_m
        return curve

    def growth(self, unknown: Array) -> tuple[Array, Array, Array]:
        """Return the length squared, how half of it grows with the unknown, and how that changes."""
        vector, aside, bent = self._curve(unknown)
        grows = vector.imag * aside.real - vector.real * aside.imag
        more = _squared(aside) - vector.real * bent.real - vector.imag * bent.imag
        return _squared(vector), grows, more

    @cached_property
    def longest_m(self) -> Array:
        """(samples, 4) the longest reach that is used. [m]"""
        length = np.abs(self.vector(np.broadcast_to(self.chains.straight, self.still_m.shape))[0])
        return np.asarray(np.minimum(length, REACH_SHARE * self.chains.whole_m))

    @cached_property
    def shortest_m(self) -> Array:
        """(samples, 4) the reach of a limb that is folded as far as it goes. [m]"""
        return np.asarray(np.abs(self.vector(np.broadcast_to(self.chains.low, self.still_m.shape))[0]))

    @cached_property
    def longest_rad(self) -> Array:
        """(samples, 4) the unknown at which a limb is longest: open as far as it goes, or short of that.

        A limb with a folded joint may be longest before it is open, and beyond that there is a second unknown
        of the same length, on the other side, to which no limb goes over by itself. [rad]
        """
        shape = self.still_m.shape
        longest = np.broadcast_to(self.chains.high, shape)
        shrinks = self.growth(longest)[1] < 0.0
        if not shrinks.any():
            return longest
        some, low = self._some(shrinks), np.broadcast_to(self.chains.low, shape)[shrinks]
        longest, high = longest.copy(), longest[shrinks]
        unknown = high
        for _ in range(EULER_STEPS):
            _, grows, more = some.growth(unknown)
            low, high = np.where(grows > 0.0, unknown, low), np.where(grows > 0.0, high, unknown)
            moved = unknown - grows / np.fmin(more, -LEAST_GROWTH)
            moved = np.where((moved > low) & (moved < high), moved, (low + high) / 2.0)
            is_there = np.abs(moved - unknown).max() < ENOUGH_RAD
            unknown = moved
            if is_there:
                break
        longest[shrinks] = unknown
        return longest

    def solve(
        self, target_m: Complex, start: Array | None = None, *, as_far_as_can: bool | Bools = False
    ) -> tuple[Array, Array]:
        """Find the unknown that makes each limb as long as its target, short of its longest.

        By Euler's method, on half of the length squared: to where the parabola through its value, slope and
        bend is right, which for a limb that is nearly straight, or folded, is closer than a straight line.

        Parameters
        ----------
        target_m
            (samples, 4) foot joint from the joint of the pointing bone. [m]
        start
            (samples, 4) an unknown that is near, if one is known. [rad]
        as_far_as_can
            Whether a limb that cannot reach its target points at it, as long or as short as it can be; for
            all of them, or (samples, 4).

        Returns
        -------
        turn
            (samples, 4, bones) turn of each bone from standing, in the plane, from the pointing one on;
            nan where the target is out of reach, if not as far as it can. [rad]
        unknown
            (samples, 4). [rad]
        """
        point, unknown = self.pointed(target_m, start, as_far_as_can=as_far_as_can)
        return self.turn_rad + self.chains.rate * unknown[..., None] + point[..., None], unknown

    def pointed(
        self, target_m: Complex, start: Array | None = None, *, as_far_as_can: bool | Bools = False
    ) -> tuple[Array, Array]:
        """Find only how the pointing bone is turned, and the unknown, each (samples, 4), as `solve`. [rad]"""
        far_2, low, high = _squared(target_m), self.chains.low, self.longest_rad
        unknown = np.fmin(np.zeros(far_2.shape) if start is None else start, high)
        for _ in range(EULER_STEPS):
            length_2, grows, more = self.growth(unknown)
            beyond = length_2 - far_2  # twice what it is too long by
            root = np.sqrt(np.fmax(grows * grows - beyond * more, 0.0))
            # What leaves its bracket goes to its end, where a limb that does not reach stays.
            moved = np.fmin(np.fmax(unknown - beyond / np.fmax(grows + root, LEAST_GROWTH), low), high)
            change = float(np.abs(moved - unknown).max())
            unknown = moved
            if change < ENOUGH_RAD:
                break
        vector = self.still_m + np.add.reduce(self.moving_m * direction(self._rate[0] * unknown))
        point = np.angle(target_m) - np.angle(vector)
        if as_far_as_can is not True:
            point = np.where(as_far_as_can | (np.abs(np.abs(vector) - np.sqrt(far_2)) < 1e-7), point, np.nan)
        return point, unknown

    def turned_rad(self, bone: npt.NDArray[np.int64], point_rad: Array, unknown: Array) -> Array:
        """Turn one bone of each limb, (4,), as `solve` does from what is `pointed`: (samples, 4). [rad]"""
        own = np.arange(bone.size), bone
        return self.turn_rad[:, *own] + self.chains.rate[..., *own] * unknown + point_rad

    def _some(self, which: Bools) -> Laid:
        """Return some limbs at some moments, (samples, 4), in one row; of these lengths alone are asked."""
        rates = np.broadcast_to(self.rates, self.moving_m.shape)[:, which]
        return replace(self, still_m=self.still_m[which], moving_m=self.moving_m[:, which], rates=rates)


def _squared(vector: Complex) -> Array:
    """Return the square of the length of vectors (...)."""
    return np.asarray(vector.real * vector.real + vector.imag * vector.imag)
