"""One key pose in its cell of a sheet: figure, frame number, name, feet, arrows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import LAYERS
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.motion.key_poses import IN_AIR
from gaitgen.motion.kinematics import landmark_m, tips_m
from gaitgen.motion.motion import Motion
from gaitgen.pictures.key_figures import KeyFigure, last_of
from gaitgen.pictures.marks import MARK_MM, SWING_HALF_MM, course_mark, foot_labels, ground_mark_m, swing_mark
from gaitgen.pictures.page import NAME_PT, NUMBER_PT, TEXT_PT, Page
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.views import VIEWS, View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Extent = tuple[float, float, float, float]  # left, right, bottom, top [m]

LANDMARKS = {"hips": "croup", "chest": "withers", "head": "poll"}
CAPTION_MM, FEET_MM, SIDE_MM = 9.0, 9.5, 1.2
# The head's mark stands this share of the withers height before the poll, where nothing else is; swings
# stand beside their tips.
HEAD_MARK_SHARE = 0.175
SWING_MM = {"ear": (-0.6, 1.7), "tail": (-3.6, -0.6)}
# An arrow that lies on the head or its horns, where it would be lost, is lifted in such steps until it is so
# far off them, if that takes no more of them than these.
LIFT_MM, OFF_HEAD_MM, MOST_LIFTS = 0.5, 0.7, 20
# Room over the head for a mark that has no word, for one with a word under it, and half of a letter of these.
BARE_MM, WORD_MM, LETTER_HALF_MM = 2.6, 4.2, 0.8
OVER_MARK_MM = 4.0  # so much higher than another mark, a word lies over it
INK = Ink(line_pt=1.0)


@dataclass(frozen=True)
class Cell:
    """A part of a page, and how metres lie in it.

    Attributes
    ----------
    left, bottom, width, height
        Place on the page. [mm]
    scale
        Millimetres of paper to a metre of animal. [mm/m]
    shift_m
        What to add to a projected point: right and up from the cell's lower left corner. [m]
    """

    left: float
    bottom: float
    width: float
    height: float
    scale: float
    shift_m: tuple[float, float]

    def on_page(self, points_m: Array) -> Array:
        """Turn projected points (..., 2) into places on the page. [mm]"""
        return np.asarray(self.scale * (points_m + np.array(self.page_shift_m)))

    @property
    def page_shift_m(self) -> tuple[float, float]:
        """What to add to a projected point: right and up from the lower left corner of the page. [m]"""
        return self.left / self.scale + self.shift_m[0], self.bottom / self.scale + self.shift_m[1]


def extent(posed: PosedBody, view: View) -> Extent:
    """Return the room that all poses need in a view. [m]"""
    points, radii = view.project(posed.ends_m), posed.body.radii_m[None]
    feet = view.project(posed.feet_m)
    return (
        float(min((points[..., 0] - radii).min(), feet[..., 0].min())),
        float(max((points[..., 0] + radii).max(), feet[..., 0].max())),
        float(feet[..., 1].min()),
        float((points[..., 1] + radii).max()),
    )


def largest_scale(box: Extent, width_mm: float, height_mm: float) -> float:
    """Return the scale at which all poses fit into a cell with its caption and foot letters. [mm/m]"""
    across = (width_mm - 2.0 * SIDE_MM) / (box[1] - box[0])
    up = (height_mm - FEET_MM - 1.0) / (box[3] - min(box[2], 0.0))
    return min(across, up)


@dataclass(frozen=True, eq=False)
class Poses:
    """All key poses, ready to be drawn.

    Attributes
    ----------
    clip
        A clip whose rows are the key poses.
    posed
        The animal in them.
    keys
        What is said about each.
    travel_m
        (poses,) how far the ground has moved. [m]
    """

    clip: Motion
    posed: PosedBody
    keys: Sequence[KeyFigure]
    travel_m: Array

    def points_m(self) -> dict[str, Array]:
        """Follow croup, withers, poll and the tips of ear and tail: (poses, 3) each. [m]"""
        animal = self.clip.animal
        positions, world = self.clip.joints
        tips = tips_m(animal, positions, world)
        marks = {
            part: landmark_m(animal, positions, world, name)
            for part, name in LANDMARKS.items()
            if name in animal.landmarks_m
        }
        for part, name in (("ear", "ear_R"), ("tail", "tail")):
            last = last_of(animal, name)
            if last is not None:
                marks[part] = tips[:, last]
        return marks


def draw_figure(axes: Axes, cell: Cell, poses: Poses, k: int, view: View) -> None:
    """Draw the figure of one pose on axes in metres over the page."""
    paint(axes, poses.posed, k, view, shift_m=cell.page_shift_m, ink=INK)


def draw_side(page: Page, axes: Axes, cell: Cell, poses: Poses, k: int, points_m: dict[str, Array]) -> None:
    """Draw one pose from the side, with all there is to say about it."""
    view, key = VIEWS["side"], poses.keys[k]
    draw_figure(axes, cell, poses, k, view)
    _ground(page, cell, float(poses.travel_m[k]), ground_mark_m(poses.clip.animal.withers_height_m))
    _caption(page, cell, key)
    _feet(page, cell, poses, k)
    for part in key.courses:
        x, y = cell.on_page(view.project(points_m[part][k]))
        if part == "head":  # before the forehead, where nothing else is
            ahead_m = HEAD_MARK_SHARE * poses.clip.animal.withers_height_m
            left = float(x) + ahead_m * cell.scale + 2.6
            says = key.course_words(part)
            half, room = MARK_MM / 2.0, BARE_MM
            if key.courses[part] in {"high", "low"}:
                half, room = max(half, LETTER_HALF_MM * len(says)), WORD_MM
            low = max(float(y) - 0.15 * MARK_MM, _head_top_mm(cell, poses, k, left, half) + room)
            course_mark(page, left, low, says, word_below=True)
        else:
            over = _over_other_mm(cell, view, points_m, key, part, k)
            course_mark(page, float(x), max(float(y), over) + 1.6, key.course_words(part))
    for tip, direction in (("ear", key.ear), ("tail", key.tail)):
        if tip not in points_m:
            continue
        at = cell.on_page(view.project(points_m[tip][k])) + np.array(SWING_MM[tip])
        if tip == "ear":
            at = _off_head(cell, poses, k, at, np.array(direction))
        swing_mark(page, float(at[0]), float(at[1]), direction)


def _over_other_mm(
    cell: Cell, view: View, points_m: dict[str, Array], key: KeyFigure, part: str, k: int
) -> float:
    """Return how high the chest's mark stands at the least, so that its word is off that of the hips. [mm]"""
    says = key.course_words(part)
    if part != "chest" or key.courses[part] not in {"high", "low"}:
        return -np.inf
    chest, hips = (cell.on_page(view.project(points_m[each][k])) for each in ("chest", "hips"))
    word_mm = MARK_MM / 2.0 + 2.0 * LETTER_HALF_MM * len(says)
    return float(hips[1]) + OVER_MARK_MM if chest[0] - word_mm < hips[0] + MARK_MM / 2.0 else -np.inf


def _off_head(cell: Cell, poses: Poses, k: int, at: Array, direction: Array) -> Array:
    """Lift the place (2,) of an arrow along a direction until it lies on no part of the head. [mm]"""
    places, radii = _head_balls_mm(cell, poses, k)
    along = np.linspace(-SWING_HALF_MM, SWING_HALF_MM, 9)[:, None] * direction
    for lifts in range(MOST_LIFTS):
        lifted = at + np.array([0.0, lifts * LIFT_MM])
        away = np.linalg.norm((lifted + along)[:, None] - places, axis=2) - radii
        if float(away.min(initial=np.inf)) > OFF_HEAD_MM:
            return np.asarray(lifted)
    return at


def _head_balls_mm(cell: Cell, poses: Poses, k: int) -> tuple[Array, Array]:
    """Return places (balls, 2) and radii (balls,) of the head and what hangs on it, on the page. [mm]

    Those that lie between two balls, which are drawn as one shape, too.
    """
    body = poses.posed.body
    mine = np.isin(body.layers, [LAYERS.index("head"), LAYERS.index("flap")])
    ends = cell.on_page(VIEWS["side"].project(poses.posed.ends_m[k, mine])).reshape(-1, 2, 2)
    sizes = cell.scale * body.radii_m[mine].reshape(-1, 2)
    share = np.linspace(0.0, 1.0, 9)[:, None]
    places = np.concatenate([a + share * (b - a) for a, b in ends])
    return places, np.concatenate([a + share[:, 0] * (b - a) for a, b in sizes])


def _head_top_mm(cell: Cell, poses: Poses, k: int, x_mm: float, half_mm: float) -> float:
    """Return how high the head and what hangs on it reach under a mark of some half width. [mm]"""
    places, radii = _head_balls_mm(cell, poses, k)
    away = np.maximum(np.abs(places[:, 0] - x_mm) - half_mm, 0.0)
    tops = places[:, 1] + np.sqrt(np.maximum(radii**2 - away**2, 0.0))
    return float(np.max(tops[away < radii], initial=-np.inf))


def _ground(page: Page, cell: Cell, travel_m: float, apart_m: float) -> None:
    """Draw the ground with marks that move with it, this far apart. [m]"""
    level = cell.bottom + cell.scale * cell.shift_m[1]
    left, right = cell.left + SIDE_MM, cell.left + cell.width - SIDE_MM
    page.line([left, right], [level, level], linewidth=0.8, zorder=0.5)
    start = (left - cell.left) / cell.scale - cell.shift_m[0] + travel_m
    end = (right - cell.left) / cell.scale - cell.shift_m[0] + travel_m
    for mark in np.arange(np.ceil(start / apart_m), np.floor(end / apart_m) + 1) * apart_m:
        x = cell.left + cell.scale * (mark - travel_m + cell.shift_m[0])
        page.line([x, x], [level, level - 0.9], linewidth=0.6, zorder=0.5)


def frame_words(frame: float) -> str:
    """Write a frame number: whole, or with the decimals it needs."""
    return f"{round(frame, 2) + 0.0:g}"


def feet_words(which: Sequence[bool]) -> str:
    """Name feet, hind before fore, right before left."""
    return " ".join(LIMBS[limb] for limb in (3, 2, 1, 0) if which[limb])


def down_words(which: Sequence[bool], name: str) -> str:
    """Say which feet are down in a pose of some name, or that none is."""
    feet = feet_words(which)
    return f"down: {feet}" if feet else IN_AIR if name != IN_AIR else "no foot down"


def _caption(page: Page, cell: Cell, key: KeyFigure) -> None:
    top = cell.bottom + cell.height
    number = page.fitted(
        cell.left + SIDE_MM,
        top - 7.4,
        frame_words(key.frame),
        NUMBER_PT,
        0.3 * cell.width,
        fontweight="bold",
    )
    x = cell.left + SIDE_MM + page.width_of(number) + 1.8
    room = cell.left + cell.width - SIDE_MM - x
    page.fitted(x, top - 3.6, key.name, NAME_PT, room, fontweight="bold")
    page.fitted(x, top - 7.3, down_words(key.planted, key.name), TEXT_PT, room)


def _feet(page: Page, cell: Cell, poses: Poses, k: int) -> None:
    side = VIEWS["side"]
    places = cell.on_page(side.project(poses.posed.feet_m[k]).mean(axis=1))[:, 0]
    near = side.nearness(poses.posed.feet_m[k].mean(axis=1))
    level = cell.bottom + cell.scale * cell.shift_m[1]
    rows = [level - (3.0 if near[limb] > np.median(near) else 6.6) for limb in range(4)]
    low, high = cell.left + 3.2, cell.left + cell.width - 3.2
    foot_labels(page, np.clip(places, low, high), rows, poses.keys[k].planted, poses.keys[k].lands)
