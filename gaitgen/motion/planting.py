"""Feet back to their places: each limb turns at its top and opens by the law of its animal, and no more.

Three unknowns a limb and moment (two turns at the joint that points the limb, and the opening that its joints
share) meet three coordinates of the foot joint: Newton's method, damped where a leg is nearly straight.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.motion.kinematics import world_frames
from gaitgen.numerics.rotations import axis_angle_matrix

Array = npt.NDArray[np.float64]

ROUNDS = 30
SHORT_M = 1e-5  # a foot that misses its place by more does not reach it
ENOUGH_M = 1e-9
DAMPING = 1e-6  # of the mean square of the levers
MOST_RAD = 0.15  # of one step


def reach(
    animal: Animal, root_m: Array, local: Array, joints_m: Array, soles: Array, *, or_all: bool = False
) -> tuple[Array, Array]:
    """Turn the joints of the limbs so that feet are where they are wanted.

    Parameters
    ----------
    animal
        The animal.
    root_m, local
        (rows, 3) place of the root [m], and (rows, joints, 3, 3) rotations in their parents' frames.
    joints_m, soles
        (rows, 4, 3) wanted places of the foot joints [m], and (rows, 4, 3, 3) world rotations of the feet, in
        LIMBS order.
    or_all
        Whether all joints of a limb open alike where those of its law are straight and it falls short.

    Returns
    -------
    local
        (rows, joints, 3, 3) with the limbs turned.
    misses_m
        (rows, 4) how far the foot joints are from where they are wanted. [m]
    """
    chains = chains_of(animal)
    found, misses = _closed(animal, root_m, local, joints_m, soles, chains.sign * chains.opens)
    rows = np.flatnonzero((misses > SHORT_M).any(axis=1))
    if not or_all or not rows.size:
        return found, misses
    given = root_m[rows], local[rows], joints_m[rows], soles[rows]
    others, left = _closed(animal, *given, chains.sign)
    for k, limb in enumerate(animal.limbs):
        better = left[:, k] < misses[rows, k]
        joints = list(limb.joints)
        found[np.ix_(rows[better], joints)] = others[np.ix_(better, joints)]
        misses[rows[better], k] = left[better, k]
    return found, misses


def _closed(
    animal: Animal, root_m: Array, local: Array, joints_m: Array, soles: Array, shares: Array
) -> tuple[Array, Array]:
    """Close the limbs on the places of their feet, joints opening in given shares, (4, joints of a limb)."""
    local = local.copy()
    feet = [limb.foot_joint for limb in animal.limbs]
    for _ in range(ROUNDS):
        places, world = world_frames(animal, root_m, local)
        away = joints_m - places[:, feet]
        if float(np.abs(away).max()) < ENOUGH_M:
            break
        for row in range(len(animal.limbs)):
            _step(animal, row, local, places, world, away[:, row], shares[row])
    places, world = world_frames(animal, root_m, local)
    for row, foot in enumerate(feet):
        above = world[:, animal.parents[foot]]
        local[:, foot] = np.swapaxes(above, -1, -2) @ soles[:, row]
    return local, np.linalg.norm(joints_m - places[:, feet], axis=2)


def _step(
    animal: Animal, row: int, local: Array, places: Array, world: Array, away: Array, shares: Array
) -> None:
    """Make one step of one limb, in place."""
    limb = animal.limbs[row]
    top = limb.joints[limb.pointing]
    foot = places[:, limb.foot_joint]
    above = world[:, animal.parents[top]]
    arm = foot - places[:, top]
    across, along = above[..., 1], above[..., 0]  # pitch and roll
    opening = np.zeros_like(arm)
    for k, joint in enumerate(limb.joints[:-1]):
        axis = world[:, animal.parents[joint]][..., 1]
        opening += shares[k] * np.cross(axis, foot - places[:, joint])
    levers = np.stack([np.cross(across, arm), np.cross(along, arm), opening], axis=2)  # (rows, 3, 3)
    square = np.swapaxes(levers, 1, 2) @ levers
    size = np.trace(square, axis1=1, axis2=2)[:, None, None] / 3.0
    right = np.swapaxes(levers, 1, 2) @ away[..., None]
    step = np.linalg.solve(square + DAMPING * size * np.eye(3), right)[..., 0]
    step *= np.minimum(1.0, MOST_RAD / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-12))
    turn = Rotation.from_rotvec(np.stack([step[:, 1], step[:, 0], np.zeros(len(step))], axis=1)).as_matrix()
    local[:, top] = turn @ local[:, top]
    for k, joint in enumerate(limb.joints[:-1]):
        if shares[k]:
            local[:, joint] = axis_angle_matrix("Y", shares[k] * step[:, 2]) @ local[:, joint]
