"""What the marks of a sheet mean, in two rows."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from gaitgen.pictures.marks import MARK_MM, course_mark, foot_label, swing_mark
from gaitgen.pictures.page import SMALL_PT, TEXT_PT, Page
from gaitgen.pictures.paint import Ink

Mark = Callable[[Page, float, float], None]
ROW_MM = 6.6
HEIGHT_MM = 2 * ROW_MM


def draw_legend(page: Page, left: float, right: float, top: float) -> None:
    """Draw the legend over some width, HEIGHT_MM high."""
    rows = (_FEET, _BODY)
    for row, entries in enumerate(rows):
        middle = top - (row + 0.5) * ROW_MM
        step = (right - left) / len(entries)
        for k, (mark, words) in enumerate(entries):
            x = left + k * step
            mark(page, x + 2.6, middle)
            page.fitted(x + 6.2, middle, words, TEXT_PT, step - 6.8, va="center_baseline")


def _foot(page: Page, x: float, y: float, *, planted: bool, lands: bool) -> None:
    foot_label(page, x, y, "RH", planted=planted, lands=lands)


def _course(page: Page, x: float, y: float, *, word: str) -> None:
    course_mark(page, x, y - MARK_MM / 2.0, word, label=False)


def _side(page: Page, x: float, y: float, *, near: bool) -> None:
    """Draw a piece of leg as the figures have it."""
    ink = Ink()
    tone, line, width = (
        (str(ink.near), str(ink.line), 1.0) if near else (str(ink.far), str(ink.far_line), 0.5)
    )
    page.box(x - 2.4, y - 1.3, 4.8, 2.6, facecolor=tone, edgecolor=line, linewidth=width)
    letter, on = ("R", "0") if near else ("L", "1")
    look = {"ha": "center", "va": "center_baseline", "fontweight": "bold", "color": on}
    page.text(x, y, letter, SMALL_PT, **look)


def _swing(page: Page, x: float, y: float) -> None:
    swing_mark(page, x, y, (1.0, 0.0))


def _swing_end(page: Page, x: float, y: float) -> None:
    swing_mark(page, x, y, (0.0, 0.0))


def _bar(page: Page, x: float, y: float) -> None:
    page.box(x - 2.4, y - 1.4, 4.8, 2.8)


_FEET: tuple[tuple[Mark, str], ...] = (
    (partial(_foot, planted=True, lands=True), "makes contact"),
    (partial(_foot, planted=True, lands=False), "planted"),
    (partial(_foot, planted=False, lands=False), "in the air"),
    (partial(_side, near=True), "right, near"),
    (partial(_side, near=False), "left, far"),
    (_bar, "foot is down"),
)
_BODY: tuple[tuple[Mark, str], ...] = (
    (partial(_course, word="up"), "going up"),
    (partial(_course, word="down"), "going down"),
    (partial(_course, word="high"), "at its high"),
    (partial(_course, word="low"), "at its low"),
    (_swing, "ear, tail swing"),
    (_swing_end, "turns back"),
)
