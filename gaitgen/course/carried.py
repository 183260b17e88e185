"""The ground as a body on four legs feels it: what is shorter than a body is smoothed away along its path."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.curves import local_mean

if TYPE_CHECKING:
    from gaitgen.course.ground import Ground
    from gaitgen.course.path import Path

Array = npt.NDArray[np.float64]

STEP_M = 0.02
# Places to the left and right of the path, as a share of the reach, whose heights count too.
ASIDE = (-0.12, 0.0, 0.12)


def carried_m(ground: Ground, path: Path, distance_m: Array, reach_m: float) -> Array:
    """Height that carries a body at distances along its path: (...), twice smooth. [m]

    Parameters
    ----------
    ground, path
        Where it goes. A hole under the body is bridged.
    distance_m
        (...) along the path. [m]
    reach_m
        So far around each place heights are averaged: about half the length of a body. [m]

    Raises
    ------
    CourseError
        If there is no ground anywhere along the way.
    """
    if ground.is_even:
        return ground.height_m(path.at(distance_m)[0])
    from scipy.interpolate import CubicSpline

    first, last = float(distance_m.min()) - 2.0 * reach_m, float(distance_m.max()) + 2.0 * reach_m
    along = np.arange(first, last + 2.0 * STEP_M, STEP_M)
    places, _ = path.beside(along[:, None], np.array(ASIDE) * reach_m)
    heights = ground.known_m(places)  # (places, aside)
    known = np.isfinite(heights)
    if not known.any():
        ground.height_m(places)  # which refuses it
    row = np.where(known, heights, 0.0).sum(axis=1) / np.maximum(known.sum(axis=1), 1)
    here = known.any(axis=1)
    row = np.interp(along, along[here], row[here])
    spline = CubicSpline(along, local_mean(row, max(3, round(reach_m / STEP_M))))
    return np.asarray(spline(distance_m))
