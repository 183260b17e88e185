"""A page of paper in millimetres, drawn with matplotlib; bytes without a date in them."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from gaitgen.errors import OutputError, RequestError, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

MM_PER_INCH = 25.4
# ISO 216 and ANSI/ASME Y14.1, upright: width, height. [mm]
PAPERS_MM: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SMALL_PT, TEXT_PT, NAME_PT, TITLE_PT, NUMBER_PT = 6.5, 7.5, 9.0, 17.0, 23.0
LEAST_PT = 5.0
FINER = 1.06  # how much wider words are at most at another resolution, where letters fit other pixels
GREY = "0.40"
SUFFIXES = (".png", ".pdf", ".svg")


@dataclass(eq=False)
class Page:
    """One page; places are millimetres from the lower left corner.

    Attributes
    ----------
    width_mm, height_mm
        Size. [mm]
    figure, axes
        The drawing, and axes over the whole page in millimetres.
    """

    width_mm: float
    height_mm: float
    figure: Figure = field(init=False)
    axes: Axes = field(init=False)

    def __post_init__(self) -> None:
        """Make an empty page."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.figure = Figure(figsize=(self.width_mm / MM_PER_INCH, self.height_mm / MM_PER_INCH))
        FigureCanvasAgg(self.figure)
        self.axes = self.cell(0.0, 0.0, self.width_mm, self.height_mm)
        self.axes.set_xlim(0.0, self.width_mm)
        self.axes.set_ylim(0.0, self.height_mm)
        self.axes.set_zorder(5.0)

    def cell(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Return bare axes over a part of the page. [mm]"""
        share = (
            left / self.width_mm,
            bottom / self.height_mm,
            width / self.width_mm,
            height / self.height_mm,
        )
        axes = self.figure.add_axes(share)
        axes.axis("off")
        axes.patch.set_visible(False)
        return axes

    def metres(self, scale: float) -> Axes:
        """Return axes over the whole page for figures, in metres from its lower left corner.

        ``scale`` is millimetres of paper to a metre of animal. [mm/m]
        """
        axes = self.cell(0.0, 0.0, self.width_mm, self.height_mm)
        axes.set_xlim(0.0, self.width_mm / scale)
        axes.set_ylim(0.0, self.height_mm / scale)
        return axes

    def text(self, x: float, y: float, words: str, size_pt: float = TEXT_PT, **how: Any) -> Text:  # noqa: ANN401
        """Write words; ``ha`` left and ``va`` baseline if not given."""
        return self.axes.text(x, y, plain(words), fontsize=size_pt, parse_math=False, **how)

    def fitted(self, x: float, y: float, words: str, size_pt: float, room_mm: float, **how: Any) -> Text:  # noqa: ANN401
        """Write words no wider than some room: smaller if they must be, and cut short below LEAST_PT."""
        words = plain(words)
        room_mm /= FINER
        written = self.text(x, y, words, size_pt, **how)
        while (width := self.width_of(written)) > room_mm and size_pt > LEAST_PT:
            size_pt = max(LEAST_PT, 0.985 * size_pt * room_mm / width)
            written.set_fontsize(size_pt)
        while len(words) > 1 and self.width_of(written) > room_mm:
            words = words[: max(1, int(0.95 * len(words)) - 1)]
            written.set_text(f"{words.rstrip()}…")
        return written

    def width_of(self, written: Text) -> float:
        """Width of a text on the page. [mm]"""
        return float(written.get_window_extent().width / self.figure.dpi * MM_PER_INCH)

    def line(self, xs: Sequence[float], ys: Sequence[float], **how: Any) -> None:  # noqa: ANN401
        """Draw a line; black and solid if not told otherwise."""
        from matplotlib.lines import Line2D

        look: dict[str, Any] = {
            "color": "0",
            "linewidth": 0.6,
            "solid_capstyle": "butt",
            "zorder": 2.0,
            **how,
        }
        self.axes.add_artist(Line2D(xs, ys, **look))

    def shape(self, corners: npt.ArrayLike, **how: Any) -> None:  # noqa: ANN401
        """Fill a polygon (corners, 2)."""
        from matplotlib.patches import Polygon

        look: dict[str, Any] = {"facecolor": "0", "edgecolor": "none", "linewidth": 0.0, **how}
        self.axes.add_patch(Polygon(np.asarray(corners), closed=True, **look))

    def box(self, left: float, bottom: float, width: float, height: float, **how: Any) -> None:  # noqa: ANN401
        """Fill a rectangle. [mm]"""
        right, top = left + width, bottom + height
        self.shape([(left, bottom), (right, bottom), (right, top), (left, top)], **how)


def paper_page(paper: str) -> Page:
    """Return an empty upright page.

    Raises
    ------
    RequestError
        For a paper that is not known.
    """
    if paper not in PAPERS_MM:
        raise RequestError(f"paper is {paper!r}; use one of {', '.join(PAPERS_MM)}")
    return Page(*PAPERS_MM[paper])


def as_pdf(figures: Sequence[Figure], title: str) -> bytes:
    """Write figures as the pages of one PDF, with text as text and no date."""
    import matplotlib as mpl
    from matplotlib.backends.backend_pdf import PdfPages

    buffer = io.BytesIO()
    nobody = dict.fromkeys(("CreationDate", "ModDate", "Producer"))
    about = {"Title": plain(title), "Creator": "gaitgen", **nobody}
    with mpl.rc_context({"pdf.fonttype": 42}), PdfPages(buffer, metadata=about) as pages:
        for figure in figures:
            pages.savefig(figure)
    return buffer.getvalue()


def as_png(figure: Figure, dots_per_inch: float = 150.0) -> bytes:
    """Write a figure as a PNG."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=dots_per_inch, metadata={"Software": None})
    return buffer.getvalue()


def as_svg(figure: Figure, title: str) -> bytes:
    """Write a figure as an SVG, with text as text and no date."""
    import matplotlib as mpl

    buffer = io.BytesIO()
    about = {"Title": plain(title), "Date": None, "Creator": None}
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "gaitgen"}):
        figure.savefig(buffer, format="svg", metadata=about)
    return buffer.getvalue()


def check_suffix(suffix: str, path: str, what: str = "a picture") -> None:
    """Refuse a file that no plot or picture can be written to.

    Raises
    ------
    OutputError
        For a suffix that is not one of SUFFIXES.
    """
    if suffix.lower() not in SUFFIXES:
        known = f"{', '.join(SUFFIXES[:-1])} or {SUFFIXES[-1]}"
        raise OutputError(f"cannot write {path}: {what} has the suffix {known}")


def encoded(figure: Figure, suffix: str, title: str) -> bytes:
    """Write a figure in the format of a suffix.

    Raises
    ------
    OutputError
        For a suffix that is not one of SUFFIXES.
    """
    check_suffix(suffix, f"a picture with the suffix {suffix!r}")
    if suffix.lower() == ".pdf":
        return as_pdf([figure], title)
    return as_svg(figure, title) if suffix.lower() == ".svg" else as_png(figure)
