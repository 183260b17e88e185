"""Single turns: made from directions, axes and shares of the way, and measured."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import cos_sin, matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]


def direction(angle_rad: Array) -> npt.NDArray[np.complex128]:
    """Return the unit complex numbers at angles (...), cos + i sin. [rad]"""
    made = np.empty(np.shape(angle_rad), dtype=np.complex128)
    made.real, made.imag = cos_sin(angle_rad)
    return made


def crossed(first: Array, second: Array) -> Array:
    """Return the cross product of vectors (..., 3); sooner than numpy's, which takes any shape."""
    x, y, z = np.moveaxis(first, -1, 0)
    a, b, c = np.moveaxis(second, -1, 0)
    return np.stack([y * c - z * b, z * a - x * c, x * b - y * a], axis=-1)


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


def mixed(first: Array, second: Array, share: float | Array) -> Array:
    """Go from one rotation to a near one by a share of the way, the short way round.

    Parameters
    ----------
    first, second
        (..., 4) unit quaternions, wxyz.
    share
        0 to 1; a number, or an array that goes with (..., 4).

    Returns
    -------
    (..., 4) unit quaternions.
    """
    near = second * np.where(np.sum(first * second, axis=-1, keepdims=True) < 0.0, -1.0, 1.0)
    turned = first + share * (near - first)
    return np.asarray(turned / np.linalg.norm(turned, axis=-1, keepdims=True))


def mixed_turn(first: Array, second: Array, share: float | Array) -> Array:
    """Do what `mixed` does with matrices, (..., 3, 3)."""
    return matrix_from_quaternion(mixed(quaternion_from_matrix(first), quaternion_from_matrix(second), share))


def turn_between_rad(first: Array, second: Array) -> Array:
    """Measure the angle of the turn from one rotation to another, (..., 3, 3) to (...). [rad]"""
    trace = np.einsum("...ab,...ab->...", first, second)
    return np.asarray(np.arccos(np.clip((trace - 1.0) / 2.0, -1.0, 1.0)))


def nearest_angle_rad(matrix: Array, letter: str) -> Array:
    """Return the angle about one coordinate axis that comes nearest to rotations (..., 3, 3). [rad]"""
    first = ("XYZ".index(letter) + 1) % 3
    second = ("XYZ".index(letter) + 2) % 3
    return np.arctan2(
        matrix[..., second, first] - matrix[..., first, second],
        matrix[..., first, first] + matrix[..., second, second],
    )
