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
    heading_rad
        (samples, 4) heading of the plane of each limb. [rad]
    left_m, up_m
        (samples, 4) foot joint from the top of its limb, across that heading. [m]
    across_m
        (4,) foot joint from the top of its limb, out of the limb's plane. [m]
    target_m
        (samples, 4) foot joint from the joint of the pointing bone, in the plane. [m]
    above_rad
        (samples, 4, most bones above) turn of the bones above the pointing one. [rad]
    shortfall_m
        (samples, 4) how much lower the top must come so that the limb is inside its reach; negative
        where there is room. [m]
    """

    top_m: Array
    heading_rad: Array
    left_m: Array
    up_m: Array
    across_m: Array
    target_m: Complex
    above_rad: Array
    shortfall_m: Array

    @cached_property
    def tilt_rad(self) -> Array:
        """(samples, 4) tilt of the plane of each limb about its heading. [rad]"""
        across = np.clip(self.across_m / np.hypot(self.left_m, self.up_m), -1.0, 1.0)
        return np.arctan2(self.up_m, self.left_m) + np.arccos(across)


def tops_m(trunk: Trunk, given: Given) -> Array:
    """Find the tops of the limbs, (samples, 4, 3). [m]"""
    return np.asarray(trunk.root_m[:, None] + given.top_m @ np.swapaxes(trunk.pelvis, 1, 2))


def reach_for(trunk: Trunk, feet_m: Array, heading_rad: Array, given: Given) -> Reach:
    """Find what each limb of a trunk must span, as `reach_from` its tops."""
    return reach_from(tops_m(trunk, given), feet_m, heading_rad, given)


def reach_from(top_m: Array, feet_m: Array, heading_rad: Array, given: Given) -> Reach:
    """Find what each limb must span, and whether it can.

    Parameters
    ----------
    top_m
        (samples, 4, 3) tops of the limbs. [m]
    feet_m, heading_rad
        (samples, 4, 3) foot joints and (samples, 4) directions of the feet. [m], [rad]
    given
        What the laws say.
    """
    chains = given.laid.chains
    reach = feet_m - top_m
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    ahead = cos * reach[..., 0] + sin * reach[..., 1]
    left = cos * reach[..., 1] - sin * reach[..., 0]
    up = reach[..., 2]
    down = np.sqrt(np.maximum(left**2 + up**2 - chains.across_m**2, 0.0))  # along the plane
    line = ahead - 1j * down
    own = slice(chains.most_above)
    turned = np.angle(line) - chains.standing_line_rad
    above = chains.follows[..., own] * turned[..., None]
    target = line - (chains.above * direction(above)).sum(axis=-1)
    longest = given.laid.longest_m
    near = np.minimum(np.abs(target.real), NEARLY * longest)
    overstretch = np.abs(target.real) - near
    shortfall = -target.imag - np.sqrt(longest**2 - near**2) + overstretch
    return Reach(top_m, heading_rad, left, up, chains.across_m, target, above, shortfall)
