"""The picture of one animal: as it stands, from the side and from the front, beside a scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.pictures.marks import spread
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import SMALL_PT, TEXT_PT, TITLE_PT, Page, encoded
from gaitgen.pictures.paint import Ink
from gaitgen.pictures.standing_figure import StandingFigure, draw_heights, round_step_m

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# As wide as A5 lying (ISO 216), and as high as the animal needs, at most as A5.
WIDTH_MM, MOST_HEIGHT_MM = 210.0, 148.0
MARGIN_MM, HEAD_MM, GAP_MM = 9.0, 17.0, 7.0
SCALE_MM, LABELS_MM, FOOT_MM = 11.0, 26.0, 3.0
_INK = Ink(line_pt=1.1)


def portrait_figure(animal: Animal, words: str = "") -> Figure:
    """Draw an animal from the side and from the front; ``words`` go under its name."""
    side, front = StandingFigure(animal, "side"), StandingFigure(animal, "front")
    left, right, ground = MARGIN_MM + SCALE_MM, WIDTH_MM - MARGIN_MM - LABELS_MM, MARGIN_MM + FOOT_MM
    width_m, top_m = side.width_m + front.width_m, max(side.height_m, front.height_m)
    room = MOST_HEIGHT_MM - MARGIN_MM - HEAD_MM - ground
    scale = min((right - left - 3.0 * GAP_MM) / width_m, room / top_m)
    page = Page(WIDTH_MM, ground + scale * top_m + HEAD_MM + MARGIN_MM)
    axes = page.metres(scale)
    draw_heights(page, axes, (left, right, ground), scale, top_m, round_step_m(top_m, 7))
    gap = (right - left - scale * width_m) / 3.0
    side.draw(axes, (left + gap) / scale, ground / scale, _INK)
    front.draw(axes, (right - gap) / scale - front.width_m, ground / scale, _INK)
    _heights(page, animal, right, ground, scale)
    name, width = page.height_mm - MARGIN_MM - 5.2, WIDTH_MM - 2.0 * MARGIN_MM
    page.fitted(MARGIN_MM, name, animal.title, TITLE_PT, width, fontweight="bold")
    page.fitted(MARGIN_MM, name - 6.0, words, TEXT_PT + 1.0, width)
    return page.figure


def _heights(page: Page, animal: Animal, left: float, ground: float, scale: float) -> None:
    """Mark withers, croup and hip joint to the right of the figures."""
    marks = {
        "withers": animal.withers_height_m,
        "croup": animal.croup_height_m,
        "hip joint": animal.hip_height_m,
    }
    levels = ground + scale * np.array(list(marks.values()))
    written = spread(levels, 3.4)
    for (name, height_m), level, y in zip(marks.items(), levels, written, strict=True):
        page.line([left, left + 3.0], [level, level], linewidth=1.0)
        page.line([left + 3.0, left + 5.0], [level, y], linewidth=0.5)
        page.text(left + 5.8, float(y), f"{name} {height_m:.2f} m", SMALL_PT, va="center")


@in_own_look
def write_portrait(animal: Animal, suffix: str, words: str = "") -> bytes:
    """Draw an animal and encode the picture by the suffix of its file.

    Raises
    ------
    OutputError
        For another suffix than those of a picture.
    """
    return encoded(portrait_figure(animal, words), suffix, animal.title)
