"""Rotations over time as the angles of one joint's channels, whatever channels it has."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.rotations import channel_angles, matrix_from_euler
from gaitgen.numerics.turns import nearest_angle_rad

Array = npt.NDArray[np.float64]

ROUNDS = 12  # of fitting two angles in turn


def fitted_angles_rad(matrix: Array, letters: str, rest_rad: Array) -> Array:
    """Split rotations over time into the angles of a joint's channels.

    With three channels the split is exact; with fewer it is the nearest rotation that the channels can
    make. The angles run on without jumps from those of the standing pose.

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
        angles = channel_angles(np.concatenate([start[None], matrix]), letters)
        other = angles * np.array([1.0, -1.0, 1.0]) + np.pi
        turn = 2.0 * np.pi

        def apart(tried: Array) -> float:
            away = tried[0] - rest_rad
            return float(np.abs(away - turn * np.round(away / turn)).sum())

        chosen = angles if apart(angles) <= apart(other) else other
        return np.asarray(chosen - turn * np.round((chosen[0] - rest_rad) / turn))[1:]
    angles = np.zeros((len(matrix), len(letters))) + rest_rad
    for _ in range(ROUNDS if len(letters) > 1 else 1):
        for k, letter in enumerate(letters):
            before = matrix_from_euler(angles[:, :k], letters[:k])
            after = matrix_from_euler(angles[:, k + 1 :], letters[k + 1 :])
            left = np.swapaxes(before, -1, -2) @ matrix @ np.swapaxes(after, -1, -2)
            angles[:, k] = nearest_angle_rad(left, letter)
    joined = np.unwrap(np.concatenate([rest_rad[None], angles]), axis=0)
    return joined[1:]
