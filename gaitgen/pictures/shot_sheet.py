"""The printed sheet of a shot: a plan with prints, times and gaits, a chart, and a strip along the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import pose
from gaitgen.motion.measure import planted
from gaitgen.pictures.moments import spread_rows
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import GREY, SMALL_PT, TEXT_PT, TITLE_PT, Page, as_pdf, as_png, paper_page
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.plan_view import HIND_SHARE, draw_plan, draw_print, height_wanted_mm, sole_m
from gaitgen.pictures.pose_cell import Cell, down_words, extent
from gaitgen.pictures.shot_chart import chart_height_mm, draw_chart
from gaitgen.pictures.shot_plan import ShotPlan
from gaitgen.pictures.terrain import Floor, paint_floor
from gaitgen.pictures.views import VIEWS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

MARGIN_MM, HEAD_MM, COLUMNS = 9.0, 16.0, 5
LEGEND_MM, GAP_MM = 5.0, 3.0
LEAST_PLAN_MM, MOST_PLAN_MM = 45.0, 150.0
WORDS_MM, FEET_MM = 10.5, 1.5
# A second of a shot is worth so many poses.
POSES_A_SECOND = 3.0
LEAST_POSES, MOST_POSES = 8, 45
# Lines that a second page would be nearly empty with are left to the first, if that has as many (estimate).
FEW_LINES = 2


@in_own_look
def write_shot_sheet(
    shot: ShotPlan, *, name: str = "", paper: str = "a4", pictures: bool = False
) -> tuple[bytes, list[bytes]]:
    """Draw the sheet of a shot as a PDF of one or two pages and, if wanted, each page as a PNG.

    Parameters
    ----------
    shot
        What is drawn.
    name
        Name of the shot for the heading.
    paper
        ``a4`` or ``letter``.
    pictures
        Whether the pages are wanted as pictures too.

    Raises
    ------
    RequestError
        For another paper.
    """
    figures = shot_sheet_figures(shot, name=name, paper=paper)
    pngs = [as_png(figure) for figure in figures] if pictures else []
    return as_pdf(figures, _title(shot, name)), pngs


def _title(shot: ShotPlan, name: str) -> str:
    title = shot.clip.animal.title
    return f"{title}, {name}" if name and name.lower() != title.lower() else title


def shot_sheet_figures(shot: ShotPlan, *, name: str = "", paper: str = "a4") -> list[Figure]:
    """Draw the pages; the arguments are those of `write_shot_sheet`."""
    page = paper_page(paper)
    width = page.width_mm - 2.0 * MARGIN_MM
    _heading(page, shot, _title(shot, name))
    floor = MARGIN_MM + LEGEND_MM
    chart = floor + chart_height_mm(shot)
    top = page.height_mm - MARGIN_MM - HEAD_MM
    over = top + HEAD_MM / 2.0 - MARGIN_MM  # on a second page
    wanted = min(max(height_wanted_mm(shot, width), LEAST_PLAN_MM), MOST_PLAN_MM)
    seconds = (shot.clip.frames - 1) / shot.clip.frame_rate_hz
    count = int(min(max(LEAST_POSES, round(POSES_A_SECOND * seconds)), MOST_POSES))
    plan_mm = min(wanted, top - chart - GAP_MM)
    strip = _Strip(shot, spread_rows(shot.still, count), width / COLUMNS)
    while strip.lines > (room := strip.lines_in(top - plan_mm - chart - 2.0 * GAP_MM) + strip.lines_in(over)):
        strip = _Strip(
            shot, spread_rows(shot.still, min(room * COLUMNS, len(strip.rows) - 1)), width / COLUMNS
        )
    here = min(strip.lines, strip.lines_in(top - plan_mm - chart - 2.0 * GAP_MM))
    if 0 < strip.lines - here <= FEW_LINES <= here:
        strip = _Strip(shot, spread_rows(shot.still, here * COLUMNS), width / COLUMNS)
        here = strip.lines
    plan_mm = top - chart - 2.0 * GAP_MM - here * strip.height_mm
    draw_plan(page, shot, (MARGIN_MM, top - plan_mm, width, plan_mm))
    draw_chart(page, shot, MARGIN_MM, page.width_mm - MARGIN_MM, chart)
    _legend(page, shot, MARGIN_MM, MARGIN_MM)
    strip.draw(page, 0, here, top - plan_mm - GAP_MM)
    if here == strip.lines:
        return [page.figure]
    second = paper_page(paper)
    _second_heading(second, shot, _title(shot, name))
    strip.draw(second, here, strip.lines, second.height_mm - MARGIN_MM - HEAD_MM / 2.0)
    return [page.figure, second.figure]


def _heading(page: Page, shot: ShotPlan, title: str) -> None:
    top, right = page.height_mm - MARGIN_MM, page.width_mm - MARGIN_MM
    page.fitted(MARGIN_MM, top - 5.2, title, TITLE_PT, right - MARGIN_MM, fontweight="bold")
    clip, terrain = shot.clip, shot.terrain
    numbers = (
        ("frames", f"1 to {clip.frames}"),
        ("frame rate", f"{clip.frame_rate_hz:g} fps"),
        ("length", f"{(clip.frames - 1) / clip.frame_rate_hz:.1f} s"),
        ("way", f"{terrain.ahead_m:.1f} m"),
        ("turns", both_ways(np.degrees(terrain.heading_rad), ("left", "right"), "{:.0f}°", 0.5) or "none"),
        ("climbs", both_ways(terrain.place_m[:, 2], ("up", "down"), "{:.2f} m", 0.005) or "0.00 m"),
        ("fastest", f"{shot.speed_m_s.max():.2f} m/s"),
    )
    room = (right - MARGIN_MM) / len(numbers)
    for k, (label, value) in enumerate(numbers):
        page.fitted(MARGIN_MM + k * room, top - 9.6, label, SMALL_PT, room - 1.5, color=GREY)
        page.fitted(MARGIN_MM + k * room, top - 13.4, value, TEXT_PT + 2.0, room - 1.5, fontweight="bold")
    page.line([MARGIN_MM, right], [top - HEAD_MM + 0.8] * 2, linewidth=0.8)


def both_ways(values: Array, names: tuple[str, str], pattern: str, least: float) -> str:
    """Say how far a curve (frames,) rises and falls in all, by name; not of what is less than the least."""
    steps = np.diff(values)
    ways = float(np.maximum(steps, 0.0).sum()), float(np.maximum(-steps, 0.0).sum())
    told = [f"{pattern.format(way)} {name}" for way, name in zip(ways, names, strict=True) if way >= least]
    return ", ".join(told)


def _second_heading(page: Page, shot: ShotPlan, title: str) -> None:
    top, right = page.height_mm - MARGIN_MM, page.width_mm - MARGIN_MM
    text = f"{title}: along the way, to frame {shot.clip.frames}"
    page.fitted(MARGIN_MM, top - 4.4, text, TITLE_PT - 4.0, right - MARGIN_MM, fontweight="bold")
    page.line([MARGIN_MM, right], [top - HEAD_MM / 2.0 + 1.4] * 2, linewidth=0.8)


def _legend(page: Page, shot: ShotPlan, left: float, y: float) -> None:
    """Say what prints, bars and marks are."""
    x = left
    for limb, name in enumerate(LIMBS):
        sole = sole_m(shot, limb)
        size = 2.6 * (HIND_SHARE if name[1] == "H" else 1.0) / float(np.ptp(sole[:, 0]))
        draw_print(page, limb, size * (sole - sole.mean(axis=0)) + np.array([x + 1.4, y + 0.9]))
        page.text(x + 3.6, y, name, SMALL_PT)
        x += 10.5
    words = (
        "prints and bars, black right, open or grey left. Ring: frame 1; strokes across the way: whole "
        "seconds; frames beside them."
    )
    page.fitted(x + 1.0, y, words, SMALL_PT, page.width_mm - MARGIN_MM - x - 1.0, color=GREY)


class _Strip:
    """Poses along the way, in lines of cells, all at one scale."""

    def __init__(self, shot: ShotPlan, rows: npt.NDArray[np.int64], cell_mm: float) -> None:
        self.shot, self.rows, self.cell_mm = shot, rows, cell_mm
        self.posed = pose(shot.still, rows)
        box = extent(self.posed, VIEWS["side"])
        self.scale = (cell_mm - 3.0) / (box[1] - box[0])
        across = (box[0] - 1.5 / self.scale, box[1] + 1.5 / self.scale)
        self.floors = [Floor(shot.terrain, int(row), self.posed, k) for k, row in enumerate(rows)]
        lows = [
            float(np.nanmin(line[:, 1])) for f in self.floors for line in f.lines_m(VIEWS["side"], across)
        ]
        self.across, self.low, self.middle = across, min(box[2], *lows), (box[0] + box[1]) / 2.0
        self.height_mm = self.scale * (box[3] - self.low) + WORDS_MM + FEET_MM + 1.5
        self.planted = planted(shot.clip)[rows]

    @property
    def lines(self) -> int:
        """How many lines there are."""
        return -(-len(self.rows) // COLUMNS)

    def lines_in(self, height_mm: float) -> int:
        """Return how many lines fit into some height. [mm]"""
        return max(0, int(height_mm / self.height_mm))

    def draw(self, page: Page, first: int, after: int, top: float) -> None:
        """Draw some of the lines under a height of a page. [mm]"""
        axes = page.metres(self.scale)
        for k in range(first * COLUMNS, min(after * COLUMNS, len(self.rows))):
            line, column = divmod(k - first * COLUMNS, COLUMNS)
            left, bottom = MARGIN_MM + column * self.cell_mm, top - (line + 1) * self.height_mm
            shift = (
                self.cell_mm / 2.0 / self.scale - self.middle,
                (FEET_MM + WORDS_MM) / self.scale - self.low,
            )
            cell = Cell(left, bottom, self.cell_mm, self.height_mm, self.scale, shift)
            paint_floor(axes, self.floors[k], VIEWS["side"], self.across, cell.page_shift_m, 0.8)
            paint(axes, self.posed, k, VIEWS["side"], shift_m=cell.page_shift_m, ink=Ink(line_pt=0.8))
            self._words(page, cell, k)

    def _words(self, page: Page, cell: Cell, k: int) -> None:
        row = int(self.rows[k])
        x, room = cell.left + 1.5, cell.width - 3.0
        number = page.text(x, cell.bottom + 6.6, str(row + 1), TEXT_PT + 3.5, fontweight="bold")
        after = page.width_of(number) + 1.5
        seconds = f"{row / self.shot.clip.frame_rate_hz:.1f} s, {self.shot.speed_m_s[row] + 0.0:.1f} m/s"
        page.fitted(x + after, cell.bottom + 6.6, seconds, SMALL_PT, room - after)
        page.fitted(x, cell.bottom + 3.6, self.shot.stretch_at(row).what, TEXT_PT, room, fontweight="bold")
        page.fitted(x, cell.bottom + 0.8, down_words(self.planted[k].tolist(), ""), SMALL_PT, room)
