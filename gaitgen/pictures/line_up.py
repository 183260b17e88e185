"""All animals on one page, drawn to one scale over a metre grid; the small ones once more, larger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import GREY, SMALL_PT, TEXT_PT, TITLE_PT, Page, encoded
from gaitgen.pictures.paint import Ink
from gaitgen.pictures.rows import GAP_MM, Item, Room, fitted_rows, rows_at
from gaitgen.pictures.standing_figure import StandingFigure, height_words, rule

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# A4 lying (ISO 216).
WIDTH_MM, HEIGHT_MM = 297.0, 210.0
MARGIN_MM, HEAD_MM, SCALE_MM, WORDS_MM, OVER_MM = 9.0, 10.0, 7.0, 8.0, 2.0
TITLE = "Animals to scale"
# Figures lower than this, the lowest and those up to twice as high, are drawn once more in a row of their
# own, so many times as large as fit into it.
SMALL_MM, AGAIN_MM, AGAIN_HEAD_MM = 11.0, 30.0, 5.0
_TIMES = (10, 8, 6, 5, 4, 3, 2)
_LETTER_MM = 1.62
_INK = Ink(line_pt=0.7)


@dataclass(frozen=True, eq=False)
class _Row:
    """Figures beside each other on one ground.

    Attributes
    ----------
    figures, items
        What stands in it, and the room that each takes.
    scale, step_m
        Millimetres of paper to a metre, and how far the lines of its grid are apart. [mm/m], [m]
    top, height
        Upper edge of its figures on the page, and their height. [mm]
    """

    figures: Sequence[StandingFigure]
    items: Sequence[Item]
    scale: float
    step_m: float
    top: float
    height: float

    @property
    def ground(self) -> float:
        """Height of its ground on the page. [mm]"""
        return self.top - self.height


def line_up_figure(animals: Sequence[Animal]) -> Figure:
    """Draw animals as they stand, the tallest first, in rows of one scale as large as a page allows."""
    figures = sorted((StandingFigure(animal) for animal in animals), key=lambda each: -each.height_m)
    items = [_item(figure) for figure in figures]
    page = Page(WIDTH_MM, HEIGHT_MM)
    width = WIDTH_MM - 2.0 * MARGIN_MM - SCALE_MM
    height = HEIGHT_MM - 2.0 * MARGIN_MM - HEAD_MM
    room = Room(width, height, WORDS_MM + OVER_MM)
    scale, rows = fitted_rows(items, room)
    small = _small(figures, scale)
    if small:
        left = height - AGAIN_MM - AGAIN_HEAD_MM - WORDS_MM
        scale, rows = fitted_rows(items, Room(width, left, room.words_mm))
    top = HEIGHT_MM - MARGIN_MM - HEAD_MM
    for row in rows:
        tall = figures[row.start].height_m * scale
        mine = slice(row.start, row.stop)
        _draw_row(page, _Row(figures[mine], items[mine], scale, 1.0, top - OVER_MM, tall))
        top -= OVER_MM + tall + WORDS_MM
    if small:
        _draw_again(page, [figures[k] for k in small], [items[k] for k in small], scale, width)
    _heading(page, scale)
    return page.figure


def _small(figures: Sequence[StandingFigure], scale: float) -> list[int]:
    """Find what would be too small to be seen well, in figures the tallest of which is the first."""
    limit_m = min(2.0 * figures[-1].height_m, SMALL_MM / scale)
    return [k for k, figure in enumerate(figures) if figure.height_m < limit_m]


def _item(figure: StandingFigure) -> Item:
    words = max(len(figure.animal.title), 0.85 * len(_size_words(figure.animal)))
    return Item(figure.width_m, figure.height_m, _LETTER_MM * words)


def _size_words(animal: Animal) -> str:
    mass = animal.body_mass_kg
    kilograms = f"{mass:.0f}" if mass >= 10.0 else f"{mass:.2g}"
    return f"{animal.withers_height_m:.2f} m, {kilograms} kg"


def _heading(page: Page, scale: float) -> None:
    top = HEIGHT_MM - MARGIN_MM - 5.2
    name = page.text(MARGIN_MM, top, TITLE, TITLE_PT, fontweight="bold")
    said = (
        f"1 : {1000.0 / scale:.0f} on A4; lines one metre apart. "
        "Under each name: height at the withers, and mass."
    )
    page.text(MARGIN_MM + page.width_of(name) + 5.0, top, said, TEXT_PT, color=GREY)


def _draw_again(
    page: Page, figures: Sequence[StandingFigure], items: Sequence[Item], scale: float, width: float
) -> None:
    """Draw the small ones once more, larger, in a row at the foot of the page."""
    times = next(
        (each for each in _TIMES if rows_at(items, each * scale, Room(width, AGAIN_MM, 0.0))), _TIMES[-1]
    )
    tall = figures[0].height_m * scale * times
    ground = MARGIN_MM + WORDS_MM
    row = _Row(figures, items, times * scale, 0.1, ground + tall, tall)
    _draw_row(page, row, is_tight=True)
    words = f"the small ones once more, {times} times as large; lines 10 cm apart"
    page.text(MARGIN_MM + SCALE_MM, row.top + 2.6, words, TEXT_PT, color=GREY)


def _draw_row(page: Page, row: _Row, *, is_tight: bool = False) -> None:
    """Draw grid, figures and names; a tight row ends with its last figure, another fills the page."""
    left, right = MARGIN_MM + SCALE_MM, WIDTH_MM - MARGIN_MM
    taken = sum(item.width_mm(row.scale) for item in row.items)
    gap = (right - left - taken) / (len(row.items) + 1)
    gap = min(gap, 3.0 * GAP_MM) if is_tight else gap
    if is_tight:
        right = left + taken + gap * (len(row.items) + 1)
    axes = page.metres(row.scale)
    _grid(page, row, left, right)
    place = left + gap
    for figure, item in zip(row.figures, row.items, strict=True):
        room = item.width_mm(row.scale)
        edge = place + (room - figure.width_m * row.scale) / 2.0
        figure.draw(axes, edge / row.scale, row.ground / row.scale, _INK)
        middle, how = place + room / 2.0, {"ha": "center", "color": GREY}
        page.text(middle, row.ground - 3.4, figure.animal.title, TEXT_PT, ha="center", fontweight="bold")
        page.text(middle, row.ground - 6.4, _size_words(figure.animal), SMALL_PT, **how)
        place += room + gap


def _grid(page: Page, row: _Row, left: float, right: float) -> None:
    """Rule the squares of a grid behind a row, and write the heights beside it."""
    axes = page.metres(1000.0)  # in metres of paper, under the figures
    axes.set_zorder(-1.0)
    cell = row.step_m * row.scale
    ground, top = row.ground / 1000.0, (row.ground + row.height + 1.0) / 1000.0
    for x in np.arange(left, right + 0.01, cell) / 1000.0:
        rule(axes, [x, x], [ground, top])
    for step in range(int(row.height / cell + 1e-9) + 1):
        y = row.ground + step * cell
        rule(axes, [left / 1000.0, right / 1000.0], [y / 1000.0, y / 1000.0], is_ground=step == 0)
        if step and (cell > 3.0 or step % 5 == 0):
            words = height_words(step * row.step_m, row.step_m)
            page.text(left - 1.0, y, words, SMALL_PT - 0.5, ha="right", va="center", color="0.35")


@in_own_look
def write_line_up(animals: Sequence[Animal], suffix: str) -> bytes:
    """Draw animals to scale and encode the page by the suffix of its file.

    Raises
    ------
    OutputError
        For another suffix than those of a picture.
    """
    return encoded(line_up_figure(animals), suffix, TITLE)
