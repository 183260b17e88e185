"""Small rotations for fitting: the least turn from one direction to another, a turn about an axis, means."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]


def least_turn(start: Array, end: Array) -> Array:
    """Rotate one direction onto another by the least angle: (..., 3), (..., 3) to (..., 3, 3).

    The two must not be opposite; lengths do not matter.
    """
    a = start / np.linalg.norm(start, axis=-1, keepdims=True)
    b = end / np.linalg.norm(end, axis=-1, keepdims=True)
    w = 1.0 + np.sum(a * b, axis=-1, keepdims=True)
    quaternion = np.concatenate([w, np.cross(a, b)], axis=-1)
    return matrix_from_quaternion(quaternion / np.linalg.norm(quaternion, axis=-1, keepdims=True))


def turn_about(axis: Array, angle_rad: Array) -> Array:
    """Rotate about unit axes (..., 3) by angles (...): (..., 3, 3). [rad]"""
    half = angle_rad[..., None] / 2.0
    return matrix_from_quaternion(np.concatenate([np.cos(half), np.sin(half) * axis], axis=-1))


def mean_turn(first: Array, second: Array, share: float) -> Array:
    """Go from one rotation to a near one by a share of the way, (..., 3, 3)."""
    a, b = quaternion_from_matrix(first), quaternion_from_matrix(second)
    b = np.where(np.sum(a * b, axis=-1, keepdims=True) < 0.0, -b, b)
    mixed = (1.0 - share) * a + share * b
    return matrix_from_quaternion(mixed / np.linalg.norm(mixed, axis=-1, keepdims=True))
