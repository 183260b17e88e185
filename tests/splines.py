"""Splines with one tangent before each key and another after it, by an independent library."""

import numpy as np
from scipy.interpolate import CubicHermiteSpline


def hermite(frame, value, tangent_in, tangent_out):
    """Return the curve through some keys as a function of the frame."""
    frame, value = np.asarray(frame, float), np.asarray(value, float)
    pieces = [
        CubicHermiteSpline(frame[k : k + 2], value[k : k + 2], [tangent_out[k], tangent_in[k + 1]])
        for k in range(len(frame) - 1)
    ]

    def curve(at):
        at = np.asarray(at, float)
        piece = np.clip(np.searchsorted(frame, at, side="right") - 1, 0, len(pieces) - 1)
        return sum(np.where(piece == k, each(at), 0.0) for k, each in enumerate(pieces))

    return curve


def of_channel(keys, k, first=1.0):
    """Return the curve of one channel; with first=0 frames count from 0."""
    mine = keys.channel == k
    if mine.sum() < 2:
        value = keys.value[mine].sum()
        return lambda at: np.full(np.shape(at), value)
    at = keys.frame[mine] - 1.0 + first
    return hermite(at, keys.value[mine], keys.tangent_in[mine], keys.tangent_out[mine])
