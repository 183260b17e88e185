"""The shape of a force under a foot: a few bumps that vanish, without a corner, at both ends of stance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import StanceState

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Bumps of one force over one stance: enough for the two humps of a walk and their skew.
BUMPS = 6
_PIECES = BUMPS + 1


def _cubic(knots: Array) -> Array:
    """Evaluate the uniform cubic B-spline about 0, which reaches 2 to either side (ratio in, ratio out).

    C2, non-negative; those at whole distances sum to 1 (de Boor C. 1978, A Practical Guide to Splines, from
    memory).
    """
    x = np.abs(knots)
    near = (4.0 - 6.0 * x**2 + 3.0 * x**3) / 6.0
    far = (2.0 - np.minimum(x, 2.0)) ** 3 / 6.0
    return np.where(x < 1.0, near, far)


def force_bumps(share: Array) -> Array:
    """Evaluate the bumps at shares of stance, 0 to 1: (...) to (..., BUMPS).

    Cubic B-splines at even distances, mirrored with the sign turned at both ends, so that each vanishes
    there like a sine and is nowhere negative.
    """
    knots = share[..., None] * _PIECES
    centre = np.arange(BUMPS) + 1.0
    near_ends = _cubic(knots + centre) + _cubic(knots - (2.0 * _PIECES - centre))
    return np.asarray(_cubic(knots - centre) - near_ends)


@dataclass(frozen=True, eq=False)
class Stances:
    """The stances that carry a stretch of motion, and their bumps.

    Attributes
    ----------
    limb
        (stances,) index into LIMBS.
    touchdown_s, liftoff_s
        (stances,) [s]
    place_m
        (stances, 3) where it stands in the world. [m]
    values
        (samples, stances x BUMPS) value of each bump at each moment.
    column
        (samples, 4) the stance that each foot is in.
    of_foot
        (samples, 4, BUMPS) values of the bumps under each foot, zero in the air.
    """

    limb: Ints
    touchdown_s: Array
    liftoff_s: Array
    place_m: Array
    values: Array
    column: Ints
    of_foot: Array

    @property
    def count(self) -> int:
        """Number of stances."""
        return int(self.limb.size)

    @property
    def centre_s(self) -> Array:
        """(stances x BUMPS,) moment at which each bump is highest. [s]"""
        share = (np.arange(BUMPS) + 1.0) / _PIECES
        down = self.liftoff_s - self.touchdown_s
        return np.asarray((self.touchdown_s[:, None] + share * down[:, None]).ravel())

    def spread(self, of_foot: Array) -> Array:
        """Multiply each bump by a number of its foot, (samples, 4): (samples, stances x BUMPS)."""
        weighed = self.of_foot * of_foot[..., None]
        return self._laid(weighed)

    def _laid(self, of_foot: Array) -> Array:
        samples = of_foot.shape[0]
        wide = np.zeros((samples, self.count * BUMPS))
        places = self.column[..., None] * BUMPS + np.arange(BUMPS)
        wide[np.arange(samples)[:, None, None], places] = of_foot
        return wide

    def under_feet(self, heights: Array) -> Array:
        """Evaluate bumps of these heights (stances x BUMPS,) under each foot: (samples, 4)."""
        return np.asarray((self.of_foot * heights.reshape(-1, BUMPS)[self.column]).sum(axis=2))


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
    seen, first, column = np.unique(number, return_index=True, return_inverse=True)
    column = column.reshape(number.shape)
    of_foot = np.where(state.planted[..., None], force_bumps(state.stance_share), 0.0)
    stances = Stances(
        limb=(first % number.shape[1]).astype(np.int64),
        touchdown_s=state.touchdown_s.ravel()[first],
        liftoff_s=state.liftoff_s.ravel()[first],
        place_m=state.place_m.reshape(-1, 3)[first],
        values=np.zeros((0, seen.size * BUMPS)),
        column=column.astype(np.int64),
        of_foot=of_foot,
    )
    object.__setattr__(stances, "values", stances._laid(of_foot))  # noqa: SLF001
    return stances
