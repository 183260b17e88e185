"""A strip of poses as a PNG: from the side, from the front, and three-quarter."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody, pose
from gaitgen.motion.measure import measure_feet, over_origin
from gaitgen.motion.motion import Motion
from gaitgen.pictures.paint import Ink, far_limbs, paint
from gaitgen.pictures.views import VIEWS, View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]

FEWEST_POSES, MOST_POSES = 4, 16
COLUMN_INCHES = 2.5
DOTS_PER_INCH = 130
BELT_MARK_M = 0.5
# Letters under near and far hooves, and the room of one letter.
_LETTER_M, _FAR_LETTER_M = 0.08, 0.17
_LETTER_ROOM_M = np.array([0.09, 0.085])


def strip_rows(clip: Motion, poses: int) -> npt.NDArray[np.int64]:
    """Return the rows of the poses to draw, (poses,), evenly through the first stride, on whole frames."""
    stride = int(clip.facts["frames"])
    count = min(poses, stride)
    return np.round(np.arange(count) * stride / count).astype(np.int64)


def write_strip(clip: Motion, poses: int = 8) -> bytes:
    """Draw a strip of 4 to 16 poses.

    Raises
    ------
    RequestError
        For another number of poses.
    """
    if not FEWEST_POSES <= poses <= MOST_POSES:
        raise RequestError(f"poses is {poses}; give a number from {FEWEST_POSES} to {MOST_POSES}")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    rows = strip_rows(clip, poses)
    posed = pose(over_origin(clip), rows)
    views = [VIEWS[name] for name in ("side", "front", "three_quarter")]
    boxes = [_box(posed, view) for view in views]
    cell_m = max(box[1] - box[0] for box in boxes) + 0.10
    heights = [box[3] - box[2] for box in boxes]
    scale = COLUMN_INCHES / cell_m
    size = (COLUMN_INCHES * len(rows), scale * sum(heights))
    figure = Figure(figsize=size, dpi=DOTS_PER_INCH)
    FigureCanvasAgg(figure)
    top = 1.0
    for view, box, height in zip(views, boxes, heights, strict=True):
        share = height / sum(heights)
        axes = figure.add_axes((0.0, top - share, 1.0, share))
        top -= share
        _row(axes, clip, posed, rows, view, box, cell_m)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", metadata={"Software": None})
    return buffer.getvalue()


def _box(posed: PosedBody, view: View) -> tuple[float, float, float, float]:
    """Room that all poses need in a view: left, right, bottom, top. [m]"""
    points = view.project(posed.ends_m)
    radii = posed.body.radii_m[None, :, :]
    left, right = (points[..., 0] - radii).min(), (points[..., 0] + radii).max()
    top = (points[..., 1] + radii).max()
    bottom = view.project(posed.hooves_m)[..., 1].min()
    return (
        float(left),
        float(right),
        float(bottom) - (0.56 if view.name == "side" else 0.26),
        float(top) + 0.06,
    )


def _row(
    axes: Axes,
    clip: Motion,
    posed: PosedBody,
    rows: npt.NDArray[np.int64],
    view: View,
    box: tuple[float, float, float, float],
    cell_m: float,
) -> None:
    axes.set_xlim(0.0, cell_m * len(rows))
    axes.set_ylim(box[2], box[3])
    axes.axis("off")
    planted = measure_feet(clip).planted[rows]
    for k, row in enumerate(rows):
        shift = (k + 0.5) * cell_m - (box[0] + box[1]) / 2.0
        if view.name == "side":
            _ground(axes, clip, int(row), k * cell_m, cell_m, shift)
        paint(axes, posed, k, view, shift_m=(shift, 0.0), ink=Ink(line_pt=0.9))
        _letters(axes, posed, k, view, shift, planted[k])
        if view.name == "side":
            _captions(axes, clip, int(row), (k + 0.5) * cell_m, box[2], planted[k])


def _ground(axes: Axes, clip: Motion, row: int, left_m: float, cell_m: float, shift_m: float) -> None:
    """Draw the ground with marks that move with it."""
    axes.plot([left_m + 0.05, left_m + cell_m - 0.05], [0.0, 0.0], color="0.25", linewidth=1.0, zorder=1.0)
    moved = clip.footfalls.travel_m_s[0] * row / clip.frame_rate_hz
    first = np.ceil((left_m + 0.05 - shift_m + moved) / BELT_MARK_M)
    last = np.floor((left_m + cell_m - 0.05 - shift_m + moved) / BELT_MARK_M)
    for mark in np.arange(first, last + 1) * BELT_MARK_M - moved + shift_m:
        axes.plot([mark, mark], [0.0, -0.035], color="0.25", linewidth=0.8, zorder=1.0)


def _letters(
    axes: Axes, posed: PosedBody, k: int, view: View, shift_m: float, planted: npt.NDArray[np.bool_]
) -> None:
    """Write L or R under each hoof, bold where it is planted; the letters of far feet stand lower."""
    places = letter_places(posed, k, view)
    for limb, (x, y) in zip(LIMBS, places, strict=True):
        is_down = bool(planted[LIMBS.index(limb)])
        axes.text(
            float(x) + shift_m,
            float(y),
            limb[0],
            ha="center",
            va="center",
            fontsize=6.5,
            fontweight="bold" if is_down else "normal",
            color="0.0" if is_down else "0.55",
            zorder=9.0,
        )


def letter_places(posed: PosedBody, frame: int, view: View) -> Array:
    """Place the letters of the feet, (4, 2) in LIMBS order, so that none covers another. [m]"""
    corners = view.project(posed.hooves_m[frame])  # (4, 8, 2)
    far = far_limbs(posed, frame, view)
    drop = np.array([_FAR_LETTER_M if limb in far else _LETTER_M for limb in LIMBS])
    places = np.stack(
        [corners[..., 0].mean(axis=1), np.minimum(corners[..., 1].min(axis=1), 0.0) - drop], axis=1
    )
    order = sorted(range(len(LIMBS)), key=lambda limb: (LIMBS[limb] in far, LIMBS[limb]))
    for rank, limb in enumerate(order):
        others = places[order[:rank]]
        while np.any(np.all(np.abs(others - places[limb]) < _LETTER_ROOM_M, axis=1)):
            places[limb, 1] -= 0.01
    return places


def _captions(
    axes: Axes, clip: Motion, row: int, middle_m: float, bottom_m: float, planted: npt.NDArray[np.bool_]
) -> None:
    names = {round(pose.frame) - 1: pose.name for pose in clip.key_poses}
    feet = " ".join(LIMBS[limb] for limb in (3, 1, 2, 0) if planted[limb])
    text = f"{row + 1}   {names[row]}" if row in names else f"{row + 1}"
    axes.text(middle_m, bottom_m + 0.22, text, ha="center", va="center", fontsize=7.5, fontweight="bold")
    axes.text(middle_m, bottom_m + 0.07, f"down: {feet}", ha="center", va="center", fontsize=6.5)
