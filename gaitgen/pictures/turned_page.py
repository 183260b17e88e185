"""The second page: the key poses from the front and three-quarter, and the plan in numbers."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import FLAT
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion
from gaitgen.pictures.key_figures import courses, side_courses
from gaitgen.pictures.marks import LABEL_MM, foot_label, spread
from gaitgen.pictures.page import GREY, NAME_PT, SMALL_PT, TEXT_PT, Page
from gaitgen.pictures.pose_cell import Cell, Poses, down_words, draw_figure, extent, frame_words
from gaitgen.pictures.stride_chart import (
    RULE_HEAD_MM,
    TICKS_MM,
    draw_curves,
    draw_frame_ticks,
    draw_rules,
    keys_within,
    stride_span,
)
from gaitgen.pictures.terrain import Floor, Terrain, paint_shade
from gaitgen.pictures.views import VIEWS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]

COLUMNS, VIEW_NAMES = 3, ("front", "three_quarter")
CAPTION_MM, FEET_MM, GAP_MM = 9.0, 8.0, 4.0
CURVES_MM, TABLE_MM = 30.0, 33.0
CHART_MM = RULE_HEAD_MM + CURVES_MM + TICKS_MM + 4.0
SMALL_NUMBER_PT = 18.0
NOTE_LINES, NOTE_PT, NOTE_LINE_MM = 9, 5.5, 2.6


def draw_turned(page: Page, clip: Motion, poses: Poses, margin: float, top: float) -> None:
    """Draw all poses twice, how they shift from side to side, and the plan in a table."""
    rows = -(-len(poses.keys) // COLUMNS)
    bottom = margin + TABLE_MM + CHART_MM
    width, height = (page.width_mm - 2.0 * margin) / COLUMNS, (top - bottom) / rows
    boxes = [extent(poses.posed, VIEWS[name]) for name in VIEW_NAMES]
    across = sum(box[1] - box[0] for box in boxes)
    tall = max(box[3] - box[2] for box in boxes)
    scale = min((width - GAP_MM - 2.0) / across, (height - CAPTION_MM - FEET_MM - 1.0) / tall)
    slack = (width - scale * across) / 3.0
    axes = page.metres(scale)
    for k in range(len(poses.keys)):
        row, column = divmod(k, COLUMNS)
        left, low = margin + column * width, top - (row + 1) * height
        _caption(page, poses, k, left, low + height, width)
        for name, box in zip(VIEW_NAMES, boxes, strict=True):
            wide = scale * (box[1] - box[0]) + slack
            shift = (slack / 2.0 / scale - box[0], FEET_MM / scale - box[2])
            _figure(page, axes, Cell(left + slack / 2.0, low, wide, height, scale, shift), poses, k, name)
            left += wide
    _chart(page, clip, poses, margin, bottom - 2.0)
    _table(page, clip, margin, margin + TABLE_MM - 2.0)


def _chart(page: Page, clip: Motion, poses: Poses, margin: float, top: float) -> None:
    """Draw how far hips, chest and tail are to the left and right; up on the page is left."""
    span, keys = stride_span(page, clip, margin), keys_within(poses.keys, clip)
    line, floor = top - RULE_HEAD_MM, top - CHART_MM + TICKS_MM + 3.0
    frames = np.array([frame for frame, _ in keys])
    draw_rules(page, span, keys, floor, line)
    draw_curves(page, span, side_courses(clip), frames, floor + 1.2, line - 1.5)
    draw_frame_ticks(page, span, floor)
    page.text(margin, line + 1.8, "sideways", TEXT_PT, color=GREY)


def _figure(page: Page, axes: Axes, cell: Cell, poses: Poses, k: int, name: str) -> None:
    view = VIEWS[name]
    if name == "three_quarter":
        terrain = Terrain(
            FLAT,
            np.zeros((len(poses.keys), 3)),
            np.zeros(len(poses.keys)),
            poses.clip.animal.withers_height_m,
        )
        paint_shade(axes, Floor(terrain, k, poses.posed, k), view, cell.page_shift_m)
    draw_figure(axes, cell, poses, k, view)
    corners = cell.on_page(view.project(poses.posed.feet_m[k]))  # (4, 8, 2)
    places = corners[..., 0].mean(axis=1)
    key, floor = poses.keys[k], cell.bottom + FEET_MM - 2.4
    low, high = cell.left + LABEL_MM[0] / 2.0, cell.left + cell.width - LABEL_MM[0] / 2.0
    # From the front feet stand one behind the other: hind letters in a row of their own.
    groups = [((0, 1), floor), ((2, 3), floor - 3.3)] if name == "front" else [((0, 1, 2, 3), floor)]
    for group, y in groups:
        apart = spread(places[list(group)], LABEL_MM[0] + 0.3, low, high)
        for limb, x in zip(group, apart, strict=True):
            foot_label(page, float(x), y, LIMBS[limb], planted=key.planted[limb], lands=key.lands[limb])


def _caption(page: Page, poses: Poses, k: int, left: float, top: float, width: float) -> None:
    key = poses.keys[k]
    word = frame_words(key.frame)
    number = page.fitted(left + 1.2, top - 7.0, word, SMALL_NUMBER_PT, 0.3 * width, fontweight="bold")
    x = left + 1.2 + page.width_of(number) + 1.6
    room = left + width - x - 1.0
    page.fitted(x, top - 3.7, key.name, NAME_PT, room, fontweight="bold")
    page.fitted(x, top - 7.0, down_words(key.planted, key.name), TEXT_PT, room)


def _table(page: Page, clip: Motion, margin: float, top: float) -> None:
    """Write contacts and lift-offs, highs and lows, and what is unusual."""
    right = page.width_mm - margin
    page.line([margin, right], [top, top], linewidth=0.8)
    step, first = 4.4, top - 4.6
    frames = clip.facts.frames
    columns = (0.0, 12.0, 27.0, 42.0)
    _row(page, margin, first, columns, ("foot", "contact", "lift-off", "down"), heading=True)
    for row, k in enumerate(np.argsort(clip.steps.touchdown_s, kind="stable")[:4]):
        contact = float(clip.steps.touchdown_s[k]) * clip.frame_rate_hz
        liftoff = float(clip.steps.liftoff_s[k]) * clip.frame_rate_hz
        words = (
            LIMBS[clip.steps.limb[k]],
            frame_words(contact % frames + 1.0),
            frame_words(liftoff % frames + 1.0),
            frame_words(liftoff - contact),
        )
        _row(page, margin, first - (row + 1) * step, columns, words)
    middle = margin + 58.0
    columns = (0.0, 14.0, 32.0, 50.0)
    _row(page, middle, first, columns, ("body", "high at", "low at", "rise"), heading=True)
    for row, (part, course) in enumerate(courses(clip).items()):
        at = {
            word: ", ".join(str(course.frame_of(t)) for t in course.turns if t.word == word)
            for word in ("high", "low")
        }
        words = (part, at["high"] or "-", at["low"] or "-", f"{1000.0 * course.rise_m:.0f} mm")
        _row(page, middle, first - (row + 1) * step, columns, words)
    _notes(page, clip, margin + 126.0, right, first)
    meaning = (
        "Grey fill and thin lines: the far side, or from the front the hind end. Feet: bold planted, thin in "
        "the air, white on black making contact."
    )
    page.fitted(margin, margin, meaning, SMALL_PT, right - margin, color=GREY)


def _row(
    page: Page,
    left: float,
    y: float,
    columns: Sequence[float],
    words: Sequence[str],
    *,
    heading: bool = False,
) -> None:
    rooms = [*(after - column - 1.2 for column, after in pairwise(columns)), 13.0]
    for k, (column, room, word) in enumerate(zip(columns, rooms, words, strict=True)):
        weight = "bold" if k == 0 and not heading else "normal"
        page.fitted(
            left + column,
            y,
            word,
            SMALL_PT if heading else NAME_PT,
            room,
            fontweight=weight,
            color=GREY if heading else "0",
        )


def _notes(page: Page, clip: Motion, left: float, right: float, top: float) -> None:
    """Write the notices in small print, as far as there is room."""
    if not clip.notices:
        return
    page.text(left, top, "notes", SMALL_PT, color=GREY)
    letters = int((right - left) / 1.12)
    lines = [line for notice in clip.notices for line in textwrap.wrap(notice.text, letters)]
    if len(lines) > NOTE_LINES:
        lines = [*lines[: NOTE_LINES - 1], "(the report has the rest)"]
    for k, line in enumerate(lines):
        page.fitted(left, top - 3.4 - k * NOTE_LINE_MM, line, NOTE_PT, right - left)
