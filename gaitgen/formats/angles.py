"""Three angles a joint for the rotation channels of a file: exact at the pole, unrolled over time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import unrolled_euler

Array = npt.NDArray[np.float64]

POLE_COSINE = 1e-7
"""Cosine of the middle angle below which the first angle is free: any choice is right to 1e-7 rad."""


SMALL_STEP_RAD = np.pi / 3.0
"""Where no angle moves by more in a frame, no other triple of angles can be nearer, and nothing jumps."""


def _held(first_rad: Array, is_free: npt.NDArray[np.bool_]) -> Array:
    """Carry the first angle of the last frame that fixes it over the frames that do not, (frames, ...)."""
    if not is_free.any():
        return first_rad
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
    return _split(np.moveaxis(matrices, (-2, -1), (0, 1)), order)


def quaternion_angles(quaternions: Array, order: str) -> Array:
    """Split unit quaternions wxyz over time, (frames, ..., 4), as channel_angles does matrices. [rad]"""
    w, x, y, z = np.ascontiguousarray(np.moveaxis(quaternions, -1, 0))
    entries = (
        (1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)),
        (2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)),
        (2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)),
    )
    return _split(entries, order)


def _split(entry: Array | Sequence[Sequence[Array]], order: str) -> Array:
    """Split rotations given as rows of entries, each (frames, ...)."""
    i, j, k = ("XYZ".index(letter) for letter in order)
    sign = 1.0 if (j - i) % 3 == 1 else -1.0
    row_i, row_j, row_k = entry[i], entry[j], entry[k]
    cosine = np.hypot(row_j[k], row_k[k])  # of the middle angle
    first = _held(np.arctan2(-sign * row_j[k], row_k[k]), cosine < POLE_COSINE)
    cos, sin = np.cos(first), sign * np.sin(first)
    middle = np.arctan2(sign * row_i[k], cos * row_k[k] - sin * row_j[k])
    third = np.arctan2(sign * (cos * row_j[i] + sin * row_k[i]), cos * row_j[j] + sin * row_k[j])
    angles = np.stack([first, middle, third], axis=-1)
    if np.all(np.abs(np.diff(angles, axis=0)) < SMALL_STEP_RAD):
        return angles
    return unrolled_euler(angles)
