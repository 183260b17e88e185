"""What each limb must span to hold its foot, and whether it can."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.body.trunk import Trunk
from gaitgen.limbs.chain import Complex
from gaitgen.limbs.given import Given
from gaitgen.numerics.turns import direction

Array = npt.NDArray[np.float64]

# A limb that reaches for what is farther ahead or behind than this share of its length falls short.
NEARLY = 0.999


@dataclass(frozen=True, eq=False)
class Reach:
    """Where the limbs must reach to, in their planes.

    Attributes
    ----------
    top_m
        (samples, 4, 3) top of each limb. [m]
    goes
        (samples, 4) where the plane of each limb goes: forward and, imaginary, to the left, of length 1.
    left_m, up_m
        (samples, 4) foot joint from the top of its limb, across that heading. [m]
    across_m
        (4,) foot joint from the top of its limb, out of the limb's plane. [m]
    target_m
        (samples, 4) foot joint from the joint of the pointing bone, in the plane. [m]
    above_rad
        (samples, 4, most bones above) turn of the bones above the pointing one. [rad]
    longest_m
        (samples, 4) the longest reach that is used. [m]
    """

    top_m: Array
    goes: Complex
    left_m: Array
    up_m: Array
    across_m: Array
    target_m: Complex
    above_rad: Array
    longest_m: Array

    @cached_property
    def shortfall_m(self) -> Array:
        """(samples, 4) how much lower each top must come for its limb to reach; below 0 for room. [m]"""
        ahead, longest = np.abs(self.target_m.real), self.longest_m
        near = np.minimum(ahead, NEARLY * longest)
        return np.asarray(ahead - near - self.target_m.imag - np.sqrt(longest * longest - near * near))

    @cached_property
    def tilt_rad(self) -> Array:
        """(samples, 4) tilt of the plane of each limb about its heading. [rad]"""
        across = np.clip(self.across_m / np.hypot(self.left_m, self.up_m), -1.0, 1.0)
        return np.arctan2(self.up_m, self.left_m) + np.arccos(across)


def tops_m(trunk: Trunk, given: Given) -> Array:
    """Find the tops of the limbs, (samples, 4, 3). [m]"""
    return np.asarray(trunk.root_m[:, None] + given.top_m @ np.swapaxes(trunk.pelvis, 1, 2))


def reach_for(trunk: Trunk, feet_m: Array, goes: Complex, given: Given) -> Reach:
    """Find what each limb of a trunk must span, as `reach_from` its tops."""
    return reach_from(tops_m(trunk, given), feet_m, goes, given)


def reach_from(top_m: Array, feet_m: Array, goes: Complex, given: Given) -> Reach:
    """Find what each limb must span, and whether it can.

    Parameters
    ----------
    top_m
        (samples, 4, 3) tops of the limbs. [m]
    feet_m, goes
        (samples, 4, 3) foot joints [m], and (samples, 4) where their legs go, as in Reach.
    given
        What the laws say.
    """
    chains, arm = given.laid.chains, feet_m - top_m
    x, y, up = arm[..., 0], arm[..., 1], arm[..., 2]
    left = goes.real * y - goes.imag * x
    down_2 = left * left + up * up - chains.across_m**2
    line = np.empty(left.shape, dtype=np.complex128)  # forward and up, in the plane
    line.real = goes.real * x + goes.imag * y
    line.imag = -np.sqrt(np.maximum(down_2, 0.0))
    turned = np.arctan2(line.imag, line.real) - chains.standing_line_rad
    above = chains.follows[..., : chains.most_above] * turned[..., None] + given.leaning_rad
    target = line - np.add.reduce(chains.above * direction(above), axis=-1)
    return Reach(top_m, goes, left, up, chains.across_m, target, above, given.laid.longest_m)
