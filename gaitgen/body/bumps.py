"""The shape of a force under a foot: a few bumps that vanish, without a corner, at both ends of stance."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.course.stance import StanceState

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Bumps of one force over one stance: enough for the two humps of a walk and their skew. A long stance, as in
# a halt, has as many more as keep them this close.
LEAST_BUMPS = 6
FARTHEST_S = 0.2
# A length of stance that is so many distances but for rounding is so many: left and right alike.
ROUNDED = 1e-9


def _cubic(knots: Array) -> Array:
    """Evaluate the uniform cubic B-spline about 0, which reaches 2 to either side (ratio in, ratio out).

    C2, non-negative; those at whole distances sum to 1 (de Boor C. 1978, A Practical Guide to Splines, from
    memory).
    """
    x = np.abs(knots)
    near, beyond = 4.0 + 3.0 * x * x * (x - 2.0), np.maximum(2.0 - x, 0.0)
    return np.where(x < 1.0, near, beyond * beyond * beyond) / 6.0


def force_bumps(share: Array, count: Array, most: int) -> Array:
    """Evaluate bumps at shares of stance, 0 to 1: (...) to (..., most).

    Cubic B-splines at even distances, ``count`` (...) of them, mirrored with the sign turned at both ends,
    so that each vanishes there like a sine and is nowhere negative; the rest are zero.
    """
    pieces = (count + 1.0)[..., None]
    knots = share[..., None] * pieces
    centre = np.arange(most) + 1.0
    near_ends = _cubic(knots + centre) + _cubic(knots - (2.0 * pieces - centre))
    return np.where(centre <= count[..., None], _cubic(knots - centre) - near_ends, 0.0)


@dataclass(frozen=True, eq=False)
class Stances:
    """The stances that carry a stretch of motion, and their bumps, stance after stance.

    Attributes
    ----------
    limb
        (stances,) index into LIMBS.
    touchdown_s, liftoff_s
        (stances,) [s]
    place_m, heading_rad
        (stances, 3) where it stands in the world, and (stances,) facing where. [m], [rad]
    column
        (samples, 4) the stance that each foot is in.
    first
        (stances + 1,) first bump of each stance, and how many bumps there are.
    values
        (samples, bumps) value of each bump at each moment; zero while the foot is in the air.
    """

    limb: Ints
    touchdown_s: Array
    liftoff_s: Array
    place_m: Array
    heading_rad: Array
    column: Ints
    first: Ints
    values: Array

    @property
    def count(self) -> int:
        """Number of stances."""
        return int(self.limb.size)

    @property
    def bumps(self) -> int:
        """Number of bumps."""
        return int(self.first[-1])

    @cached_property
    def stance(self) -> Ints:
        """(bumps,) stance of each bump."""
        return np.repeat(np.arange(self.count), np.diff(self.first))

    @property
    def share(self) -> Array:
        """(bumps,) share of its stance at which each bump is highest."""
        number = np.arange(self.bumps) - self.first[self.stance] + 1.0
        return np.asarray(number / (np.diff(self.first) + 1.0)[self.stance])

    @property
    def centre_s(self) -> Array:
        """(bumps,) moment at which each bump is highest. [s]"""
        down = (self.liftoff_s - self.touchdown_s)[self.stance]
        return np.asarray(self.touchdown_s[self.stance] + self.share * down)

    def spread(self, of_foot: Array) -> Array:
        """Multiply each bump by a number of its foot, (samples, 4): (samples, bumps)."""
        return np.asarray(self.values * of_foot[:, self.limb[self.stance]])

    def under_feet(self, heights: Array) -> Array:
        """Evaluate bumps of some kinds of heights, (kinds, bumps), under each foot: (samples, 4, kinds)."""
        is_its = self.limb[self.stance] == np.arange(4)[:, None]
        of_foot = np.where(is_its[:, None], heights, 0.0)  # (4, kinds, bumps)
        return np.asarray(self.values @ of_foot.reshape(-1, self.bumps).T).reshape(-1, 4, len(heights))


def find_stances(state: StanceState, stances_of_period: int | None) -> Stances:
    """Collect the stances that are seen at some moments.

    Parameters
    ----------
    state
        The step of each foot.
    stances_of_period
        How many stances a period has, so that one that wraps round the loop is one; None without a period.
    """
    number = state.stance if stances_of_period is None else state.stance % stances_of_period
    _, at, column = np.unique(number, return_index=True, return_inverse=True)
    column = column.reshape(number.shape)
    touchdown, liftoff = state.touchdown_s.ravel()[at], state.liftoff_s.ravel()[at]
    count = np.maximum(LEAST_BUMPS, np.ceil((liftoff - touchdown) / FARTHEST_S - ROUNDED).astype(np.int64))
    first = np.concatenate([[0], np.cumsum(count)])
    most = int(count.max())
    bumps = force_bumps(state.stance_share, count[column], most)
    bumps = np.where(state.planted[..., None], bumps, 0.0)  # (samples, 4, most)
    values = np.zeros((number.shape[0], int(first[-1])))
    sample, foot, place = np.nonzero(np.arange(most) < count[column][..., None])
    values[sample, first[column[sample, foot]] + place] = bumps[sample, foot, place]
    return Stances(
        limb=(at % number.shape[1]).astype(np.int64),
        touchdown_s=touchdown,
        liftoff_s=liftoff,
        place_m=state.place_m.reshape(-1, 3)[at],
        heading_rad=state.heading_rad.ravel()[at],
        column=column.astype(np.int64),
        first=first.astype(np.int64),
        values=values,
    )
