"""The names of the feet under a figure of a strip."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.marks import AIR, spread
from gaitgen.pictures.nearness import far_limbs
from gaitgen.pictures.page import SMALL_PT
from gaitgen.pictures.views import View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# How far names stand under near and far feet, the room of one name, and the step down out of another's way.
NEAR_INCHES, FAR_INCHES = 0.09, 0.20
ROOM_INCHES = np.array([0.21, 0.11])
_STEP_INCHES = 0.01


def name_places(
    posed: PosedBody,
    frame: int,
    view: View,
    inch_m: float,
    *,
    ground_m: Array | None = None,
    across_m: tuple[float, float] = (-np.inf, np.inf),
) -> Array:
    """Place the names of the feet, (4, 2) in LIMBS order, so that none covers another. [m]

    Parameters
    ----------
    posed, frame, view
        The body, which of its poses, and where it is seen from.
    inch_m
        Metres that an inch of paper shows. [m]
    ground_m
        (4,) height in the view of the ground under each foot, 0 if not given. [m]
    across_m
        Between which places names stay. [m]
    """
    level = np.zeros(len(LIMBS)) if ground_m is None else ground_m
    room_m = ROOM_INCHES * inch_m
    corners = view.project(posed.feet_m[frame])  # (4, 8, 2)
    far = far_limbs(posed, frame, view)
    is_far = np.array([limb in far for limb in LIMBS])
    low_m = np.minimum(corners[..., 1].min(axis=1), level)
    if view.name == "front":  # up a slope hind feet are seen under fore ones: names stand below both
        left, right = corners[..., 0].min(axis=1), corners[..., 0].max(axis=1)
        beside = room_m[0] / 2.0
        meets = (left[:, None] - beside < right) & (left < right[:, None] + beside)
        low_m = np.where(meets, low_m, np.inf).min(axis=1)
    places = np.stack(
        [
            np.clip(corners[..., 0].mean(axis=1), *across_m),
            low_m - inch_m * np.where(is_far, FAR_INCHES, NEAR_INCHES),
        ],
        axis=1,
    )
    for row in (np.flatnonzero(~is_far), np.flatnonzero(is_far)):
        if np.ptp(places[row, 1]) < room_m[1]:
            places[row, 0] = spread(places[row, 0], room_m[0], *across_m)
    order = sorted(range(len(LIMBS)), key=lambda limb: (is_far[limb], LIMBS[limb]))
    for rank, limb in enumerate(order):
        others = places[order[:rank]]
        while np.any(np.all(np.abs(others - places[limb]) < room_m - 1e-9, axis=1)):
            places[limb, 1] -= _STEP_INCHES * inch_m
    return places


def write_names(axes: Axes, places_m: Array, planted: Bools, lands: Bools) -> None:
    """Write names at places (4, 2): white on black if a foot lands, bold if planted, thin in the air."""
    for k, (x, y) in enumerate(places_m):
        box = {"boxstyle": "square,pad=0.12", "facecolor": "0", "edgecolor": "none"}
        axes.text(
            float(x),
            float(y),
            LIMBS[k],
            ha="center",
            va="center_baseline",
            fontsize=SMALL_PT,
            fontweight="bold" if planted[k] else "normal",
            color="1" if lands[k] else "0" if planted[k] else AIR,
            bbox=box if lands[k] else None,
            zorder=9.0,
        )
