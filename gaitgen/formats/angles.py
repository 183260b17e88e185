"""Three angles a joint for the rotation channels of a file: exact at the pole, unrolled over time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import axis_angle_matrix, euler_from_matrix, unrolled_euler

Array = npt.NDArray[np.float64]

POLE_COSINE = 1e-7
"""Cosine of the middle angle below which the first angle is free: any choice is right to 1e-7 rad."""


def _held(first_rad: Array, is_free: npt.NDArray[np.bool_]) -> Array:
    """Carry the first angle of the last frame that fixes it over the frames that do not, (frames, ...)."""
    frame = np.arange(first_rad.shape[0]).reshape(-1, *([1] * (first_rad.ndim - 1)))
    last_fixed = np.maximum.accumulate(np.where(is_free, -1, frame), axis=0)
    next_fixed = np.argmax(~is_free, axis=0)[None]  # 0 where no frame fixes it
    source = np.where(last_fixed < 0, next_fixed, last_fixed)
    return np.take_along_axis(first_rad, source, axis=0)


def channel_angles(matrices: Array, order: str) -> Array:
    """Split rotations over time into the angles of their channels.

    The first angle comes from two entries of the matrix; the other two from what is left once the
    first is taken off, R = Ri(a) Rj(b) Rk(c): row j of Ri(-a) R is row j of Rk(c), and its column k is
    column k of Rj(b). This stays well conditioned where the middle angle is a right angle and the
    first is free; there the first keeps its value from the frame before, so that no channel jumps.

    Parameters
    ----------
    matrices
        (frames, ..., 3, 3).
    order
        One of EULER_ORDERS.

    Returns
    -------
    (frames, ..., 3) angles in the order's letters, without jumps over time. [rad]
    """
    i, j, k = ("XYZ".index(letter) for letter in order)
    sign = 1.0 if (j - i) % 3 == 1 else -1.0
    cosine = np.hypot(matrices[..., j, k], matrices[..., k, k])  # of the middle angle
    first = _held(euler_from_matrix(matrices, order)[..., 0], cosine < POLE_COSINE)
    rest = np.swapaxes(axis_angle_matrix(order[0], first), -1, -2) @ matrices
    middle = np.arctan2(sign * rest[..., i, k], rest[..., k, k])
    third = np.arctan2(sign * rest[..., j, i], rest[..., j, j])
    return unrolled_euler(np.stack([first, middle, third], axis=-1))
