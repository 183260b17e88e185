"""A strip of poses as a PNG: from the side, from the front, and three-quarter."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
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
from gaitgen.pictures.terrain import GROUND_TONE, Floor, Terrain, level_terrain, paint_floor
from gaitgen.pictures.views import VIEWS, View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, right, bottom, top [m]

FEWEST_POSES, MOST_POSES = 4, 16
LINE_POSES = 8
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


def spread_rows(clip: Motion, poses: int) -> npt.NDArray[np.int64]:
    """Return rows of named poses from all over a clip, at most (poses,): the ends, and one of each stretch.

    Of the poses of a stretch that is taken whose name has been taken least often, so that a strip does not
    show one moment of the stride again and again.
    """
    names = {round(key.frame) - 1: key.name for key in clip.key_poses}
    keys = np.array(sorted(row for row in names if 0 < row < clip.frames - 1), dtype=np.int64)
    edges = np.linspace(0.0, clip.frames - 1.0, poses - 1)
    taken: dict[str, int] = {}
    rows = [0, clip.frames - 1]
    for first, after in pairwise(edges.tolist()):
        here = keys[(keys >= first) & (keys < after)].tolist()
        if here:
            middle = (first + after) / 2.0
            row = min(here, key=lambda each: (taken.get(names[each], 0), abs(each - middle)))
            taken[names[row]] = taken.get(names[row], 0) + 1
            rows.append(row)
    return np.array(sorted(rows), dtype=np.int64)


@in_own_look
def write_strip(
    clip: Motion,
    poses: int = 8,
    terrain: Terrain | None = None,
    doing: Callable[[int], str] | None = None,
) -> bytes:
    """Draw a strip of 4 to 16 poses, eight in a line.

    Parameters
    ----------
    clip
        One cycle; its first stride is drawn. With a terrain, a shot as seen from the frame that goes along
        with it; all of it is drawn.
    poses
        How many.
    terrain
        The ground, if it is not level and does not go by as the steps of a cycle ask.
    doing
        What the animal is about in a row of a shot.

    Raises
    ------
    RequestError
        For another number of poses.
    """
    if not FEWEST_POSES <= poses <= MOST_POSES:
        raise RequestError(f"poses is {poses}; give a number from {FEWEST_POSES} to {MOST_POSES}")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    rows = strip_rows(clip, poses) if terrain is None else spread_rows(clip, poses)
    sheet = _Strip(clip, terrain or level_terrain(clip), pose(over_origin(clip), rows), rows, doing)
    views = [VIEWS[name] for name in ("side", "front", "three_quarter")]
    tight = [sheet.box(view) for view in views]
    inch_m = max(box[1] - box[0] for box in tight) / (COLUMN_INCHES - _ASIDE_INCHES)
    boxes = [_roomy(box, view, inch_m) for box, view in zip(tight, views, strict=True)]
    lines = np.array_split(np.arange(len(rows)), -(-len(rows) // LINE_POSES))
    heights = [box[3] - box[2] for box in boxes] * len(lines)
    size = (COLUMN_INCHES * len(lines[0]), sum(heights) / inch_m)
    figure = Figure(figsize=size, dpi=DOTS_PER_INCH)
    FigureCanvasAgg(figure)
    bands = [(which, view, box) for which in lines for view, box in zip(views, boxes, strict=True)]
    top = 1.0
    for (which, view, box), height in zip(bands, heights, strict=True):
        share = height / sum(heights)
        axes = figure.add_axes((0.0, top - share, 1.0, share))
        top -= share
        axes.set_xlim(0.0, COLUMN_INCHES * inch_m * len(lines[0]))
        axes.set_ylim(box[2], box[3])
        axes.axis("off")
        for column, k in enumerate(which):
            sheet.draw(axes, int(k), column, view, box, inch_m)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", metadata={"Software": None})
    return buffer.getvalue()


@dataclass(frozen=True, eq=False)
class _Strip:
    """What a strip is drawn from: clip, ground, posed rows, and what the animal is about in them."""

    clip: Motion
    terrain: Terrain
    posed: PosedBody
    rows: npt.NDArray[np.int64]
    doing: Callable[[int], str] | None

    @cached_property
    def planted(self) -> npt.NDArray[np.bool_]:
        """(poses, 4) whether each foot is down."""
        return measure_feet(self.clip).planted[self.rows]

    def floor(self, k: int) -> Floor:
        """Return the ground under one pose."""
        return Floor(self.terrain, int(self.rows[k]), self.posed, k)

    def box(self, view: View) -> Box:
        """Room that all poses and their ground take in a view. [m]"""
        points = view.project(self.posed.ends_m)
        radii = self.posed.body.radii_m[None, :, :]
        left, right = float((points[..., 0] - radii).min()), float((points[..., 0] + radii).max())
        top = float((points[..., 1] + radii).max())
        low = [float(view.project(self.posed.feet_m)[..., 1].min())]
        for k in range(len(self.rows)):
            low += [float(np.nanmin(line[:, 1])) for line in self.floor(k).drawn_m(view, (left, right))]
        return left, right, min(low), top

    def draw(self, axes: Axes, k: int, column: int, view: View, box: Box, inch_m: float) -> None:
        """Draw one pose with its ground, letters and, from the side, captions, in a column of a band."""
        cell_m, row = COLUMN_INCHES * inch_m, int(self.rows[k])
        middle = (column + 0.5) * cell_m
        shift = middle - (box[0] + box[1]) / 2.0
        half = cell_m / 2.0 - _ASIDE_INCHES / 2.0 * inch_m
        floor, across = self.floor(k), (middle - half - shift, middle + half - shift)
        if view.name == "front":
            across = (max(across[0], 1.3 * box[0]), min(across[1], 1.3 * box[1]))
        paint_floor(axes, floor, view, across, (shift, 0.0))
        if view.name == "side":
            self.marks(axes, floor, across, shift, inch_m)
        paint(axes, self.posed, k, view, shift_m=(shift, 0.0), ink=Ink(line_pt=0.9))
        places = letter_places(self.posed, k, view, inch_m, floor.feet_m(view))
        _letters(axes, places + np.array([shift, 0.0]), self.planted[k])
        if view.name == "side":
            about = "" if self.doing is None else self.doing(row)
            _captions(axes, self.clip, row, (middle, box[2]), self.planted[k], inch_m, about)

    def marks(
        self, axes: Axes, floor: Floor, across_m: tuple[float, float], shift_m: float, inch_m: float
    ) -> None:
        """Draw marks under the line of the ground that move with it."""
        line = floor.lines_m(VIEWS["side"], across_m)[-1]
        apart_m = ground_mark_m(self.clip.animal.withers_height_m)
        for x in self.terrain.marks_m(floor.row, across_m, apart_m):
            y = float(np.interp(x, line[:, 0], line[:, 1]))
            axes.plot([x + shift_m] * 2, [y, y - 0.03 * inch_m], color=GROUND_TONE, linewidth=0.8, zorder=1.0)


def _roomy(box: Box, view: View, inch_m: float) -> Box:
    """Add the room for letters and captions; ``inch_m`` are the metres that an inch of paper shows."""
    below = _CAPTIONED_INCHES if view.name == "side" else _BELOW_INCHES
    return box[0], box[1], box[2] - below * inch_m, box[3] + _ABOVE_INCHES * inch_m


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


def letter_places(
    posed: PosedBody, frame: int, view: View, inch_m: float, ground_m: Array | None = None
) -> Array:
    """Place the letters of the feet, (4, 2) in LIMBS order, so that none covers another. [m]

    ``inch_m`` are the metres that an inch of paper shows, ``ground_m`` (4,) the height in the view of the
    ground under each foot, 0 if not given.
    """
    level = np.zeros(len(LIMBS)) if ground_m is None else ground_m
    near_m, far_m = _LETTER_INCHES * inch_m, _FAR_LETTER_INCHES * inch_m
    corners = view.project(posed.feet_m[frame])  # (4, 8, 2)
    far = far_limbs(posed, frame, view)
    drop = np.array([far_m if limb in far else near_m for limb in LIMBS])
    places = np.stack(
        [corners[..., 0].mean(axis=1), np.minimum(corners[..., 1].min(axis=1), level) - drop], axis=1
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
    about: str,
) -> None:
    """Write frame, name of the pose and feet that are down over a place on the lower edge."""
    middle, bottom = below_m
    name_m, down_m = _NAME_INCHES * inch_m, _DOWN_INCHES * inch_m
    names = {round(pose.frame) - 1: pose.name for pose in clip.key_poses}
    text = f"{row + 1}   {names[row]}" if row in names else f"{row + 1}"
    axes.text(middle, bottom + name_m, text, ha="center", va="center", fontsize=7.5, fontweight="bold")
    words = down_words(planted.tolist(), names.get(row, ""))
    words = f"{about}; {words}" if about else words
    axes.text(middle, bottom + down_m, words, ha="center", va="center", fontsize=6.5)
