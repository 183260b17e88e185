"""The plan of a shot: the way of the body seen from above, prints, times, and what happens where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import body_of
from gaitgen.animal.foot_shape import rounded_feet
from gaitgen.course.ground import Ground
from gaitgen.gait.gait import LIMBS
from gaitgen.pictures.page import SMALL_PT, TEXT_PT, Page
from gaitgen.pictures.plan_words import Place, Words
from gaitgen.pictures.print_size import least_print_mm
from gaitgen.pictures.shot_plan import ShotPlan, distant

Array = npt.NDArray[np.float64]

ROOM_MM = 12.0  # around the way, for words
TICK_MM, TICKS_APART_MM, NAME_AWAY_MM = 1.3, 11.0, 6.5
FENCE_WORDS_MM = 3.0  # from the end of a fence to its height
LEVEL_M = 0.02
GRID, HEIGHTS_APART_MM = 90, 10.0
OVER_LEVEL = 0.02  # of the step from line to line: rounded heights of level ground stay under it
CRUMB_CELLS = 3.0  # of the grid: a line that goes no farther is a crumb of rounded heights
LINES_M = (0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
MOST_LINES = 12
STROKE_MM = 2.6  # half the stroke where something begins
UP = np.array([0.0, 1.0])
SCALES_M = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
LABEL_ROOM_MM = 4.0
LABEL_HALF_MM = np.array([4.5, 1.5])  # half of what the height of a line takes, with white around it
CROSS_MM = 1.6  # half the cross of a mark
LEAST_BAR_MM, BAR_UP_MM, BAR_WORDS_MM = 15.0, 2.0, 4.0  # the bar of the scale, and how high its words go
STROKE_SHARE = 0.33  # half the length of the stroke of a hind print, of its width
HIND_SHARE = 0.7  # hind prints are drawn so much smaller


@dataclass(frozen=True)
class PlanView:
    """Where places on the ground lie on a page.

    Attributes
    ----------
    left, bottom
        Where the origin of the world lies. [mm]
    scale
        Millimetres of paper to a metre of ground. [mm/m]
    """

    left: float
    bottom: float
    scale: float

    def on_page(self, places_m: Array) -> Array:
        """Return the place on the page of places (..., 2 or more) on the ground: (..., 2). [mm]"""
        return np.asarray(np.array([self.left, self.bottom]) + self.scale * places_m[..., :2])


def height_wanted_mm(shot: ShotPlan, width: float) -> float:
    """Return how high a plan is that fills some width. [mm]"""
    span = _span_m(shot)
    return 2.0 * ROOM_MM + (width - 2.0 * ROOM_MM) * float(span[1] / span[0])


def _span_m(shot: ShotPlan) -> Array:
    least = 2.0 * shot.clip.animal.withers_height_m
    return np.asarray(np.maximum(np.ptp(_shown_m(shot), axis=0), least))


def _shown_m(shot: ShotPlan) -> Array:
    """Return the places that a plan has to show, (places, 2): way, prints and marks. [m]"""
    marks = np.array([mark.place_m for mark in shot.marks]).reshape(-1, 2)
    return np.concatenate([shot.way_m[:, :2], shot.clip.steps.place_m[shot.prints, :2], marks])


def plan_view(shot: ShotPlan, place: Place) -> PlanView:
    """Fit the way of a shot into a part of a page."""
    left, bottom, width, height = place
    span = _span_m(shot)
    scale = float(min((width - 2.0 * ROOM_MM) / span[0], (height - 2.0 * ROOM_MM) / span[1]))
    shown = _shown_m(shot)
    middle = (shown.min(axis=0) + shown.max(axis=0)) / 2.0
    at = np.array([left + width / 2.0, bottom + height / 2.0]) - scale * middle
    return PlanView(float(at[0]), float(at[1]), scale)


def draw_plan(page: Page, shot: ShotPlan, place: Place) -> PlanView:
    """Draw the plan of a shot on a part of a page: left, bottom, width, height. [mm]"""
    view = plan_view(shot, place)
    _heights(page, shot, view, place)
    way = view.on_page(shot.way_m)
    page.line(way[:, 0].tolist(), way[:, 1].tolist(), linewidth=0.5, color="0.45", zorder=1.0)
    words = Words(page, place)
    words.keep_free(way[:: max(1, len(way) // 400)], 1.6)
    words.boxes.append(bar_box(view, place))
    words.keep_free(np.array([view.on_page(np.array(mark.place_m)) for mark in shot.marks]), CROSS_MM)
    words.prints += [np.stack([each.min(axis=0), each.max(axis=0)]) for each in _prints(page, shot, view)]
    _ends(page, shot, way)
    _fences(page, shot, view, words)
    _marks(page, shot, view, words)
    _stretches(page, shot, way, words)
    _times(page, shot, way, words)
    _scale_bar(page, view, place)
    return view


def _across(shot: ShotPlan, rows: npt.NDArray[np.int64]) -> Array:
    """Return unit vectors to the left of the way, (rows, 2)."""
    heading = shot.terrain.heading_rad[rows]
    return np.stack([-np.sin(heading), np.cos(heading)], axis=-1)


def _times(page: Page, shot: ShotPlan, way: Array, words: Words) -> None:
    """Mark whole seconds across the way, and number their frames where there is room."""
    rate = shot.clip.frame_rate_hz
    rows = np.round(np.arange(0.0, (shot.clip.frames - 1) / rate + 1e-9) * rate).astype(np.int64)
    rows = np.unique(np.minimum(rows, shot.clip.frames - 1))
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(way, axis=0), axis=1))])
    rows = rows[distant(gone[rows], 1.2)]
    left = _across(shot, rows)
    for (x, y), (dx, dy) in zip(way[rows], TICK_MM * left, strict=True):
        page.line([x - dx, x + dx], [y - dy, y + dy], linewidth=0.6)
    for k in distant(gone[rows], TICKS_APART_MM):
        frame = str(int(rows[k]) + 1)
        words.write(way[rows[k]], -3.4 * left[k : k + 1], frame, SMALL_PT, is_needed=False, color="0.25")


def _stretches(page: Page, shot: ShotPlan, way: Array, words: Words) -> None:
    """Say beside the way what begins where, with its frame."""
    rows = np.array([min(each.first_frame, shot.clip.frames) - 1 for each in shot.stretches])
    across = _across(shot, rows)
    for at, left in zip(way[rows], across, strict=True):
        page.line(*np.stack([at - STROKE_MM * left, at + STROKE_MM * left], axis=1).tolist(), linewidth=1.3)
        words.keep_free(at + np.linspace(-STROKE_MM, STROKE_MM, 7)[:, None] * left, 0.5)
    for stretch, at, left in zip(shot.stretches, way[rows], across, strict=True):
        text = f"{stretch.first_frame}  {stretch.what}"
        words.write(at, NAME_AWAY_MM * np.stack([left, UP]), text, TEXT_PT, fontweight="bold")


def _fences(page: Page, shot: ShotPlan, view: PlanView, words: Words) -> None:
    """Draw what is jumped from above, and say how high it is beyond its end."""
    for fence in shot.fences:
        corners = view.on_page(fence.corners_m)
        page.shape(corners, facecolor="0.82", edgecolor="0.3", linewidth=0.6, zorder=0.8)
        words.keep_free(np.linspace(corners[:2].mean(axis=0), corners[2:].mean(axis=0), 9), 0.7)
        out = (corners[:2].mean(axis=0) - corners[2:].mean(axis=0)) / 2.0
        away = out * (1.0 + FENCE_WORDS_MM / float(np.linalg.norm(out)))
        words.write(corners.mean(axis=0) + out, (away - out)[None], fence.says, SMALL_PT, color="0.25")


def _marks(page: Page, shot: ShotPlan, view: PlanView, words: Words) -> None:
    """Draw a cross where something has to be, and say what."""
    for mark in shot.marks:
        x, y = view.on_page(np.array(mark.place_m))
        for side in (1.0, -1.0):
            reach = side * CROSS_MM
            page.line([x - CROSS_MM, x + CROSS_MM], [y - reach, y + reach], linewidth=1.0, zorder=3.0)
        words.write(np.array([x, y]), -4.4 * UP[None], mark.says, SMALL_PT, color="0.15")


def _ends(page: Page, shot: ShotPlan, way: Array) -> None:
    """Draw an arrow head at the last frame, and a ring at the first."""
    angles = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
    page.shape(
        way[0] + 0.9 * np.stack([np.cos(angles), np.sin(angles)], axis=1),
        facecolor="1",
        edgecolor="0",
        linewidth=0.8,
    )
    heading = shot.terrain.heading_rad[-1]
    ahead, left = np.array([np.cos(heading), np.sin(heading)]), np.array([-np.sin(heading), np.cos(heading)])
    page.shape([way[-1] + 3.4 * ahead, way[-1] + 1.1 * left, way[-1] - 1.1 * left])


def sole_m(shot: ShotPlan, limb: int) -> Array:
    """Return the outline of a sole from its toe, facing along x: (points, 2). [m]"""
    joint_corners = body_of(shot.clip.animal).feet[limb][1]
    outline = rounded_feet(joint_corners[None, None])[0, 0]
    sole = outline[: len(outline) // 2, :2]
    tip = np.array(shot.clip.animal.limbs[limb].foot.tip_m)[:2]
    return np.asarray(sole - tip)


def prints_m(shot: ShotPlan, least_m: float = 0.0) -> list[tuple[int, Array]]:
    """Return the limb and the outline (points, 2) of every print, no shorter than some length. [m]"""
    steps = shot.clip.steps
    soles = [sole_m(shot, limb) for limb in range(len(LIMBS))]
    longest = max(float(np.ptp(sole[:, 0])) for sole in soles)
    larger = max(1.0, least_m / longest)  # than true; only then are hind ones drawn smaller than fore ones
    found = []
    for k in shot.prints:
        limb = int(steps.limb[k])
        heading = float(steps.heading_rad[k])
        turn = np.array([[np.cos(heading), np.sin(heading)], [-np.sin(heading), np.cos(heading)]])
        size = larger * (HIND_SHARE if larger > 1.0 and LIMBS[limb][1] == "H" else 1.0)
        found.append((limb, size * soles[limb] @ turn + steps.place_m[k, :2]))
    return found


def _prints(page: Page, shot: ShotPlan, view: PlanView) -> list[Array]:
    """Draw the prints: right ones filled, left ones open, hind ones smaller, with a stroke; return them."""
    headings = shot.clip.steps.heading_rad[shot.prints]
    prints = prints_m(shot, least_print_mm(shot, view.scale) / view.scale)
    drawn = [view.on_page(outline) for _, outline in prints]
    for (limb, _), corners, heading in zip(prints, drawn, headings, strict=True):
        draw_print(page, limb, corners, float(heading))
    return drawn


def draw_print(page: Page, limb: int, corners_mm: Array, heading_rad: float = 0.0) -> None:
    """Draw one print on a page: filled of a right foot, open of a left one, with a stroke of a hind one."""
    tone, other = ("0", "1") if LIMBS[limb][0] == "R" else ("1", "0")
    page.shape(corners_mm, facecolor=tone, edgecolor="0", linewidth=0.35, zorder=2.0)
    if LIMBS[limb][1] == "H":
        middle = (corners_mm.min(axis=0) + corners_mm.max(axis=0)) / 2.0
        across = np.array([-np.sin(heading_rad), np.cos(heading_rad)])
        reach = STROKE_SHARE * float(np.ptp(corners_mm @ across)) * across
        ends = np.stack([middle - reach, middle + reach], axis=1)
        page.line(*ends.tolist(), linewidth=0.5, color=other, zorder=2.1)


def height_lines(ground: Ground, low_m: Array, high_m: Array) -> list[tuple[float, list[Array]]]:
    """Return lines of equal height over a rectangle, if it is not level: height and (points, 2) each. [m]"""
    from contourpy import LineType, contour_generator

    xs, ys = (np.linspace(low, high, GRID) for low, high in zip(low_m, high_m, strict=True))
    heights = ground.known_m(np.stack(np.meshgrid(xs, ys), axis=-1))
    known = heights[np.isfinite(heights)]
    if known.size == 0 or np.ptp(known) < LEVEL_M:
        return []
    step = next((each for each in LINES_M if np.ptp(known) / each <= MOST_LINES), LINES_M[-1])
    made = contour_generator(xs, ys, np.ma.masked_invalid(heights), line_type=LineType.Separate)
    levels = np.arange(np.ceil(known.min() / step), np.floor(known.max() / step) + 1) * step
    over = OVER_LEVEL * step  # where ground is level at the height of a line, the line goes round it
    least = CRUMB_CELLS * max(float(xs[1] - xs[0]), float(ys[1] - ys[0]))
    found = [
        (float(level), [np.asarray(line) for line in made.lines(float(level) + over)]) for level in levels
    ]
    found = [
        (level, [line for line in lines if np.ptp(line, axis=0).max() > least]) for level, lines in found
    ]
    return [(level, lines) for level, lines in found if lines]


def height_label(level_m: float) -> str:
    """Write the height of a line."""
    return f"{round(level_m, 2):+g} m" if abs(level_m) > 1e-9 else "0 m"


def _heights(page: Page, shot: ShotPlan, view: PlanView, place: Place) -> None:
    """Draw lines of equal height under the plan, if the ground is not level, with their heights."""
    left, bottom, width, height = place
    corner, size = np.array([left, bottom]), np.array([width, height])
    low, high = ((at - [view.left, view.bottom]) / view.scale for at in (corner, corner + size))
    written: list[float] = []
    room = bar_box(view, place) + np.array([-1.0, 1.0])[:, None] * LABEL_HALF_MM
    for level, lines_m in height_lines(shot.ground, low, high):
        lines = [view.on_page(line) for line in lines_m]
        for line in lines:
            page.line(line[:, 0].tolist(), line[:, 1].tolist(), linewidth=0.4, color="0.72", zorder=0.3)
        where = np.clip(max(lines, key=len), corner + LABEL_ROOM_MM, corner + size - LABEL_ROOM_MM)
        where = where[~((where > room[0]) & (where < room[1])).all(axis=1)]
        if not len(where):
            continue
        at = where[int(np.argmin(np.abs(where[:, 1] - (bottom + 3.0))))]
        if any(abs(at[0] - other) < HEIGHTS_APART_MM for other in written):
            continue
        written.append(float(at[0]))
        look = {"color": "0.3", "bbox": {"facecolor": "1", "edgecolor": "none", "pad": 0.4}, "zorder": 0.4}
        page.text(float(at[0]), float(at[1]), height_label(level), SMALL_PT, ha="center", va="center", **look)


def bar_box(view: PlanView, place: Place) -> Array:
    """Return the low and the high corner of the bar of the scale with its words, (2, 2). [mm]"""
    right, low = place[0] + place[2] - 1.0, place[1] + BAR_UP_MM
    return np.array([[right - _bar_m(view) * view.scale, low], [right, low + BAR_WORDS_MM]])


def _bar_m(view: PlanView) -> float:
    """Return the round length that the bar of the scale has. [m]"""
    return next((each for each in SCALES_M if each * view.scale >= LEAST_BAR_MM), SCALES_M[-1])


def _scale_bar(page: Page, view: PlanView, place: Place) -> None:
    """Draw a bar of a round length in the lower right corner."""
    (left, y), (right, _) = bar_box(view, place)
    page.line([left, left, right, right], [y + 1.2, y, y, y + 1.2], linewidth=0.7)
    page.text((left + right) / 2.0, y + 1.0, f"{_bar_m(view):g} m", SMALL_PT, ha="center")
