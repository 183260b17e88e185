"""The check on paper: footfalls with the frames of each finding marked, heights, and the list of findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.finding_words import amount_words, follows_words, frames_words, grouped
from gaitgen.check.seen import Seen
from gaitgen.check.text import gait_lines, heading
from gaitgen.check.waves import Wave
from gaitgen.gait.gait import LIMBS
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import NAME_PT, SMALL_PT, TEXT_PT, Page, as_pdf, paper_page

MARGIN_MM, LABEL_MM = 14.0, 16.0
ROW_MM, BAR_MM, MARK_MM = 11.0, 3.6, 1.1
CURVE_MM = 20.0
LINE_MM, ITEM_MM = 4.2, 13.2
MOST_FRAMES = 120  # side by side; of a longer clip the part around the worst finding
LEAST_TICK_MM = 6.0
HEADING_PT = 13.0


@dataclass(frozen=True)
class _Ruler:
    """Frames laid out from left to right."""

    left_mm: float
    width_mm: float
    first: int
    last: int

    def at(self, row: float) -> float:
        """Place of the middle of a row. [mm]"""
        return self.left_mm + self.width_mm * (row - self.first + 0.5) / (self.last - self.first + 1)

    @property
    def frame_mm(self) -> float:
        """Width of a frame. [mm]"""
        return self.width_mm / (self.last - self.first + 1)


@in_own_look
def write_page(seen: Seen, findings: Sequence[Finding], paper: str = "a4") -> bytes:
    """Draw the check as a PDF, as many pages as the findings need.

    Raises
    ------
    RequestError
        For a paper that is not known.
    """
    groups = grouped(findings)
    page = paper_page(paper)
    pages = [page]
    top = _top(page, seen, len(groups))
    top = _chart(page, seen, groups, top)
    for number, group in enumerate(groups, start=1):
        if top - ITEM_MM - LINE_MM < MARGIN_MM:
            page = paper_page(paper)
            pages.append(page)
            top = page.height_mm - MARGIN_MM
        top = _item(page, number, group, top)
    for number, each in enumerate(pages, start=1):
        each.text(
            each.width_mm - MARGIN_MM,
            7.0,
            f"{seen.motion.name}, {number} of {len(pages)}",
            SMALL_PT,
            ha="right",
        )
    return as_pdf([each.figure for each in pages], f"Check of {seen.motion.name}")


def _top(page: Page, seen: Seen, count: int) -> float:
    """Write name, gait and count; return where the chart begins. [mm]"""
    room = page.width_mm - 2.0 * MARGIN_MM
    top = page.height_mm - MARGIN_MM - 4.0
    word = "nothing found" if count == 0 else f"{count} finding{'s' if count > 1 else ''}"
    page.fitted(MARGIN_MM, top, f"{seen.motion.name}: {word}", HEADING_PT, room, weight="bold")
    top -= 6.0
    page.fitted(MARGIN_MM, top, heading(seen), TEXT_PT, room)
    for line in gait_lines(seen):
        top -= LINE_MM
        page.fitted(MARGIN_MM, top, line[2:15].strip(), TEXT_PT, 22.0, weight="bold")
        page.fitted(MARGIN_MM + 23.0, top, line[16:], TEXT_PT, room - 23.0)
    return top - 8.0


def _chart(page: Page, seen: Seen, groups: Sequence[Sequence[Finding]], top: float) -> float:
    """Draw bars and curves over the frames; return where the list begins. [mm]"""
    first, last = _window(seen, groups)
    ruler = _Ruler(MARGIN_MM + LABEL_MM, page.width_mm - 2.0 * MARGIN_MM - LABEL_MM, first, last)
    _ticks(page, ruler, top)
    for name in (*LIMBS, "body"):
        top -= ROW_MM
        _foot_row(page, ruler, seen, name, top)
        _marks(page, ruler, seen, groups, name, top)
    for name, wave in seen.waves.items():
        top -= CURVE_MM
        _curve(page, ruler, name, wave, top)
    if last - first + 1 < seen.motion.frames:
        text = f"frames {first + 1} to {last + 1} of {seen.motion.frames} are drawn"
        page.text(ruler.left_mm, top - 4.0, text, SMALL_PT)
    return top - 9.0


def _window(seen: Seen, groups: Sequence[Sequence[Finding]]) -> tuple[int, int]:
    frames = seen.motion.frames
    if frames <= MOST_FRAMES:
        return 0, frames - 1
    placed = [g[0] for g in groups if 0 <= g[0].last_frame - g[0].first_frame < MOST_FRAMES // 2]
    start = 0 if not placed else placed[0].first_frame - 1 - MOST_FRAMES // 3
    start = max(0, min(frames - MOST_FRAMES, start))
    return start, start + MOST_FRAMES - 1


def _ticks(page: Page, ruler: _Ruler, top: float) -> None:
    """Write frame numbers, as many as fit."""
    every = next(k for k in (1, 2, 4, 8, 16, 32) if k * ruler.frame_mm >= LEAST_TICK_MM or k == 32)
    page.text(MARGIN_MM, top, "frame", SMALL_PT)
    for row in range(ruler.first, ruler.last + 1):
        if (row - ruler.first) % every == 0:
            page.text(ruler.at(row), top, str(row + 1), SMALL_PT, ha="center")


def _foot_row(page: Page, ruler: _Ruler, seen: Seen, name: str, bottom: float) -> None:
    page.text(MARGIN_MM, bottom + 4.4, name, NAME_PT, weight="bold")
    right = ruler.left_mm + ruler.width_mm
    page.line([ruler.left_mm, right], [bottom + 4.0, bottom + 4.0], color="0.6", linewidth=0.4)
    if name == "body":
        return
    planted = seen.feet.planted[:, LIMBS.index(name)]
    for row in (np.flatnonzero(planted[ruler.first : ruler.last + 1]) + ruler.first).tolist():
        page.box(ruler.at(row) - ruler.frame_mm / 2.0, bottom + 4.0, ruler.frame_mm, BAR_MM, facecolor="0.55")


def _marks(
    page: Page, ruler: _Ruler, seen: Seen, groups: Sequence[Sequence[Finding]], name: str, bottom: float
) -> None:
    """Underline the frames of each finding of a row, with its number."""
    ends = [-1.0e9, -1.0e9]  # right ends of the marks in the two lines of a row
    for number, group in enumerate(groups, start=1):
        if (group[0].limb if group[0].limb in LIMBS else "body") != name:
            continue
        for finding in group:
            for first, last in _spans(finding, seen.motion.frames):
                if last < ruler.first or first > ruler.last or last - first > 0.9 * seen.motion.frames:
                    continue
                left = ruler.at(max(first, ruler.first)) - ruler.frame_mm / 2.0
                right = ruler.at(min(last, ruler.last)) + ruler.frame_mm / 2.0
                line = 0 if left > ends[0] + 3.5 else 1
                height = bottom + 2.4 - 2.4 * line
                page.box(left, height, right - left, MARK_MM, facecolor="0")
                if left > ends[line] + 3.5:
                    page.text(left - 0.5, height - 0.2, str(number), SMALL_PT, ha="right", weight="bold")
                ends[line] = max(ends[line], right)


def _spans(finding: Finding, frames: int) -> list[tuple[int, int]]:
    """Rows of a finding; two spans if it goes round the end of a loop."""
    first, last = finding.first_frame - 1, finding.last_frame - 1
    return [(first, last)] if first <= last else [(first, frames - 1), (0, last)]


def _curve(page: Page, ruler: _Ruler, name: str, wave: Wave, bottom: float) -> None:
    """Draw the height of an end of the body, with its lows and highs."""
    values = wave.smooth
    rows = np.arange(ruler.first, min(ruler.last + 1, len(values)))
    if not rows.size:
        return
    low, wide = float(values.min()), max(float(np.ptp(values)), 1e-6)
    height = bottom + 3.0 + (CURVE_MM - 9.0) * (values - low) / wide
    page.text(MARGIN_MM, bottom + 7.0, name, NAME_PT, weight="bold")
    page.text(MARGIN_MM, bottom + 3.5, f"{1000.0 * wide:.0f} mm", SMALL_PT)
    page.line([ruler.at(row) for row in rows.tolist()], height[rows].tolist(), linewidth=1.0)
    for frames, up in ((wave.highs, 1.2), (wave.lows, -3.0)):
        for row in (frame - 1 for frame in frames if ruler.first < frame <= ruler.last + 1):
            page.text(ruler.at(row), height[row] + up, str(row + 1), SMALL_PT, ha="center")


def _item(page: Page, number: int, group: Sequence[Finding], top: float) -> float:
    """Write one finding; return where the next begins. [mm]"""
    worst = group[0]
    room = page.width_mm - 2.0 * MARGIN_MM - 8.0
    left = MARGIN_MM + 8.0
    page.text(MARGIN_MM, top, f"{number}", NAME_PT, weight="bold")
    places = "" if len(group) == 1 else f"; and {len(group) - 1} more"
    first = f"{worst.kind}, {worst.place}, {frames_words(worst)}: {amount_words(worst)}{places}"
    page.fitted(left, top, first, NAME_PT, room, weight="bold")
    page.fitted(left, top - LINE_MM, worst.do, TEXT_PT, room)
    page.fitted(left, top - 2.0 * LINE_MM + 0.4, f"why: {worst.why}", SMALL_PT, room, color="0.35")
    follows = follows_words(group)
    if follows:
        page.fitted(left, top - 3.0 * LINE_MM + 1.0, f"so: {follows}", SMALL_PT, room, color="0.35")
        return top - ITEM_MM - LINE_MM
    return top - ITEM_MM
