"""The printed sheet: one page of key poses from the side with the plan, one from front and three-quarter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.motion.flesh import pose
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.pictures.key_figures import clip_at, courses, key_figures
from gaitgen.pictures.legend import HEIGHT_MM as LEGEND_MM
from gaitgen.pictures.legend import draw_legend
from gaitgen.pictures.marks import MARK_MM
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import GREY, SMALL_PT, TEXT_PT, TITLE_PT, Page, as_pdf, as_png, paper_page
from gaitgen.pictures.pose_cell import CAPTION_MM, FEET_MM, Cell, Poses, draw_side, extent, largest_scale
from gaitgen.pictures.stride_chart import (
    BAR_ROW_MM,
    RULE_HEAD_MM,
    TICKS_MM,
    draw_bars,
    draw_curves,
    draw_frame_ticks,
    draw_rules,
    keys_within,
    stride_span,
)
from gaitgen.pictures.turned_page import draw_turned
from gaitgen.pictures.views import VIEWS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

MARGIN_MM, COLUMNS = 9.0, 3
HEAD_MM = 16.0
CURVES_MM = 34.0
CHART_MM = RULE_HEAD_MM + 4 * BAR_ROW_MM + 2.0 + CURVES_MM + TICKS_MM


@dataclass(frozen=True)
class Title:
    """Words at the head of a page."""

    animal: str
    gait: str

    @property
    def words(self) -> str:
        """Animal and gait."""
        return f"{self.animal}, {self.gait}" if self.gait else self.animal


def sheet_figures(clip: Motion, *, gait: str = "", paper: str = "a4") -> list[Figure]:
    """Draw the two pages.

    Parameters
    ----------
    clip
        One cycle; its first stride is drawn.
    gait
        Name of the gait for the heading.
    paper
        ``a4`` or ``letter``.

    Raises
    ------
    RequestError
        For another paper.
    """
    poses = _poses(clip)
    title = Title(clip.animal.title, gait).words
    pages = [paper_page(paper), paper_page(paper)]
    _first_page(pages[0], clip, poses, title)
    _heading(pages[1], clip, f"{title}: front and three-quarter")
    draw_turned(pages[1], clip, poses, MARGIN_MM, pages[1].height_mm - MARGIN_MM - HEAD_MM)
    return [page.figure for page in pages]


def sheet_pdf(clip: Motion, *, gait: str = "", paper: str = "a4") -> bytes:
    """Draw the sheet as a PDF of two pages; the arguments are those of `sheet_figures`."""
    return write_sheet(clip, gait=gait, paper=paper)[0]


@in_own_look
def write_sheet(
    clip: Motion, *, gait: str = "", paper: str = "a4", pictures: bool = False
) -> tuple[bytes, list[bytes]]:
    """Draw the sheet as a PDF of two pages and, if wanted, each page as a PNG.

    The other arguments are those of `sheet_figures`.
    """
    figures = sheet_figures(clip, gait=gait, paper=paper)
    pngs = [as_png(figure) for figure in figures] if pictures else []
    return as_pdf(figures, Title(clip.animal.title, gait).words), pngs


def _poses(clip: Motion) -> Poses:
    still = over_origin(clip)
    keys = key_figures(clip)
    frames = np.array([key.frame for key in keys])
    at_keys = clip_at(still, frames)
    travel = clip.steps.travel_m_s[0] * (frames - 1.0) / clip.frame_rate_hz
    return Poses(at_keys, pose(at_keys, np.arange(frames.size)), keys, travel)


def _first_page(page: Page, clip: Motion, poses: Poses, title: str) -> None:
    _heading(page, clip, title)
    bottom = MARGIN_MM + LEGEND_MM + CHART_MM + 3.0
    _side_cells(page, poses, bottom, page.height_mm - MARGIN_MM - HEAD_MM)
    _chart(page, clip, poses, bottom - 3.0)
    page.line(
        [MARGIN_MM, page.width_mm - MARGIN_MM],
        [MARGIN_MM + LEGEND_MM + 0.4] * 2,
        linewidth=0.5,
        color="0.5",
    )
    draw_legend(page, MARGIN_MM, page.width_mm - MARGIN_MM, MARGIN_MM + LEGEND_MM - 0.6)


def _heading(page: Page, clip: Motion, title: str) -> None:
    top, right = page.height_mm - MARGIN_MM, page.width_mm - MARGIN_MM
    page.fitted(MARGIN_MM, top - 5.2, title, TITLE_PT, right - MARGIN_MM, fontweight="bold")
    facts = clip.facts
    place = "in place" if clip.is_in_place else "travelling"
    numbers = (
        ("frames", f"1 to {facts.frames + 1}, {place}"),
        ("frame rate", f"{clip.frame_rate_hz:g} fps"),
        ("speed", f"{facts.speed_m_s:.2f} m/s"),
        ("stride length", f"{facts.stride_length_m:.2f} m"),
        ("stride time", f"{facts.period_s:.2f} s"),
        ("duty factor", f"{facts.duty_factor:.2f}"),
        ("withers", f"{clip.animal.withers_height_m:.2f} m"),
    )
    widths = np.array([1.75, 1.0, 1.0, 1.1, 1.0, 1.0, 0.9])
    edges = MARGIN_MM + np.concatenate([[0.0], np.cumsum(widths) / widths.sum()]) * (right - MARGIN_MM)
    for (label, value), left, after in zip(numbers, edges[:-1], edges[1:], strict=True):
        page.fitted(left, top - 9.6, label, SMALL_PT, after - left - 1.5, color=GREY)
        page.fitted(left, top - 13.4, value, TEXT_PT + 2.0, after - left - 1.5, fontweight="bold")
    page.line([MARGIN_MM, right], [top - HEAD_MM + 0.8] * 2, linewidth=0.8)


def _side_cells(page: Page, poses: Poses, bottom: float, top: float) -> None:
    rows = -(-len(poses.keys) // COLUMNS)
    width, height = (page.width_mm - 2.0 * MARGIN_MM) / COLUMNS, (top - bottom) / rows
    box = extent(poses.posed, VIEWS["side"])
    points = poses.points_m()
    back = float(max(points["hips"][:, 2].max(), points["chest"][:, 2].max()))
    scale = _side_scale(box, back, width, height)
    shift = (
        width / scale / 2.0 - (box[0] + box[1]) / 2.0,
        FEET_MM / scale,
    )
    axes = page.metres(scale)
    for k in range(len(poses.keys)):
        row, column = divmod(k, COLUMNS)
        left, low = MARGIN_MM + column * width, top - (row + 1) * height
        draw_side(page, axes, Cell(left, low, width, height, scale, shift), poses, k, points)


def _side_scale(box: tuple[float, float, float, float], back_m: float, width: float, height: float) -> float:
    """Fit figure, caption over the back, and the arrows between them."""
    arrows = (height - FEET_MM - CAPTION_MM - MARK_MM - 3.0) / back_m
    return min(largest_scale(box, width, height - CAPTION_MM - 4.0), arrows)


def _chart(page: Page, clip: Motion, poses: Poses, top: float) -> None:
    span, keys = stride_span(page, clip, MARGIN_MM), keys_within(poses.keys, clip)
    line, floor = top - RULE_HEAD_MM, top - CHART_MM + TICKS_MM
    frames = np.array([frame for frame, _ in keys])
    draw_rules(page, span, keys, floor, line)
    edge = draw_bars(page, span, clip, frames, line)
    draw_curves(page, span, courses(clip), frames, floor + 1.2, edge - 2.0)
    draw_frame_ticks(page, span, floor)
