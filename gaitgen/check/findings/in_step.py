"""Legs of a pair held against each other where half a stride is no whole number of frames."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.check.gait import Gait
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix

Array = npt.NDArray[np.float64]

IMAGE = np.array([1.0, -1.0, 1.0, -1.0])  # of a quaternion (w, x, y, z) in the plane of x and z


def in_step(gait: Gait, foot: int, mate: int, n: int) -> Array:
    """At which rows a mate is as far in its stance or its swing as a foot is at each of ``n`` rows, (n,).

    In a stride of an odd number of frames one of both stands a frame longer, or swings so.
    """
    period = round(gait.period)
    down, mate_down = (gait.summary.duty_factor[limb] * period for limb in (foot, mate))
    strides, gone = np.divmod(np.arange(n) - gait.contact[foot], period)
    far = np.interp(gone, [0.0, down, period], [0.0, mate_down, period])
    return np.asarray(gait.contact[mate] + strides * period + far)


def apart_in_step_deg(gait: Gait, pair: Sequence[int], turns: Sequence[Array]) -> Array:
    """How far joints of two legs are from each other's mirror image where each is as far in its step.

    Parameters
    ----------
    gait
        The stride, of a whole number of frames.
    pair
        The two feet, as rows of LIMBS.
    turns
        Rotations of their joints over a loop, (rows, joints, 3, 3) each.

    Returns
    -------
    (2, rows, joints), of each at its own rows. [degrees]
    """
    ways = [continuous_sign(quaternion_from_matrix(own)) for own in turns]
    found = []
    for k, other in ((0, 1), (1, 0)):
        n = len(ways[k])
        at, part = np.divmod(in_step(gait, pair[k], pair[other], n), 1.0)
        before, after = (ways[other][(at.astype(np.int64) + by) % n] * IMAGE for by in (0, 1))
        after = after * np.where((before * after).sum(axis=-1, keepdims=True) < 0.0, -1.0, 1.0)
        mate = (1.0 - part)[:, None, None] * before + part[:, None, None] * after
        cosine = np.abs((ways[k] * mate).sum(axis=-1)) / np.linalg.norm(mate, axis=-1)
        found.append(2.0 * np.degrees(np.arccos(np.minimum(cosine, 1.0))))
    return np.array(found)
