"""Plots of a clip as PNG, PDF or SVG: footfalls, trunk, forces, joints, spectrum."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from gaitgen.course.support import support_shares, support_summary
from gaitgen.errors import RequestError, plain
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion
from gaitgen.pictures import curve_panels, joint_panels
from gaitgen.pictures.key_figures import key_figures
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import TEXT_PT, Page, check_suffix, encoded
from gaitgen.pictures.stride_chart import (
    BAR_ROW_MM,
    RULE_HEAD_MM,
    TICKS_MM,
    draw_bars,
    draw_frame_ticks,
    draw_rules,
    keys_within,
    stride_span,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PANELS: Mapping[str, Callable[[Figure, Motion], None]] = {
    "trunk": curve_panels.trunk,
    "forces": curve_panels.forces,
    "joints": joint_panels.joints,
    "spectrum": joint_panels.spectrum,
}
WHAT = ("footfalls", *PANELS)
FOOTFALLS_WIDTH_MM, FOOTFALLS_HEIGHT_MM = 200.0, 64.0


def plot_figure(clip: Motion, what: str, gait: str = "") -> Figure:
    """Draw one plot of the first stride of a clip.

    Parameters
    ----------
    clip
        The motion.
    what
        One of WHAT.
    gait
        Name of the gait for the heading.

    Raises
    ------
    RequestError
        For another plot.
    """
    if what not in WHAT:
        raise RequestError(f"plot is {what!r}; use one of {', '.join(WHAT)}")
    title = plot_title(clip, what, gait)
    if what == "footfalls":
        return _footfalls(clip, title)
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=curve_panels.SIZE_INCHES, layout="constrained")
    FigureCanvasAgg(figure)
    figure.suptitle(plain(title), fontsize=11.0, fontweight="bold", x=0.012, ha="left", parse_math=False)
    PANELS[what](figure, clip)
    return figure


def plot_title(clip: Motion, what: str, gait: str = "") -> str:
    """Return the heading of a plot."""
    name = f"{clip.animal.title}, {gait}" if gait else clip.animal.title
    return f"{name}: {what}, {clip.facts.frames} frames at {clip.frame_rate_hz:g} fps"


@in_own_look
def write_plot(clip: Motion, what: str, suffix: str, gait: str = "") -> bytes:
    """Draw one plot and encode it by the suffix of its file.

    Raises
    ------
    OutputError, RequestError
        For another suffix, or another plot.
    """
    check_suffix(suffix, f"a plot with the suffix {suffix!r}", "a plot")
    return encoded(plot_figure(clip, what, gait), suffix, plot_title(clip, what, gait))


def _footfalls(clip: Motion, title: str) -> Figure:
    """Draw the bars of one stride, and which feet carry together for how long."""
    found = support_shares(clip.steps)
    shares, kinds = (
        sorted(part.items(), key=lambda item: -item[1]) for part in (found, support_summary(found))
    )
    page = Page(FOOTFALLS_WIDTH_MM, FOOTFALLS_HEIGHT_MM)
    top, margin = page.height_mm - 7.0, 6.0
    page.fitted(margin, top, title, 11.0, page.width_mm - 2.0 * margin, fontweight="bold")
    span, keys = stride_span(page, clip, margin), keys_within(key_figures(clip), clip)
    line = top - 4.0 - RULE_HEAD_MM
    frames = np.array([frame for frame, _ in keys])
    floor = line - len(LIMBS) * BAR_ROW_MM - 2.0
    draw_rules(page, span, keys, floor, line)
    draw_bars(page, span, clip, frames, line)
    draw_frame_ticks(page, span, floor)
    words = [
        f"{'no foot' if feet == 'none' else feet.replace('+', ' ')} {100.0 * share:.0f} %"
        for feet, share in shares
    ]
    below = floor - TICKS_MM - 5.5
    page.text(margin, below, "support", TEXT_PT, color="0.4")
    for row in range(0, min(len(words), 8), 4):
        for column, word in enumerate(words[row : row + 4]):
            page.fitted(span.left + column * 42.0, below - 1.0 * row, word, TEXT_PT + 0.5, 40.0)
    summed = "; ".join(f"{kind} {100.0 * share:.0f} %" for kind, share in kinds)
    page.fitted(span.left, below - 8.6, summed, TEXT_PT + 0.5, page.width_mm - span.left - margin)
    page.text(margin, 2.4, "Black: right. Grey: left. Numbers: contact and lift-off.", 6.5, color="0.4")
    return page.figure
