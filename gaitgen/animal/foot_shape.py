"""The outline of a foot from above, inside the box of its corners."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SECTIONS = 24
# Exponent p of the outline |x/a|^p + |y/b|^p = 1: a little nearer to a box than an ellipse.
ROUNDNESS = 2.4


def foot_plan() -> Array:
    """Points of the outline in a square of half-width 1, (SECTIONS, 2), from the toe to the left."""
    angle = 2.0 * np.pi * np.arange(SECTIONS) / SECTIONS
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    circle[np.abs(circle) < 1e-9] = 0.0
    return np.asarray(np.sign(circle) * np.abs(circle) ** (2.0 / ROUNDNESS))


def rounded_feet(corners_m: Array) -> Array:
    """Round the sole and the rim of feet off: corners (..., 8, 3) to points (..., 2 SECTIONS, 3). [m]

    The outline touches the middle of each side of a box of corners: toe, heel and both flanks stay.
    """
    ahead, left = np.moveaxis((1.0 + foot_plan()) / 2.0, -1, 0)
    shares = np.stack(
        [ahead * left, ahead * (1.0 - left), (1.0 - ahead) * left, (1.0 - ahead) * (1.0 - left)], axis=-1
    )
    boxes = corners_m.reshape(*corners_m.shape[:-2], 2, 4, 3)
    return np.asarray(np.einsum("pc,...lci->...lpi", shares, boxes)).reshape(*corners_m.shape[:-2], -1, 3)
