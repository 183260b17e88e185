"""What each foot presses on the ground with, and how the body sways and surges over it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.body.heave import Heave
from gaitgen.course.steps import StanceState, Steps, pair_hand_over
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import follow_support

Array = npt.NDArray[np.float64]

# Height of the fixed point in the trunk that the force of a foot points to, in hip heights (estimate;
# that there is such a point, well above the limb's pivot: Jayes & Alexander 1978, J Zool 185:289).
FORE_AFT_POINT_HIP_HEIGHTS = 1.5
# The body sways no farther to a side than about this share of half the track: in a slow walk, with three
# feet down, the load is shared instead (estimate).
MOST_SWAY_SHARE = 0.35
# Sideways it lies at the height of the centre of mass, so that the feet do not roll the body (estimate).
SIDEWAYS_POINT_HIP_HEIGHTS = 0.90


@dataclass(frozen=True, eq=False)
class GroundForces:
    """Forces of the feet on the ground, turned round: of the ground on the feet.

    Attributes
    ----------
    vertical_n
        (samples, 4) in LIMBS order, never negative. [N]
    horizontal_n
        (samples, 4, 2) forward and to the left. [N]
    sway_m
        (samples, 2) shift to the left of the chest and of the hips. [m]
    surge_m
        (samples,) shift forward of the body from even travel. [m]
    """

    vertical_n: Array
    horizontal_n: Array
    sway_m: Array
    surge_m: Array


def vertical_forces_n(
    state: StanceState, chest: Heave, hips: Heave, body_mass_kg: float, load_share_fore: float
) -> Array:
    """Share the force that each end of the body needs between its feet, (samples, 4). [N]

    Newton's second law for two masses, one over each pair of legs: F = m (g + z''), which is exact for
    a body whose radius of gyration in pitch is the geometric mean of its distances to the two pairs.
    """
    share = np.array([load_share_fore, load_share_fore, 1.0 - load_share_fore, 1.0 - load_share_fore])
    ends = np.stack([chest.acceleration_m_s2, hips.acceleration_m_s2], axis=1)  # (samples, 2)
    needed = body_mass_kg * share * (GRAVITY_M_S2 + np.repeat(ends, 2, axis=1))  # (samples, 4)
    return needed * pair_hand_over(state)


def ground_forces(
    footfalls: Steps,
    state: StanceState,
    vertical_n: Array,
    pivots_x_m: Array,
    *,
    hip_height_m: float,
    sway_factor: float = 1.0,
) -> GroundForces:
    """Point the force of each foot at a fixed point in the trunk, and let the body answer.

    Sideways each end is a mass leaning away from the foot that carries it; fore and aft the body is
    one mass. Both are the bounded solutions of y'' = (g / h) (y - support).

    Parameters
    ----------
    footfalls, state
        Timeline, and the step of each foot at evenly spaced moments.
    vertical_n
        (samples, 4) vertical forces. [N]
    pivots_x_m
        (4,) place of each foot's fixed point ahead of the moving origin. [m]
    hip_height_m
        Size of the animal. [m]
    sway_factor
        Style factor on the sideways shift.
    """
    periodic = footfalls.period_s is not None
    time_s = state.time_s[:, 0]
    step_s = float(time_s[1] - time_s[0])
    sideways_m = SIDEWAYS_POINT_HIP_HEIGHTS * hip_height_m
    fore_aft_m = FORE_AFT_POINT_HIP_HEIGHTS * hip_height_m
    hand_over = pair_hand_over(state)
    sides = (hand_over * state.place_m[:, :, 1]).reshape(-1, 2, 2).sum(axis=2)  # (samples, 2)
    sway = follow_support(sides, math.sqrt(GRAVITY_M_S2 / sideways_m), step_s, periodic=periodic)
    half_track_m = float(np.abs(state.place_m[:, :, 1]).max())
    swing_m = np.sqrt(2.0 * np.mean((sway - sway.mean(axis=0)) ** 2, axis=0))  # as of a sine
    farthest = swing_m / max(MOST_SWAY_SHARE * half_track_m, 1e-6)
    sway = sway_factor * sway / np.hypot(1.0, farthest)
    ahead = state.place_m[:, :, 0] - footfalls.travel_m_s[0] * state.time_s - pivots_x_m  # (samples, 4)
    share = vertical_n / vertical_n.sum(axis=1, keepdims=True)
    support = (share * ahead).sum(axis=1)
    support = support - support.mean()
    surge = follow_support(support, math.sqrt(GRAVITY_M_S2 / fore_aft_m), step_s, periodic=periodic)
    push_x = vertical_n * (surge[:, None] - (ahead - (share * ahead).sum(axis=1).mean())) / fore_aft_m
    push_y = vertical_n * (np.repeat(sway, 2, axis=1) - state.place_m[:, :, 1]) / sideways_m
    return GroundForces(vertical_n, np.stack([push_x, push_y], axis=2), sway, surge)
