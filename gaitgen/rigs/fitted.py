"""Rotations over time as the angles of one joint's channels, whatever channels it has."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import channel_angles, matrix_from_euler
from gaitgen.numerics.turns import nearest_angle_rad

Array = npt.NDArray[np.float64]

SAME = 1e-7  # of two matrices, and of angles in radians: a loop is closed
ROUNDS = 12  # of fitting two angles in turn


def fitted_angles_rad(matrix: Array, letters: str, rest_rad: Array) -> Array:
    """Split rotations over time into the angles of a joint's channels.

    With three channels the split is exact; with fewer it is the nearest rotation that the channels can
    make. The angles run on without jumps from those of the standing pose. A loop that passes close by the
    pole of three channels stays on one side of it, where its angles could else end half a turn away from
    where they began; their steps are larger there.

    Parameters
    ----------
    matrix
        (frames, 3, 3) local rotations between the file's axes.
    letters
        Axes of the channels in the order of the file, at most three, all different.
    rest_rad
        (letters,) angles of the standing pose. [rad]

    Returns
    -------
    (frames, letters). [rad]
    """
    if len(letters) == 3:
        start = matrix_from_euler(rest_rad, letters)
        angles = _from_rest(channel_angles(np.concatenate([start[None], matrix]), letters), rest_rad)
        if np.abs(matrix[-1] - matrix[0]).max() > SAME or _is_closed(angles):
            return angles[1:]
        one_sided = _from_rest(_on_one_side(angles), rest_rad)
        return (one_sided if _is_closed(one_sided) else angles)[1:]
    angles = np.zeros((len(matrix), len(letters))) + rest_rad
    for _ in range(ROUNDS if len(letters) > 1 else 1):
        for k, letter in enumerate(letters):
            before = matrix_from_euler(angles[:, :k], letters[:k])
            after = matrix_from_euler(angles[:, k + 1 :], letters[k + 1 :])
            left = np.swapaxes(before, -1, -2) @ matrix @ np.swapaxes(after, -1, -2)
            angles[:, k] = nearest_angle_rad(left, letter)
    joined = np.unwrap(np.concatenate([rest_rad[None], angles]), axis=0)
    return joined[1:]


def _other(angles: Array) -> Array:
    """Return the other three angles of the same rotations."""
    return np.asarray(angles * np.array([1.0, -1.0, 1.0]) + np.pi)


def _from_rest(angles: Array, rest_rad: Array) -> Array:
    """Choose the angles whose first, of the standing pose, are those of the file."""
    turn = 2.0 * np.pi

    def apart(tried: Array) -> float:
        away = tried[0] - rest_rad
        return float(np.abs(away - turn * np.round(away / turn)).sum())

    other = _other(angles)
    chosen = angles if apart(angles) <= apart(other) else other
    return np.asarray(chosen - turn * np.round((chosen[0] - rest_rad) / turn))


def _on_one_side(angles: Array) -> Array:
    """Keep the middle angle on the side of its pole where the first row has it."""
    crossed = np.cos(angles[:, 1]) * np.cos(angles[0, 1]) < 0.0
    return np.asarray(np.unwrap(np.where(crossed[:, None], _other(angles), angles), axis=0))


def _is_closed(angles: Array) -> bool:
    """Tell whether the frames after the standing pose end where they began."""
    return bool(np.abs(angles[-1] - angles[1]).max() < SAME)
