"""A strip of poses as a PNG: from the side, from the front, and three-quarter."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody, pose
from gaitgen.motion.key_poses import is_event
from gaitgen.motion.measure import measure_feet, over_origin
from gaitgen.motion.motion import Motion
from gaitgen.pictures.marks import ground_mark_m
from gaitgen.pictures.nearness import far_limbs
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.pose_cell import down_words
from gaitgen.pictures.views import VIEWS, View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, right, bottom, top [m]

FEWEST_POSES, MOST_POSES = 4, 16
COLUMN_INCHES = 2.5
DOTS_PER_INCH = 130
# Room that is the same on paper for an animal of any size: beside, above and below the figures, below them
# with captions, letters under near and far feet, the room of one letter, and captions over the lower edge.
_ASIDE_INCHES, _ABOVE_INCHES, _BELOW_INCHES, _CAPTIONED_INCHES = 0.09, 0.05, 0.34, 0.56
_LETTER_INCHES, _FAR_LETTER_INCHES = 0.07, 0.15
_LETTER_ROOM_INCHES = np.array([0.078, 0.073])
_NAME_INCHES, _DOWN_INCHES = 0.19, 0.06


def strip_rows(clip: Motion, poses: int) -> npt.NDArray[np.int64]:
    """Return the rows of the poses to draw, (poses,), whole frames of the first stride in order.

    The contacts and flights, then the key poses between them, and where these are too few frames in the
    middle of the longest gaps. Where there are too many, those between go first, then the one that is
    nearest to its neighbours.
    """
    stride = clip.facts.frames
    count = min(poses, stride)
    is_kept: dict[int, bool] = {}
    for key in clip.key_poses:
        row = int(np.floor(key.frame + 0.25)) - 1
        if row < stride:
            is_kept[row] = is_kept.get(row, False) or is_event(key.name)
    rows = sorted(is_kept)
    while len(rows) > count:
        gaps = _gaps(rows, stride)
        rooms = np.roll(gaps, 1) + gaps
        del rows[min(range(len(rows)), key=lambda k: (is_kept[rows[k]], rooms[k]))]
    between: list[int] = []
    while len(rows) < count:
        between.append(_between(rows, between, stride))
        rows = sorted([*rows, between[-1]])
    return np.array(rows, dtype=np.int64)


def _between(rows: list[int], others: list[int], stride: int) -> int:
    """Return the row in the middle of the longest gap; of several, that farthest from some others."""
    gaps = _gaps(rows, stride)
    middles = [
        (row + int(gap) // 2) % stride for row, gap in zip(rows, gaps, strict=True) if gap == gaps.max()
    ]
    away = [[min((m - o) % stride, (o - m) % stride) for o in others] for m in middles]
    return middles[max(range(len(middles)), key=lambda k: min(away[k], default=0))]


def _gaps(rows: list[int], stride: int) -> npt.NDArray[np.int64]:
    """Return how far it is from each row to the next, the last to the first of the next stride."""
    return np.diff([*rows, rows[0] + stride])


@in_own_look
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
    tight = [_box(posed, view) for view in views]
    inch_m = max(box[1] - box[0] for box in tight) / (COLUMN_INCHES - _ASIDE_INCHES)
    boxes = [_roomy(box, view, inch_m) for box, view in zip(tight, views, strict=True)]
    heights = [box[3] - box[2] for box in boxes]
    size = (COLUMN_INCHES * len(rows), sum(heights) / inch_m)
    figure = Figure(figsize=size, dpi=DOTS_PER_INCH)
    FigureCanvasAgg(figure)
    top = 1.0
    for view, box, height in zip(views, boxes, heights, strict=True):
        share = height / sum(heights)
        axes = figure.add_axes((0.0, top - share, 1.0, share))
        top -= share
        _row(axes, clip, posed, rows, view, box, inch_m)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", metadata={"Software": None})
    return buffer.getvalue()


def _box(posed: PosedBody, view: View) -> Box:
    """Room that all poses take in a view. [m]"""
    points = view.project(posed.ends_m)
    radii = posed.body.radii_m[None, :, :]
    left, right = (points[..., 0] - radii).min(), (points[..., 0] + radii).max()
    top = (points[..., 1] + radii).max()
    bottom = view.project(posed.feet_m)[..., 1].min()
    return float(left), float(right), float(bottom), float(top)


def _roomy(box: Box, view: View, inch_m: float) -> Box:
    """Add the room for letters and captions; ``inch_m`` are the metres that an inch of paper shows."""
    below = _CAPTIONED_INCHES if view.name == "side" else _BELOW_INCHES
    return box[0], box[1], box[2] - below * inch_m, box[3] + _ABOVE_INCHES * inch_m


def _row(
    axes: Axes,
    clip: Motion,
    posed: PosedBody,
    rows: npt.NDArray[np.int64],
    view: View,
    box: Box,
    inch_m: float,
) -> None:
    cell_m = COLUMN_INCHES * inch_m
    axes.set_xlim(0.0, cell_m * len(rows))
    axes.set_ylim(box[2], box[3])
    axes.axis("off")
    planted = measure_feet(clip).planted[rows]
    for k, row in enumerate(rows):
        shift = (k + 0.5) * cell_m - (box[0] + box[1]) / 2.0
        if view.name == "side":
            _ground(axes, clip, int(row), k * cell_m, shift, inch_m)
        paint(axes, posed, k, view, shift_m=(shift, 0.0), ink=Ink(line_pt=0.9))
        _letters(axes, letter_places(posed, k, view, inch_m) + np.array([shift, 0.0]), planted[k])
        if view.name == "side":
            _captions(axes, clip, int(row), ((k + 0.5) * cell_m, box[2]), planted[k], inch_m)


def _ground(axes: Axes, clip: Motion, row: int, left_m: float, shift_m: float, inch_m: float) -> None:
    """Draw the ground with marks that move with it."""
    margin_m, apart_m = _ASIDE_INCHES / 2.0 * inch_m, ground_mark_m(clip.animal.withers_height_m)
    left, right = left_m + margin_m, left_m + COLUMN_INCHES * inch_m - margin_m
    axes.plot([left, right], [0.0, 0.0], color="0.25", linewidth=1.0, zorder=1.0)
    moved = clip.steps.travel_m_s[0] * row / clip.frame_rate_hz
    first = np.ceil((left - shift_m + moved) / apart_m)
    last = np.floor((right - shift_m + moved) / apart_m)
    for mark in np.arange(first, last + 1) * apart_m - moved + shift_m:
        axes.plot([mark, mark], [0.0, -0.03 * inch_m], color="0.25", linewidth=0.8, zorder=1.0)


def _letters(axes: Axes, places_m: Array, planted: npt.NDArray[np.bool_]) -> None:
    """Write L or R under each foot, bold where it is planted; the letters of far feet stand lower."""
    for limb, (x, y) in zip(LIMBS, places_m, strict=True):
        is_down = bool(planted[LIMBS.index(limb)])
        axes.text(
            float(x),
            float(y),
            limb[0],
            ha="center",
            va="center",
            fontsize=6.5,
            fontweight="bold" if is_down else "normal",
            color="0.0" if is_down else "0.55",
            zorder=9.0,
        )


def letter_places(posed: PosedBody, frame: int, view: View, inch_m: float) -> Array:
    """Place the letters of the feet, (4, 2) in LIMBS order, so that none covers another. [m]

    ``inch_m`` are the metres that an inch of paper shows.
    """
    near_m, far_m = _LETTER_INCHES * inch_m, _FAR_LETTER_INCHES * inch_m
    corners = view.project(posed.feet_m[frame])  # (4, 8, 2)
    far = far_limbs(posed, frame, view)
    drop = np.array([far_m if limb in far else near_m for limb in LIMBS])
    places = np.stack(
        [corners[..., 0].mean(axis=1), np.minimum(corners[..., 1].min(axis=1), 0.0) - drop], axis=1
    )
    order = sorted(range(len(LIMBS)), key=lambda limb: (LIMBS[limb] in far, LIMBS[limb]))
    for rank, limb in enumerate(order):
        others = places[order[:rank]]
        while np.any(np.all(np.abs(others - places[limb]) < inch_m * _LETTER_ROOM_INCHES, axis=1)):
            places[limb, 1] -= 0.01 * inch_m
    return places


def _captions(
    axes: Axes,
    clip: Motion,
    row: int,
    below_m: tuple[float, float],
    planted: npt.NDArray[np.bool_],
    inch_m: float,
) -> None:
    """Write frame, name of the pose and feet that are down over a place on the lower edge."""
    middle, bottom = below_m
    name_m, down_m = _NAME_INCHES * inch_m, _DOWN_INCHES * inch_m
    names = {round(pose.frame) - 1: pose.name for pose in clip.key_poses}
    text = f"{row + 1}   {names[row]}" if row in names else f"{row + 1}"
    axes.text(middle, bottom + name_m, text, ha="center", va="center", fontsize=7.5, fontweight="bold")
    words = down_words(planted.tolist(), names.get(row, ""))
    axes.text(middle, bottom + down_m, words, ha="center", va="center", fontsize=6.5)
