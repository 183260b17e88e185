"""How forces under the feet, weight and path move one body: Newton and Euler, linearised where it stands."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.mass import WholeBody
from gaitgen.body.bumps import Stances
from gaitgen.body.wanted import Wanted
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

FREEDOMS = ("z", "pitch", "x", "y", "roll", "yaw")
_Z, _PITCH, _X, _Y, _ROLL, _YAW = range(len(FREEDOMS))
BESIDE = ("x", "y", "z", "roll", "pitch", "yaw")  # the order of what is needed beside the body


def motion_maps(grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted) -> tuple[Array, Array]:
    """Map the unknowns to displacements, (freedoms, samples, unknowns), and to mean accelerations.

    The unknowns are upward, forward and leftward bumps, and without a period where each freedom starts.
    """
    size, height, g = stances.bumps, body.centre_m[2], GRAVITY_M_S2
    roll, pitch, yaw = (body.mass_kg * g / inertia for inertia in body.inertia_kg_m2)
    flat = stances.values
    ahead = stances.spread(wanted.foot_m[..., 0] - body.centre_m[0])
    left = stances.spread(wanted.foot_m[..., 1])
    pushed = np.stack([flat, ahead, left])
    once = np.stack(np.split(grid.twice_integrated(np.concatenate(pushed, axis=1)), 3, axis=1))
    free = 0 if grid.is_periodic else 2 * len(FREEDOMS)
    moved = np.zeros((len(FREEDOMS), grid.count, 3 * size + free))
    closing = np.zeros((len(FREEDOMS), 3 * size + free))
    for maps, (plain, by_ahead, by_left) in ((moved, once), (closing, pushed.mean(axis=1))):
        up, forward, leftward = (maps[..., k * size : (k + 1) * size] for k in range(3))
        up[_Z] = forward[_X] = leftward[_Y] = g * plain
        up[_PITCH], forward[_PITCH] = pitch * by_ahead, pitch * height * plain
        up[_ROLL], leftward[_ROLL] = roll * by_left, roll * height * plain
        forward[_YAW], leftward[_YAW] = -yaw * by_left, yaw * by_ahead
    if free:
        drift = _drift(grid)
        for freedom in range(len(FREEDOMS)):
            first = 3 * size + 2 * freedom
            moved[freedom, :, first : first + 2] = drift
    # The weight turns a body that has moved; forward bumps move it forward as leftward ones to the left.
    fallen = grid.twice_integrated(moved[_X, :, size : 2 * size])
    ahead_and_left = (_PITCH, _X, slice(size, 2 * size), pitch), (_ROLL, _Y, slice(2 * size, 3 * size), roll)
    for turn, move, bumps, per_m in ahead_and_left:
        moved[turn, :, bumps] -= per_m * fallen
        if free:
            moved[turn, :, 3 * size :] -= per_m * grid.twice_integrated(moved[move, :, 3 * size :])
    return moved, closing if grid.is_periodic else closing[:0]


def _drift(grid: Grid) -> Array:
    """Where something is that goes on as it went: (samples, 2) for 1 m and 1 m/s at the start."""
    return np.stack([np.ones(grid.count), (grid.time_s - grid.start_s)], axis=1)


def given_motion(grid: Grid, body: WholeBody, wanted: Wanted) -> Array:
    """Find what moves the body beside the forces, (freedoms, samples): its weight, its path, its parts."""
    weight = body.mass_kg * GRAVITY_M_S2
    roll, pitch, _ = (weight / inertia for inertia in body.inertia_kg_m2)
    outside = -wanted.besides
    outside[:, :2] -= wanted.path_m_s2
    outside[:, 2] -= GRAVITY_M_S2
    if wanted.path_rad_s2 is not None:
        outside[:, BESIDE.index("yaw")] -= wanted.path_rad_s2
    # The weight turns a body over its feet by as much as its centre has moved, whatever part moved that.
    fallen = grid.twice_integrated(np.concatenate([outside, wanted.besides[:, :2]], axis=1))
    given, shifted = fallen[:, [BESIDE.index(name) for name in FREEDOMS]], fallen[:, 6:]
    if not grid.is_periodic:  # parts of the body shift its centre to and fro, not away
        drift = _drift(grid)
        shifted = shifted - drift @ (np.linalg.pinv(drift) @ shifted)
    given[:, [_PITCH, _ROLL]] -= [pitch, roll] * grid.twice_integrated(given[:, [_X, _Y]] + shifted)
    return np.asarray(given.T)
