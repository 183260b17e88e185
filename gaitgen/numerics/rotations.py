"""Batched rotations in plain numpy: quaternions (wxyz), matrices, Euler angles.

numpy only, because importing a rotation library costs more than the whole of a short command;
``tests/test_rotations.py`` holds every function against ``scipy.spatial.transform.Rotation``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Entries = Array | Sequence[Sequence[Array]]

EULER_ORDERS = ("XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX")
_AXIS = {"X": 0, "Y": 1, "Z": 2}
# A place times this is where it is on the other side of the body, as y is left.
MIRROR_PLACE = np.array([1.0, -1.0, 1.0])
MIRROR_PLACE.setflags(write=False)
# Cosine of the middle Euler angle below which the first is free: any choice is right to 1e-7 rad.
POLE_COSINE = 1e-7
# Where no angle moves by more in a frame, no other triple of angles can be nearer, and nothing jumps.
SMALL_STEP_RAD = np.pi / 3.0


def cos_sin(angle_rad: Array) -> tuple[Array, Array]:
    """Return cosine and sine of angles (...), by the tangent of half of each. [rad]

    Right to the last digit or two, in half of the time that numpy takes for both.
    """
    half = np.tan(0.5 * angle_rad)
    twice = 2.0 / (1.0 + half * half)
    return twice - 1.0, half * twice


def axis_angle_matrix(axis: str, angle_rad: Array) -> Array:
    """Rotate about one coordinate axis: angles (...) to matrices (..., 3, 3). [rad]"""
    first = (_AXIS[axis] + 1) % 3
    second = (_AXIS[axis] + 2) % 3
    matrix = np.zeros((*np.shape(angle_rad), 3, 3))
    matrix[..., _AXIS[axis], _AXIS[axis]] = 1.0
    cos, sin = cos_sin(angle_rad)
    matrix[..., first, first] = matrix[..., second, second] = cos
    matrix[..., second, first], matrix[..., first, second] = sin, -sin
    return matrix


def pitch_roll_yaw_matrix(pitch_rad: Array, roll_rad: Array, yaw_rad: Array) -> Array:
    """Turn heading, then pitch, then roll (each about the moved axes) into matrices (..., 3, 3).

    Pitch is positive nose up, roll positive right side down, yaw positive to the left, with x forward,
    y left and z up. All angles have one shape (...). [rad]
    """
    (cos_p, cos_r, cos_y), (sin_p, sin_r, sin_y) = cos_sin(np.array([pitch_rad, roll_rad, yaw_rad]))
    ahead, left = cos_y * sin_p, sin_y * sin_p
    matrix = np.empty((*np.shape(pitch_rad), 3, 3))  # Rz(yaw) Ry(-pitch) Rx(roll), multiplied out
    matrix[..., 0, 0], matrix[..., 1, 0], matrix[..., 2, 0] = cos_y * cos_p, sin_y * cos_p, sin_p
    matrix[..., 0, 1] = -ahead * sin_r - sin_y * cos_r
    matrix[..., 1, 1] = cos_y * cos_r - left * sin_r
    matrix[..., 2, 1] = cos_p * sin_r
    matrix[..., 0, 2] = sin_y * sin_r - ahead * cos_r
    matrix[..., 1, 2] = -left * cos_r - cos_y * sin_r
    matrix[..., 2, 2] = cos_p * cos_r
    return matrix


def pitch_roll_yaw_rad(rotations: Array) -> Array:
    """Split rotations (..., 4) or (..., 3, 3) into pitch, roll and yaw: (..., 3). [rad]

    R = Rz(yaw) Ry(-pitch) Rx(roll), the axes of the ranges of an animal's joints.
    """
    m = matrix_from_quaternion(rotations) if rotations.shape[-1] == 4 else rotations
    level = np.hypot(m[..., 0, 0], m[..., 1, 0])
    pitch = np.arctan2(m[..., 2, 0], level)
    yaw = np.where(level > 1e-12, np.arctan2(m[..., 1, 0], m[..., 0, 0]), 0.0)
    roll = np.arctan2(m[..., 2, 1], m[..., 2, 2])
    # A joint that folds past straight up or down keeps its pitch instead of turning about.
    over = np.abs(yaw) > np.pi / 2.0
    if over.any():
        pitch = np.where(over, np.where(pitch >= 0.0, np.pi, -np.pi) - pitch, pitch)
        yaw = np.where(over, yaw - np.copysign(np.pi, yaw), yaw)
        roll = np.where(over, roll - np.copysign(np.pi, roll), roll)
    return np.stack([pitch, roll, yaw], axis=-1)


def quaternion_from_matrix(matrix: Array) -> Array:
    """Convert rotation matrices (..., 3, 3) to unit quaternions (..., 4), wxyz, with w >= 0.

    The largest of the four components is found first, so that the division is always safe
    (Shepperd S.W. 1978, J Guidance Control 1:223-224, from memory).
    """
    m = matrix
    trace = m[..., 0, 0] + m[..., 1, 1] + m[..., 2, 2]
    squares = np.stack(
        [
            1.0 + trace,
            1.0 + 2.0 * m[..., 0, 0] - trace,
            1.0 + 2.0 * m[..., 1, 1] - trace,
            1.0 + 2.0 * m[..., 2, 2] - trace,
        ],
        axis=-1,
    )
    wx, wy, wz = m[..., 2, 1] - m[..., 1, 2], m[..., 0, 2] - m[..., 2, 0], m[..., 1, 0] - m[..., 0, 1]
    xy, xz, yz = m[..., 0, 1] + m[..., 1, 0], m[..., 0, 2] + m[..., 2, 0], m[..., 1, 2] + m[..., 2, 1]
    rows = np.stack(
        [
            np.stack([squares[..., 0], wx, wy, wz], axis=-1),
            np.stack([wx, squares[..., 1], xy, xz], axis=-1),
            np.stack([wy, xy, squares[..., 2], yz], axis=-1),
            np.stack([wz, xz, yz, squares[..., 3]], axis=-1),
        ],
        axis=-2,
    )  # (..., 4, 4): each row is the quaternion times one of its components times four
    best = np.argmax(squares, axis=-1)[..., None, None]
    quaternion: Array = np.take_along_axis(rows, best, axis=-2)[..., 0, :]
    quaternion = quaternion / np.linalg.norm(quaternion, axis=-1, keepdims=True)
    return np.where(quaternion[..., :1] < 0.0, -quaternion, quaternion)


def matrix_from_quaternion(quaternion: Array) -> Array:
    """Convert unit quaternions (..., 4), wxyz, to matrices (..., 3, 3)."""
    matrix = np.empty((*quaternion.shape[:-1], 3, 3))
    for row, entries in enumerate(_entries(np.moveaxis(quaternion, -1, 0))):
        for column, entry in enumerate(entries):
            matrix[..., row, column] = entry
    return matrix


def _entries(wxyz: Array) -> tuple[tuple[Array, Array, Array], ...]:
    """Rows of entries, each (...), of the matrices of unit quaternions (4, ...)."""
    w, x, y, z = wxyz
    return (
        (1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)),
        (2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)),
        (2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)),
    )


def continuous_sign(quaternion: Array) -> Array:
    """Flip signs along the first axis so that neighbours never jump: (frames, ..., 4)."""
    dots = np.sum(quaternion[1:] * quaternion[:-1], axis=-1)
    flips = np.concatenate([np.ones_like(dots[:1]), np.where(dots < 0.0, -1.0, 1.0)], axis=0)
    return quaternion * np.cumprod(flips, axis=0)[..., None]


def euler_from_matrix(matrix: Array, order: str) -> Array:
    """Split matrices (..., 3, 3) into three angles (..., 3) about moved axes, in the letters' order. [rad]

    ``order`` is one of EULER_ORDERS: "ZXY" means R = Rz Rx Ry. The second and third angle are read from
    what the first leaves, so the three together are exact even at the pole of the middle axis, where the
    first could be any.
    """
    entry = np.moveaxis(matrix, (-2, -1), (0, 1))
    return _with_first(entry, order, _first_rad(entry, order))


def _places(order: str) -> tuple[int, int, int, float]:
    """Axes of an order by number, and 1 where they follow on as x, y, z do, else -1."""
    i, j, k = (_AXIS[letter] for letter in order)
    return i, j, k, 1.0 if (j - i) % 3 == 1 else -1.0


def _first_rad(entry: Entries, order: str) -> Array:
    """Read the first angle of rotations given as rows of entries, each (...). [rad]"""
    _, j, k, sign = _places(order)
    return np.asarray(np.arctan2(-sign * entry[j][k], entry[k][k]))


def _with_first(entry: Entries, order: str, first_rad: Array) -> Array:
    """Read second and third angle from what a first one leaves, R = Ri(a) Rj(b) Rk(c): (..., 3). [rad]

    Row j of Ri(-a) R is row j of Rk(c), and its column k is column k of Rj(b).
    """
    i, j, k, sign = _places(order)
    row_i, row_j, row_k = entry[i], entry[j], entry[k]
    cos, sin = np.cos(first_rad), sign * np.sin(first_rad)
    middle = np.arctan2(sign * row_i[k], cos * row_k[k] - sin * row_j[k])
    third = np.arctan2(sign * (cos * row_j[i] + sin * row_k[i]), cos * row_j[j] + sin * row_k[j])
    return np.stack([first_rad, middle, third], axis=-1)


def matrix_from_euler(angles_rad: Array, order: str) -> Array:
    """Compose angles about moved axes, in the letters' order, (..., letters) to (..., 3, 3). [rad]

    Any letters will do, also fewer than three, or none.
    """
    matrix = np.broadcast_to(np.eye(3), (*np.shape(angles_rad)[:-1], 3, 3))
    for k, letter in enumerate(order):
        turn = axis_angle_matrix(letter, angles_rad[..., k])
        matrix = matrix @ turn if k else turn
    return matrix


def channel_angles(matrices: Array, order: str) -> Array:
    """Split rotations over time into three angles without jumps over time. [rad]

    As `euler_from_matrix`, but where the middle angle is a right angle and the first is free, the first
    keeps its value from the frame before, so that no channel jumps. Of the two triples that mean the same,
    the one whose first and third angle are nearer to none over all frames: a joint that turns about the
    middle axis alone has none of either, however far it is bent in the first frame, so that clips of it laid
    end to end go on.

    Parameters
    ----------
    matrices
        (frames, ..., 3, 3).
    order
        One of EULER_ORDERS.

    Returns
    -------
    (frames, ..., 3) angles in the order's letters. [rad]
    """
    return _channel_angles(np.moveaxis(matrices, (-2, -1), (0, 1)), order)


def quaternion_angles(quaternions: Array, order: str) -> Array:
    """Split unit quaternions wxyz over time, (frames, ..., 4), as `channel_angles` does matrices. [rad]"""
    return _channel_angles(_entries(np.ascontiguousarray(np.moveaxis(quaternions, -1, 0))), order)


def _channel_angles(entry: Entries, order: str) -> Array:
    """Split rotations given as rows of entries, each (frames, ...)."""
    _, j, k, _ = _places(order)
    cosine = np.hypot(entry[j][k], entry[k][k])  # of the middle angle
    angles = _with_first(entry, order, _held(_first_rad(entry, order), cosine < POLE_COSINE))
    if not np.all(np.abs(np.diff(angles, axis=0)) < SMALL_STEP_RAD):
        angles = unwrapped_euler(angles)
    is_far = np.sum(np.cos(angles[..., 0]) + np.cos(angles[..., 2]), axis=0) < 0.0
    return _other_triple(angles, is_far) if is_far.any() else angles


def _other(angles_rad: Array) -> Array:
    """Return the other triple of angles (..., 3) that means the same rotation. [rad]"""
    first, middle, third = np.moveaxis(angles_rad, -1, 0)
    return np.stack([first + np.pi, np.pi - middle, third + np.pi], axis=-1)


def _other_triple(angles_rad: Array, where: npt.NDArray[np.bool_]) -> Array:
    """Take the other triple that means the same where asked, each within half a turn at first. [rad]"""
    other = _other(angles_rad)
    other -= 2.0 * np.pi * np.round(other[:1] / (2.0 * np.pi))
    return np.where(where[..., None], other, angles_rad)


def _held(first_rad: Array, is_free: npt.NDArray[np.bool_]) -> Array:
    """Carry the first angle of the last frame that fixes it over the frames that do not, (frames, ...)."""
    if not is_free.any():
        return first_rad
    frame = np.arange(first_rad.shape[0]).reshape(-1, *([1] * (first_rad.ndim - 1)))
    last_fixed = np.maximum.accumulate(np.where(is_free, -1, frame), axis=0)
    next_fixed = np.argmax(~is_free, axis=0)[None]  # 0 where no frame fixes it
    source = np.where(last_fixed < 0, next_fixed, last_fixed)
    return np.take_along_axis(first_rad, source, axis=0)


def unwrapped_euler(angles_rad: Array) -> Array:
    """Remove jumps over time from Euler angles (frames, ..., 3). [rad]

    Of the two angle triples that mean the same rotation, (a, b, c) and (a + pi, pi - b, c + pi), the one
    nearer the frame before is followed; then each channel is unwrapped by whole turns.
    """
    other = _other(angles_rad)

    def distance(a: Array, b: Array) -> Array:
        return np.asarray(np.sum(1.0 - np.cos(a - b), axis=-1))

    swap = distance(angles_rad[1:], angles_rad[:-1]) > distance(other[1:], angles_rad[:-1])
    parity = np.concatenate([np.zeros_like(swap[:1]), np.cumsum(swap, axis=0) % 2 == 1], axis=0)
    return np.unwrap(np.where(parity[..., None], other, angles_rad), axis=0)
