"""Strides and changes of gait against size, over all animals and the lines that others have published."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.gait.scaling import Scaled, scaled
from gaitgen.pictures.curve_panels import finish
from gaitgen.pictures.marks import spread
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.page import GREY, SMALL_PT, TEXT_PT, TITLE_PT, Page, encoded
from gaitgen.pictures.published_scaling import ScalingLine, scaling_lines
from gaitgen.pictures.scaling_points import Point, change_points, usual_points

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# A4 lying (ISO 216).
WIDTH_MM, HEIGHT_MM = 297.0, 210.0
TITLE = "Strides and changes of gait against size"
_WORDS_AT = 0.03  # of the span
_NAME_MM, _NAME_LETTERS = 3.1, 21  # from one name to the next; of a name
_SOURCE_MM = 2.9  # from one source to the next: five of them beside the legend
_SPAN = 1.5  # of mass and height beside the smallest and the largest animal
_LINES: Mapping[str, dict[str, Any]] = {
    "walk": {"linestyle": "--", "linewidth": 1.0},
    "walk change": {"linestyle": "--", "linewidth": 1.0},
    "change": {"linestyle": "-", "linewidth": 1.0},
    "all": {"linestyle": "-", "linewidth": 1.0},
}
# Open: walking, or leaving the walk for a run. Black: leaving a run for a gallop. Grey: other changes.
_MARKS: Mapping[str, dict[str, Any]] = {
    "walk": {"marker": "o", "markerfacecolor": "1"},
    "run": {"marker": "s", "markerfacecolor": "1"},
    "lead": {"marker": "^", "markerfacecolor": "0"},
    "other": {"marker": "D", "markerfacecolor": "0.7"},
}
_SAID = {
    "walk": "usual walk",
    "run": "from a walk to a trot or pace; at the lower right: usual trot or pace",
    "lead": "from there to a canter or gallop; at the lower right: usual canter, gallop or bound",
    "other": "from a walk to another gait",
}


def scaling_figure(animals: Sequence[Animal]) -> Figure:
    """Draw speeds, frequencies and lengths of strides against mass, hip height and Froude number."""
    all_scaled = sorted((scaled(animal) for animal in animals), key=lambda each: each.animal.body_mass_kg)
    changes = [p for k, each in enumerate(all_scaled, 1) for p in change_points(each, k)]
    walks = [p for k, each in enumerate(all_scaled, 1) for p in usual_points(each, k) if p.kind == "walk"]
    usual = [p for k, each in enumerate(all_scaled, 1) for p in usual_points(each, k)]
    page = Page(WIDTH_MM, HEIGHT_MM)
    page.text(9.0, HEIGHT_MM - 14.2, TITLE, TITLE_PT, fontweight="bold")
    mass = [_panel(page, 22.0, low, 118.0, 40.0) for low in (124.0, 76.0, 28.0)]
    hip, froude = _panel(page, 166.0, 112.0, 122.0, 70.0), _panel(page, 166.0, 28.0, 122.0, 65.0)
    masses = _span([p.mass_kg for p in walks])
    for axes, points, y, label in zip(
        mass,
        (changes, walks + changes, walks + changes),
        ("speed", "frequency", "length"),
        ("speed at a change of gait, m/s", "strides a second", "length of a stride, m"),
        strict=True,
    ):
        _draw(axes, points, "mass", y, masses)
        finish(axes, label)
    mass[-1].set_xlabel("body mass, kg", fontsize=TEXT_PT)
    _names(page, mass, all_scaled, masses)
    _draw(hip, changes, "hip height", "speed", _span([p.hip_m for p in changes]), is_numbered=True)
    finish(hip, "speed at a change of gait, m/s")
    hip.set_xlabel("height of the hip joint, m", fontsize=TEXT_PT)
    _draw(froude, usual, "froude", "relative length", _span([p.froude for p in usual]), is_numbered=True)
    finish(froude, "length of a usual stride, hip heights")
    froude.set_xlabel("Froude number, speed squared over gravity and hip height", fontsize=TEXT_PT)
    _legend(page)
    return page.figure


def _span(values: Sequence[float]) -> tuple[float, float]:
    return min(values) / _SPAN, max(values) * _SPAN


def _panel(page: Page, left: float, bottom: float, width: float, height: float) -> Axes:
    """Return axes with logarithmic scales over a part of the page. [mm]"""
    axes = page.cell(left, bottom, width, height)
    axes.axis("on")
    axes.set_xscale("log")
    axes.set_yscale("log")
    return axes


def _draw(
    axes: Axes,
    points: Sequence[Point],
    x: str,
    y: str,
    span: tuple[float, float],
    *,
    is_numbered: bool = False,
) -> None:
    """Draw published lines, with their names along them, and the marks of the animals over them."""
    from matplotlib.ticker import LogLocator, NullLocator

    lines = [line for line in scaling_lines() if (line.x, line.y) == (x, y)]
    for line in lines:
        _line(axes, line, span)
    places = np.array([point.at(x, y) for point in points])
    for point, (across, up) in zip(points, places, strict=True):
        axes.plot(
            [across], [up], color="0", markersize=4.5, linestyle="none", zorder=3.0, **_MARKS[point.kind]
        )
        if is_numbered:
            axes.annotate(
                str(point.number),
                (across, up),
                (3.2, -1.0),
                textcoords="offset points",
                fontsize=5.0,
                va="top",
                zorder=4.0,
            )
    axes.set_xlim(span)
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, places[:, 1].min() / 1.15), max(high, places[:, 1].max() * 1.15))
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axis.set_major_formatter("{x:g}")
        axis.set_minor_locator(NullLocator())
    for line in lines:
        _line_words(axes, line, span)


def _line(axes: Axes, line: ScalingLine, span: tuple[float, float]) -> None:
    """Draw a published line; what it is stands along it."""
    along = np.array(span)
    axes.plot(along, line.at(along), color="0.55", zorder=1.0, **_LINES[line.of])


def _line_words(axes: Axes, line: ScalingLine, span: tuple[float, float]) -> None:
    """Write along a line what it is, once the axes have their limits."""
    start = span[0] * (span[1] / span[0]) ** _WORDS_AT
    places = np.array([[start, 1.1 * start], line.at([start, 1.1 * start])]).T
    (x0, y0), (x1, y1) = axes.transData.transform(places)
    axes.annotate(
        line.label,
        (start, float(line.at(start))),
        (0.0, 2.6),
        textcoords="offset points",
        rotation=float(np.degrees(np.arctan2(y1 - y0, x1 - x0))),
        rotation_mode="anchor",
        fontsize=6.0,
        color="0.3",
        zorder=1.5,
        bbox={"boxstyle": "square,pad=0.05", "facecolor": "1", "edgecolor": "none"},
    )


def _names(
    page: Page, panels: Sequence[Axes], all_scaled: Sequence[Scaled], span: tuple[float, float]
) -> None:
    """Write number and name of each animal over the panels, with a faint line down through its marks."""
    box = panels[0].get_position()
    left, width, top = box.x0 * WIDTH_MM, box.width * WIDTH_MM, box.y1 * HEIGHT_MM
    masses = np.array([each.animal.body_mass_kg for each in all_scaled])
    shares = np.log(masses / span[0]) / np.log(span[1] / span[0])
    ideal = left + width * shares
    apart = min(_NAME_MM, width / len(masses))
    is_full = _NAME_MM * len(masses) > 0.8 * width
    even = left + apart * (np.arange(len(masses)) + 0.5) if is_full else ideal
    written = spread(even, apart - 1e-6, left, left + width)
    for number, (each, x, place) in enumerate(zip(all_scaled, ideal, written, strict=True), 1):
        page.line([x, place], [top, top + 3.0], linewidth=0.4, color="0.6")
        page.text(
            float(place),
            top + 3.6,
            textwrap.shorten(f"{number} {each.animal.title}", _NAME_LETTERS, placeholder="…"),
            (SMALL_PT - 0.5) * apart / _NAME_MM,
            rotation=90.0,
            ha="center",
            va="bottom",
        )
        for axes in panels:
            axes.axvline(masses[number - 1], color="0.88", linewidth=0.4, zorder=0.2)


def _legend(page: Page) -> None:
    """Say what the marks are, and where the lines are from."""
    for k, (kind, words) in enumerate(_SAID.items()):
        y = 16.4 - 3.6 * k
        page.axes.plot([23.0], [y + 0.8], color="0", markersize=4.5, **_MARKS[kind])
        page.text(25.5, y, words, SMALL_PT)
    sources = dict.fromkeys(line.words for line in scaling_lines())
    page.text(134.0, 16.4, "lines", SMALL_PT, color=GREY)
    for k, words in enumerate(sources):
        page.text(142.0, 16.4 - _SOURCE_MM * k, words, SMALL_PT, color=GREY)


@in_own_look
def write_scaling(animals: Sequence[Animal], suffix: str) -> bytes:
    """Draw the plot and encode it by the suffix of its file.

    Raises
    ------
    OutputError
        For another suffix than those of a picture.
    """
    return encoded(scaling_figure(animals), suffix, TITLE)
