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


def carried_m(
    ground: Ground, path: Path, distance_m: Array, reach_m: float, time_s: Array | None = None
) -> Array:
    """Height that carries a body at distances along its path: (...), twice smooth. [m]

    Parameters
    ----------
    ground, path
        Where it goes. A hole under the body is bridged.
    distance_m
        (...) along the path. [m]
    reach_m
        So far around each place heights are averaged: about half the length of a body. [m]
    time_s
        (...) moments that count for turns on the spot; None for the path as it lies. [s]

    Raises
    ------
    CourseError
        If there is no ground anywhere along the way.
    """
    if ground.is_even:
        return ground.height_m(path.at(distance_m, time_s)[0])
    if path.spins and time_s is not None:
        return _over_spins_m(ground, path, distance_m, reach_m, time_s)
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


def _over_spins_m(ground: Ground, path: Path, distance_m: Array, reach_m: float, time_s: Array) -> Array:
    """Go over from the height before each turn on the spot to that after it, as far as it is done."""
    distance = np.asarray(distance_m)
    time = np.broadcast_to(time_s, distance.shape)
    moments = [path.spins[0].start_s, *(spin.end_s for spin in path.spins)]
    turned = [spin.turned_rad(time) / spin.turn_rad for spin in path.spins]
    height = np.zeros(distance.shape)
    for number, moment in enumerate(moments):
        begun = turned[number - 1] if number > 0 else np.ones(distance.shape)
        share = begun * (1.0 - turned[number] if number < len(turned) else 1.0)
        here = share > 0.0
        if here.any():
            leg = path.leg(moment)
            height[here] += share[here] * carried_m(ground, leg, distance[here], reach_m)
    return height
