"""Animals as they stand, on paper to a scale: figures, the ground, lines of even height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.flesh import PIECES
from gaitgen.motion.flesh import PosedBody, standing
from gaitgen.pictures.page import SMALL_PT, Page
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.pose_cell import Extent, extent
from gaitgen.pictures.views import VIEWS, View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]

FAINT, GROUND = "0.80", "0.25"
GROUND_PT, GRID_PT = 0.8, 0.4
# A drawing from the side in oblique projection (ISO 5456-3): lengths and heights are true, and what is
# farther away lies this share of its distance to the front, so that the far legs show.
_ASIDE = 0.45
STANDING_VIEWS = {
    "side": View("side", (1.0, _ASIDE, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)),
    "front": VIEWS["front"],
}


@dataclass(frozen=True, eq=False)
class StandingFigure:
    """One animal as it stands, from one side.

    Attributes
    ----------
    animal
        The animal.
    view
        One of STANDING_VIEWS.
    """

    animal: Animal
    view: str = "side"

    @cached_property
    def posed(self) -> PosedBody:
        """The posed body, one frame."""
        return standing(self.animal, PIECES)

    @cached_property
    def box(self) -> Extent:
        """Left, right, bottom and top of the figure. [m]"""
        return extent(self.posed, STANDING_VIEWS[self.view])

    @property
    def width_m(self) -> float:
        """From its hindmost to its foremost point, or from side to side. [m]"""
        return self.box[1] - self.box[0]

    @property
    def height_m(self) -> float:
        """Of its highest point over the ground. [m]"""
        return self.box[3]

    def draw(self, axes: Axes, left_m: float, ground_m: float, ink: Ink) -> None:
        """Draw it on axes in metres, its left edge and the ground under it at some places of the page. [m]"""
        shift_m = left_m - self.box[0], ground_m
        paint(axes, self.posed, 0, STANDING_VIEWS[self.view], shift_m=shift_m, ink=ink)


def round_step_m(span_m: float, steps: int) -> float:
    """Return the step of 1, 2 or 5 times a power of ten of which a span holds about so many. [m]"""
    wanted = span_m / steps
    power = 10.0 ** np.floor(np.log10(wanted))
    choices = np.array([1.0, 2.0, 5.0, 10.0]) * power
    return float(choices[np.argmin(np.abs(np.log(choices / wanted)))])


def height_words(height_m: float, step_m: float) -> str:
    """Write a height on a scale: in metres, or in centimetres where the steps are shorter than 20 cm."""
    if height_m == 0.0:
        return "0"
    if step_m < 0.2:
        return f"{100.0 * height_m:.3g} cm"
    return f"{height_m:.{0 if step_m >= 1.0 else 1}f} m"


def rule(axes: Axes, xs: Sequence[float], ys: Sequence[float], *, is_ground: bool = False) -> None:
    """Draw a line of a grid under the figures, or the ground."""
    tone, width = (GROUND, GROUND_PT) if is_ground else (FAINT, GRID_PT)
    axes.plot(xs, ys, color=tone, linewidth=width, zorder=0.2)


def draw_heights(
    page: Page, axes: Axes, edges: tuple[float, float, float], scale: float, top_m: float, step_m: float
) -> None:
    """Draw the ground and lines of even height under the figures, and write the heights beside them.

    Parameters
    ----------
    page, axes
        Where to write; and axes in metres over the page, to draw on.
    edges
        Left and right ends of the lines, and height of the ground on the page. [mm]
    scale
        Millimetres of paper to a metre. [mm/m]
    top_m, step_m
        The lines go up to here, so far apart. [m]
    """
    left, right, ground = edges
    for height_m in np.arange(np.floor(top_m / step_m + 1e-9) + 1) * step_m:
        y = ground + scale * float(height_m)
        rule(axes, [left / scale, right / scale], [y / scale, y / scale], is_ground=height_m == 0.0)
        words = height_words(float(height_m), step_m)
        page.text(left - 1.2, y, words, SMALL_PT, ha="right", va="center", color="0.35")
