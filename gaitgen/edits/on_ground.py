"""A clip that as a whole stands lower or higher than its ground: the body was moved, or the scene."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.edits.difference import Edit
from gaitgen.errors import Notice

Array = npt.NDArray[np.float64]

LEAST_M = 5e-4  # what is nearer to the ground is on it
MOST_SHARE = 0.12  # of the hip height: a body that was moved farther has moved with its scene (estimate)
EVEN_SHARE = 0.5  # of the height: feet that differ by more were not moved with the whole clip
ENDS = (0.1, 0.9)  # of the feet and moments, in order of height


def on_ground(edit: Edit, planted_m: Array) -> tuple[Edit, tuple[Notice, ...]]:
    """Tell a body that was moved from a clip that was moved in its scene, which is no edit.

    Parameters
    ----------
    edit
        What was changed.
    planted_m
        How much higher planted toes are than in the clip that it started from. [m]
    """
    ground_m = float(np.median(planted_m))
    far = f"{abs(1000.0 * ground_m):.0f} mm {'higher' if ground_m > 0.0 else 'lower'}"
    if abs(ground_m) > MOST_SHARE * edit.hip_height_m:
        text = (
            f"the whole clip is {far} than the one that it started from; that is taken for its place in the "
            "scene, and not carried."
        )
        moved = edit.moved_m - np.array([0.0, 0.0, ground_m])
        return replace(edit, moved_m=moved), (Notice("ground", text),)
    if abs(ground_m) < LEAST_M or np.ptp(np.quantile(planted_m, ENDS)) > EVEN_SHARE * abs(ground_m):
        return edit, ()
    text = (
        f"body and feet are {far} than in the clip that it started from; the feet stay on the ground, and "
        "the body is carried as it is. If the clip was moved in the scene, move it back."
    )
    return edit, (Notice("ground", text),)
