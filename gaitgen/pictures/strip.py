"""A strip of poses as a PNG: from the side, from the front, and three-quarter."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from gaitgen.errors import RequestError
from gaitgen.motion.flesh import PosedBody, pose
from gaitgen.motion.measure import over_origin, planted
from gaitgen.motion.motion import Motion
from gaitgen.pictures.foot_names import ROOM_INCHES, name_places, write_names
from gaitgen.pictures.marks import ground_mark_m
from gaitgen.pictures.moments import spread_rows, strip_rows
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
# with captions, and captions over the lower edge.
_ASIDE_INCHES, _ABOVE_INCHES, _BELOW_INCHES, _CAPTIONED_INCHES = 0.09, 0.05, 0.36, 0.62
_NAME_INCHES, _DOWN_INCHES = 0.19, 0.06
# The arrow beside the name of a pose, on the side to which the body goes: how far off, how long, its head.
_WAY_INCHES, _WAY_LONG_INCHES, _WAY_HEAD_INCHES = 0.86, 0.22, 0.045


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
        return self._down[self.rows]

    @cached_property
    def lands(self) -> npt.NDArray[np.bool_]:
        """(poses, 4) whether each foot makes contact on this frame."""
        before = self.rows - 1 if self.doing is not None else (self.rows - 1) % self.clip.facts.frames
        return np.asarray(self.planted & ~self._down[np.maximum(before, 0)])

    @cached_property
    def _down(self) -> npt.NDArray[np.bool_]:
        return planted(self.clip)

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
        inset = ROOM_INCHES[0] / 2.0 * inch_m
        places = name_places(
            self.posed,
            k,
            view,
            inch_m,
            ground_m=floor.feet_m(view),
            across_m=(middle - cell_m / 2.0 - shift + inset, middle + cell_m / 2.0 - shift - inset),
        )
        write_names(axes, places + np.array([shift, 0.0]), self.planted[k], self.lands[k])
        if view.name == "side":
            about = "" if self.doing is None else self.doing(row)
            _captions(axes, self.clip, row, (middle, box[2]), self.planted[k], inch_m, about)
            _way_mark(axes, self.terrain.goes(row), (middle, box[2] + _NAME_INCHES * inch_m), inch_m)

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
    weight = "bold" if row in names else "normal"
    axes.text(middle, bottom + name_m, text, ha="center", va="center", fontsize=7.5, fontweight=weight)
    words = down_words(planted.tolist(), names.get(row, ""))
    words = f"{about}; {words}" if about else words
    axes.text(middle, bottom + down_m, words, ha="center", va="center", fontsize=6.5)


def _way_mark(axes: Axes, goes: int, at_m: tuple[float, float], inch_m: float) -> None:
    """Draw an arrow beside a place to where the body goes, 1 ahead or -1 backwards; none for 0."""
    if goes == 0:
        return
    tail = at_m[0] + goes * _WAY_INCHES * inch_m
    tip, head = tail + goes * _WAY_LONG_INCHES * inch_m, _WAY_HEAD_INCHES * inch_m
    look: dict[str, Any] = {"color": GROUND_TONE, "linewidth": 0.9, "solid_capstyle": "butt"}
    axes.plot([tail, tip], [at_m[1]] * 2, **look)
    axes.plot([tip - goes * head, tip, tip - goes * head], [at_m[1] + head, at_m[1], at_m[1] - head], **look)
