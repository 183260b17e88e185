"""What a leg is spared, and how the body goes up over it and down on the other leg of its pair."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.bumps import Stances
from gaitgen.course.stance import StanceState
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# A body that is spared load in strides without a period comes back to its height as on this spring
# (estimate).
BACK_HZ, BACK_DAMPING = 0.35, 0.7
# In strides longer than so many times the root of hip height over gravity less is spared, so that the signs
# of a lame leg are smaller at a walk than at a trot (Serra Braganca et al. 2021, EVJ, abstract); the numbers
# are estimates.
QUICK, SLOWING = 2.2, 3.0
# Share of what a hind leg is spared that the forelegs take in the same moment, beside what its own pair takes
# later: chosen so that the withers go against the hips as measured (Rhodin et al. 2018, EVJ, abstract).
FORWARD = 0.58
# How much of the rise over a lame hind leg its own side does; with just all of it the sound hip would keep
# its height (estimate).
HIKE = 1.3


def spared_load(animal: Animal, stride_s: float, load: Array) -> Array:
    """Return the load factors (4,) of strides of a length: in slow strides less is spared.

    What falls to spare a leg goes as far as the square of the time it takes: with the same load head and hips
    would have to go farther the slower the stride.
    """
    quick_s = QUICK * float(np.sqrt(animal.hip_height_m / GRAVITY_M_S2))
    share = min(1.0, (quick_s / stride_s) ** SLOWING)
    return np.asarray(1.0 + share * (load - 1.0))


def shared_anew(stances: Stances, impulse_s: Array, load: Array) -> Array:
    """Share the impulses of each pair of legs anew, the sum of a pair as before: (stances,). [s]

    Parameters
    ----------
    stances
        The stances.
    impulse_s
        (stances,) impulse of each over the weight of the body. [s]
    load
        (4,) factor on what each foot carries.
    """
    anew: Array = impulse_s * load[stances.limb]
    for pair in (0, 1):
        mine = stances.limb // 2 == pair
        anew[mine] *= impulse_s[mine].sum() / max(float(anew[mine].sum()), 1e-12)
    return anew


def spared(grid: Grid, state: StanceState, stances: Stances, less_s: Array) -> Array:
    """Return what the fore and the hind pair are spared at each moment, (samples, 2), over the weight.

    Parameters
    ----------
    grid, state, stances
        The moments, the step of each foot, the stances.
    less_s
        (stances,) by how much less than usual each carries, an impulse over the weight of the body. [s]

    Notes
    -----
    Each stance is spared like half a wave over its length: most in its middle.
    """
    wave = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0)  # (samples, 4)
    area = grid.step_s * np.bincount(stances.column.ravel(), wave.ravel(), stances.count)
    height = less_s / np.maximum(area, 1e-9)
    each = wave * height[stances.column]
    return np.asarray(each.reshape(-1, 2, 2).sum(axis=2))


def taken_in_front_s(grid: Grid, state: StanceState, stances: Stances, hind_spared: Array) -> Array:
    """Return what each fore stance takes of what hind legs are spared, (stances,); nothing in all. [s]

    Parameters
    ----------
    grid, state, stances
        The moments, the step of each foot, the stances.
    hind_spared
        (samples,) what the hind pair is spared, over the weight of the body.
    """
    wave = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0)[:, :2]
    fore = wave / np.maximum(wave.sum(axis=1, keepdims=True), 1e-9)
    taken = FORWARD * grid.step_s * fore * hind_spared[:, None]  # (samples, 2)
    each = np.zeros(stances.count) + np.bincount(stances.column[:, :2].ravel(), taken.ravel(), stances.count)
    mine = stances.limb < 2
    each[mine] -= each[mine].mean()
    return each


def rise_of_ends_m(animal: Animal, grid: Grid, of_weight: Array) -> Array:
    """Return how far chest and hips go up as they are spared load: (samples, 2). [m]

    Newton and Euler for one body in the sagittal plane: an end that is pushed less falls, so that over a
    stride it has to be high while it does; the other end turns the other way.

    Parameters
    ----------
    animal, grid
        The animal and the moments.
    of_weight
        (samples, 2) what chest and hips are spared, over the weight of the body.
    """
    whole, standing = whole_body(animal), standing_positions_m(animal)
    ahead = np.array([standing[animal.limb(end).top, 0] - whole.centre_m[0] for end in ("fore", "hind")])
    yields = 1.0 + whole.mass_kg / whole.inertia_kg_m2[1] * np.outer(ahead, ahead)  # (end, spared end)
    falling = -GRAVITY_M_S2 * of_weight @ yields.T
    if grid.is_periodic:
        return grid.twice_integrated(grid.without_mean(falling))
    return grid.oscillated(falling, BACK_HZ, BACK_DAMPING)


def hike_rad(animal: Animal, hips_rise_m: Array, load: Array) -> Array:
    """Return the roll of the pelvis, (samples,), that lets the side of a lame hind leg do most of the rise.

    The larger rise and fall of its side of the pelvis is the sign of a lame hind leg. Right side down. [rad]
    """
    left = float(load[3] - load[2])
    if left == 0.0:
        return np.zeros_like(hips_rise_m)
    half_m = float(abs(standing_positions_m(animal)[animal.limb("hind").top, 1]))
    return np.asarray(np.sign(left) * np.arctan(HIKE * hips_rise_m / half_m))
