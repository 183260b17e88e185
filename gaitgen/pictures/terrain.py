"""The ground that a figure stands on, as it is seen from the frame that goes along with the figure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import gone_ahead_m
from gaitgen.motion.flesh import PosedBody
from gaitgen.motion.measure import time_s
from gaitgen.motion.motion import Motion
from gaitgen.pictures.marks import ground_mark_m
from gaitgen.pictures.silhouette import Silhouette, drawn_path, silhouette
from gaitgen.pictures.views import View, capsule_outlines, turned_view

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Span = tuple[float, float]

TOP = turned_view("top", 90.0, 90.0)
# How finely ground is followed, as shares of the withers height.
_FINE_SHARE = 0.02
# Places on the ground that differ less in height are on one level, as a share of the withers height.
_LEVEL_SHARE = 0.004
# Who goes less than this share of the withers height in a whole clip stays where it is, as does who goes in a
# frame less than this share of the farthest.
_GOES_SHARE, _STAYS_SHARE = 0.1, 0.1
# How far the ground beside a figure is drawn, in widths of the figure.
_BESIDE = 0.35
GROUND_TONE, FAR_TONE, GRID_TONE, SHADE_TONE = "0.25", "0.62", "0.78", "0.86"
# From so much above (the sine of the elevation) the ground is seen as a surface.
LOOKS_DOWN = 0.05


@dataclass(frozen=True, eq=False)
class Terrain:
    """Ground under a clip whose body stays over the origin.

    Attributes
    ----------
    ground
        The ground.
    place_m, heading_rad
        (frames, 3) where the origin is in each frame, on the ground, and (frames,) facing where. [m], [rad]
    withers_height_m
        Height of the animal, which says how finely the ground is drawn. [m]
    """

    ground: Ground
    place_m: Array
    heading_rad: Array
    withers_height_m: float

    @cached_property
    def gone_m(self) -> Array:
        """(frames,) how far the origin has gone, aside too where the body turns about an end. [m]"""
        steps = np.linalg.norm(np.diff(self.place_m[:, :2], axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(steps)])

    @property
    def ahead_m(self) -> float:
        """How far the body goes along its way, as the report counts it: not aside as it turns. [m]"""
        return float(gone_ahead_m(self.place_m, self.heading_rad)[-1])

    def height_m(self, row: int, points_m: Array) -> Array:
        """Return the height of the ground at points (..., 2 or 3) of a frame, over its origin. [m]"""
        cos, sin = np.cos(self.heading_rad[row]), np.sin(self.heading_rad[row])
        x, y = points_m[..., 0], points_m[..., 1]
        there = np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1) + self.place_m[row, :2]
        return np.asarray(self.ground.known_m(there) - self.place_m[row, 2])

    def on_ground(self, row: int, points_m: Array) -> Array:
        """Put points (..., 2) of a frame on the ground: (..., 3). [m]"""
        return np.concatenate([points_m[..., :2], self.height_m(row, points_m)[..., None]], axis=-1)

    def goes(self, row: int) -> int:
        """Say where the body goes in a frame: 1 ahead, -1 backwards, 0 for neither."""
        first, last = max(row - 1, 0), min(row + 1, len(self.place_m) - 1)
        x, y = self.place_m[last, :2] - self.place_m[first, :2]
        ahead = float(np.cos(self.heading_rad[row]) * x + np.sin(self.heading_rad[row]) * y)
        fastest_m = float(np.diff(self.gone_m).max(initial=0.0)) * (last - first)
        goes = self.gone_m[-1] > _GOES_SHARE * self.withers_height_m and abs(ahead) > _STAYS_SHARE * fastest_m
        return int(np.sign(ahead)) if goes else 0

    def marks_m(self, row: int, along_m: Span, apart_m: float) -> Array:
        """Return where, along a frame, marks are that stay on the ground. [m]"""
        gone = float(self.gone_m[row])
        first, last = np.ceil((along_m[0] + gone) / apart_m), np.floor((along_m[1] + gone) / apart_m)
        return np.arange(first, last + 1) * apart_m - gone


def level_terrain(clip: Motion) -> Terrain:
    """Return level ground that goes by as the steps of a cycle ask."""
    place = np.zeros((clip.frames, 3))
    place[:, :2] = time_s(clip)[:, None] * clip.steps.travel_m_s
    return Terrain(FLAT, place, np.zeros(clip.frames), clip.animal.withers_height_m)


@dataclass(frozen=True, eq=False)
class Floor:
    """The ground under one figure.

    Attributes
    ----------
    terrain, row
        The ground, and the frame of the clip.
    posed, pose
        The figures, and which of them.
    """

    terrain: Terrain
    row: int
    posed: PosedBody
    pose: int

    def lines_m(self, view: View, across_m: Span) -> list[Array]:
        """Return the ground as it is cut under far and near feet, each (points, 2) in a view. [m]

        From the front the cuts go through the hind and the fore feet, from elsewhere through those of the far
        and the near side; where both cuts are one line, that line alone. ``across_m`` is how far they go.
        """
        is_front = view.name == "front"
        along = np.arange(across_m[0], across_m[1] + self._fine_m, self._fine_m)
        cuts = []
        for limbs in ((2, 3), (0, 1)) if is_front else ((0, 2), (1, 3)):
            feet = self.posed.feet_m[self.pose, list(limbs)].reshape(-1, 3).mean(axis=0)
            points = np.stack([np.full_like(along, feet[0]), along], axis=1)
            if not is_front:
                points = np.stack([along, np.full_like(along, feet[1])], axis=1)
            cuts.append(view.project(self.terrain.on_ground(self.row, points)))
        apart = np.abs(cuts[0][:, 1] - cuts[1][:, 1])
        return (
            cuts[1:]
            if np.max(apart, initial=0.0, where=np.isfinite(apart))
            < _LEVEL_SHARE * self.terrain.withers_height_m
            else cuts
        )

    @property
    def _fine_m(self) -> float:
        return _FINE_SHARE * self.terrain.withers_height_m

    def feet_m(self, view: View) -> Array:
        """Return the height in a view of the ground under each foot, (4,) in LIMBS order. [m]"""
        middle = self.posed.feet_m[self.pose].mean(axis=1)
        return np.asarray(view.project(np.nan_to_num(self.terrain.on_ground(self.row, middle)))[:, 1])

    def room_m(self) -> tuple[Span, Span]:
        """Return how far the ground is drawn along and across the figure. [m]"""
        points, radii = self.posed.ends_m, self.posed.body.radii_m
        low, high = (
            (points - radii[..., None]).min(axis=(0, 1, 2)),
            (points + radii[..., None]).max(axis=(0, 1, 2)),
        )
        beside = _BESIDE * float(high[1] - low[1])
        return (float(low[0]), float(high[0])), (float(low[1]) - beside, float(high[1]) + beside)

    def grid_m(self, view: View) -> list[Array]:
        """Return lines on the ground, (points, 2) each: across it where marks are, and along it. [m]"""
        along, across = self.room_m()
        xs, ys = (np.linspace(*span, 1 + int(np.ptp(span) / self._fine_m)) for span in (along, across))
        marks = self.terrain.marks_m(self.row, along, ground_mark_m(self.terrain.withers_height_m))
        flat = [np.stack([np.full_like(ys, x), ys], axis=1) for x in marks]
        flat += [np.stack([xs, np.full_like(xs, y)], axis=1) for y in np.linspace(*across, 4)]
        return [view.project(self.terrain.on_ground(self.row, line)) for line in flat]

    def drawn_m(self, view: View, across_m: Span) -> list[Array]:
        """Return the lines that show the ground in a view, (points, 2) each. [m]"""
        return self.grid_m(view) if view.towards[2] > LOOKS_DOWN else self.lines_m(view, across_m)

    def shade_m(self, view: View) -> Silhouette:
        """Return the shade that the figure would have under a light straight above, in a view."""
        ends = np.round(self.posed.ends_m[self.pose], 6)
        outlines = capsule_outlines(TOP.project(ends), self.posed.body.radii_m)
        shape = silhouette(list(np.round(outlines, 6)), float(np.ptp(ends[..., 2])))

        def laid(places: Array) -> Array:
            ground = np.stack([places @ np.array(TOP.right)[:2], places @ np.array(TOP.up)[:2]], axis=1)
            return view.project(np.nan_to_num(self.terrain.on_ground(self.row, ground)))

        return Silhouette(shapely.transform(shape.shape, laid), shape.height_m)


def paint_floor(
    axes: Axes,
    floor: Floor,
    view: View,
    across_m: Span,
    shift_m: tuple[float, float] = (0.0, 0.0),
    line_pt: float = 1.0,
) -> None:
    """Draw the ground under one figure: a cut through it, or, from above its level, a grid and a shade.

    Parameters
    ----------
    axes
        Where to draw; its units are metres.
    floor, view
        The ground, and where from.
    across_m
        How far a cut is drawn, in the coordinates of the view. [m]
    shift_m
        Shift of the picture to the right and upward. [m]
    line_pt
        Width of the line of the ground. [pt]
    """
    if view.towards[2] > LOOKS_DOWN:
        for line in floor.grid_m(view):
            _line(axes, line, shift_m, GRID_TONE, 0.6 * line_pt, 1.0)
        paint_shade(axes, floor, view, shift_m)
        return
    cuts = floor.lines_m(view, across_m)
    for cut in cuts[:-1]:
        _line(axes, cut, shift_m, FAR_TONE, 0.7 * line_pt, 0.9)
    _line(axes, cuts[-1], shift_m, GROUND_TONE, line_pt, 1.0)


def paint_shade(axes: Axes, floor: Floor, view: View, shift_m: tuple[float, float] = (0.0, 0.0)) -> None:
    """Draw the shade of one figure on its ground, which tells how high its feet are."""
    _fill(axes, floor.shade_m(view), shift_m, SHADE_TONE)


def _line(
    axes: Axes, line: Array, shift_m: tuple[float, float], tone: str, width_pt: float, zorder: float
) -> None:
    from matplotlib.lines import Line2D

    x, y = (line + np.array(shift_m)).T
    look: dict[str, Any] = {"color": tone, "linewidth": width_pt, "solid_capstyle": "butt", "zorder": zorder}
    axes.add_artist(Line2D(x, y, **look))


def _fill(axes: Axes, shape: Silhouette, shift_m: tuple[float, float], tone: str) -> None:
    from matplotlib.patches import PathPatch

    path = drawn_path(shape.shape, np.array(shift_m))
    if path is not None:
        axes.add_artist(PathPatch(path, facecolor=tone, edgecolor="none", linewidth=0.0, zorder=0.9))
