"""What forces under the feet cost: they are to be smooth, share the load, and point to a fixed point."""

from __future__ import annotations

from dataclasses import astuple, dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.body.bumps import Stances
from gaitgen.body.wanted import Wanted
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# The deviations that cost 1, as in `terms`. Estimates, tuned on published forces.
SHARE = 0.02  # impulse of a stance, of what it should carry
STILL_SHARE = 20.0  # so much less firmly where it stands: there, statics share the load
# Where the body leaps, feet share its load, and point to fixed points, so many times less firmly.
LEAP_SHARE, LEAP_LINE = 30.0, 3.0
# Share of the bends, without a period, of one with it, of walks and of runs: nothing else makes strides alike
SMOOTH_ONCE, RUN_SMOOTH_ONCE = 0.6, 0.5
RIDGE = 1e-9


@dataclass(frozen=True)
class Firmness:
    """What one unit of a stance's own terms weighs, as the constants above; in its mean force.

    Attributes
    ----------
    smooth, smooth_along
        Bend of the force from bump to bump, upward and along the ground.
    line, line_net
        A force beside the fixed point, over its height: from its mean over the stance, and that mean. Hind
        feet drive a body that would pitch, and fore feet brake it.
    """

    smooth: float
    smooth_along: float
    line: float
    line_net: float

    def towards(self, other: Firmness, share: Array) -> tuple[Array, ...]:
        """Go over to another by shares of the way, (stances,): each number in its order, (stances,)."""
        mine, theirs = astuple(self), astuple(other)
        return tuple(a + share * (b - a) for a, b in zip(mine, theirs, strict=True))


WALKING = Firmness(smooth=3.3, smooth_along=0.825, line=0.12, line_net=0.12)
RUNNING = Firmness(smooth=1.5, smooth_along=0.9, line=0.06, line_net=0.25)  # forces of one hump
SIDE_LINE = 0.12
PEAK = np.pi / 2.0  # of half a wave, over its mean
# Running feet that have to carry so many body weights in the mean of their stances, at the least and at the
# most, do it evenly: peaks of a gallop are 1.3 of their mean (Self Davies, Spence & Wilson 2019, J Exp Biol
# 222:jeb204107, abstract), where half a wave is 1.57; how firmly is an estimate.
HARD, EVEN = (0.86, 1.1), 0.27


def _leaning(stances: Stances, wanted: Wanted, mean: Array) -> Array:
    """Say what makes the humps of running feet lean, of stances with these mean forces: (bumps,)."""
    half_wave = PEAK * (mean * wanted.runs)[stances.stance]
    return np.asarray(half_wave * wanted.early * np.sin(2.0 * np.pi * stances.share))


def price_of_forces(grid: Grid, stances: Stances, wanted: Wanted, unknowns: int) -> tuple[Array, Array]:
    """Half of the quadratic form, and its linear part, of what forces do: be smooth, share, point."""
    size, own = stances.bumps, stances.stance
    hessian, gradient = RIDGE * np.eye(unknowns), np.zeros(unknowns)
    up, forward, leftward = (slice(k * size, (k + 1) * size) for k in range(3))
    mean = np.maximum(wanted.impulse_share / (stances.liftoff_s - stances.touchdown_s), 1e-3)  # of weight
    once = 1.0 if grid.is_periodic else SMOOTH_ONCE + wanted.runs * (RUN_SMOOTH_ONCE - SMOOTH_ONCE)
    smooth, smooth_along, line, line_net = WALKING.towards(RUNNING, wanted.runs)
    together = own[:, None] == own
    # Second differences of each force's bumps, with none before the first and after the last.
    bends = np.eye(size, k=1) + np.eye(size, k=-1) - 2.0 * np.eye(size)
    bends = np.where(together, bends, 0.0)
    for block, firm in ((up, smooth), (forward, smooth_along), (leftward, smooth_along)):
        rows = bends / (once * firm * mean)[own][:, None]
        hessian[block, block] += rows.T @ rows
        if block is up and wanted.early:
            gradient[up] += (rows @ _leaning(stances, wanted, mean)) @ rows
    area = grid.step_s * stances.values.sum(axis=0)  # (bumps,) [s]
    felt = grid.step_s * (wanted.still @ stances.values)
    first = stances.first[:-1]
    stands = np.add.reduceat(felt, first) / np.maximum(np.add.reduceat(area, first), 1e-9)
    unit = SHARE * (1.0 + STILL_SHARE * stands) * wanted.impulse_share
    if wanted.leaps is not None:
        leaps = np.add.reduceat(grid.step_s * (wanted.leaps @ stances.values), first)
        leaps = leaps / np.maximum(np.add.reduceat(area, first), 1e-9)
        unit = unit * (1.0 + (LEAP_SHARE - 1.0) * leaps)
        line, line_net = (firm * (1.0 + (LEAP_LINE - 1.0) * leaps) for firm in (line, line_net))
    hard = wanted.runs * ramp((mean - HARD[0]) / (HARD[1] - HARD[0]))
    hessian[up, up] += np.diag((hard / (EVEN * mean) ** 2)[own])
    shares = np.where(own == np.arange(stances.count)[:, None], area, 0.0) / unit[:, None]
    hessian[up, up] += shares.T @ shares
    gradient[up] += (wanted.impulse_share / unit) @ shares
    # What a stance pushes beside the fixed point: its mean at one price, what differs from it at another.
    count = np.diff(stances.first)[own]
    middle = together / count[:, None]
    ahead = wanted.bump_foot_m[:, 0] - wanted.point_x_m
    side = np.full(stances.count, SIDE_LINE)
    for block, beside, firm, net in (
        (forward, ahead, line, line_net),
        (leftward, wanted.bump_foot_m[:, 1], side, side),
    ):
        price = (np.eye(size) - middle) / firm[own][:, None] ** 2 + middle / net[own][:, None] ** 2
        price /= (mean[own] ** 2 * count)[:, None]
        lift = beside / wanted.point_height_m
        hessian[block, block] += price
        hessian[up, up] += lift[:, None] * price * lift
        hessian[up, block] += lift[:, None] * price
        hessian[block, up] += price * lift
    return hessian, gradient
