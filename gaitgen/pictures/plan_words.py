"""Words on a plan: beside what they name, none over another, a print or a line that leads to one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import numpy.typing as npt

from gaitgen.pictures.page import GREY, Page

Array = npt.NDArray[np.float64]
Place = tuple[float, float, float, float]  # left, bottom, width, height [mm]

# Words stand so far to a side, of what they like, and are moved so far along, of half their width.
SIDES = (1.0, -1.0, 1.7, -1.7, 2.6, -2.6, 3.6, -3.6, 4.8, -4.8, 6.2, -6.2)
ALONG = (0.0, 0.8, -0.8, 1.25, -1.25, 2.0, -2.0)
WORTH_MM = 6.5  # words that are not needed are led no farther
LED_MM = 5.0  # words farther off than this are led to by a line
APART_MM = 0.4  # lines that come as near as this cross
AWAY_MM = 2.0  # but near their places, where several may begin
LINE_STEP_MM = 0.5  # a line is looked at in so short pieces
BESIDE_MM, ABOVE_MM = 1.6, 0.6  # white around words
HALF_LINE = 0.19  # half the height of a line of words in millimetres, of their size in points


@dataclass(eq=False)
class Words:
    """Words that have been written on a plan.

    Attributes
    ----------
    page, place
        Where they are written.
    boxes
        What they stay off: (2, 2) low and high corner each. [mm]
    prints
        The same of prints, which they stay off too as long as there is another place. [mm]
    written
        The same of words that are written, which no line crosses. [mm]
    lines
        Points (points, 2) of the lines that lead to words. [mm]
    """

    page: Page
    place: Place
    boxes: list[Array] = field(default_factory=list)
    prints: list[Array] = field(default_factory=list)
    written: list[Array] = field(default_factory=list)
    lines: list[Array] = field(default_factory=list)

    def write(
        self, at: Array, aways: Array, words: str, size_pt: float, *, is_needed: bool = True, **how: object
    ) -> None:
        """Write words some way (ways, 2) from a place or farther, if there is room. [mm]

        Words that are needed are written over prints, and led to through others, rather than not at all.
        """
        text = self.page.text(float(at[0]), float(at[1]), words, size_pt, ha="center", va="center", **how)
        half = np.array([self.page.width_of(text) / 2.0 + BESIDE_MM, HALF_LINE * size_pt + ABOVE_MM])
        tried = sorted(self._places(at, aways, half), key=lambda box: round(_gap_mm(at, box)))
        if not is_needed:
            tried = [box for box in tried if _gap_mm(at, box) <= WORTH_MM]
        for off, anyhow in ((self.prints, False), (self.prints, True), ([], True))[: 3 if is_needed else 1]:
            for box in tried:
                line = _line(at, box) if _gap_mm(at, box) > LED_MM else np.zeros((0, 2))
                if self._is_free(box, [*self.boxes, *off]) and (anyhow or self._leads(at, line, off)):
                    self.boxes.append(box)
                    self.written.append(box)
                    text.set_position(tuple(box.mean(axis=0).tolist()))
                    if len(line):
                        self.lines.append(line)
                        self.page.line(*line[[0, -1]].T.tolist(), linewidth=0.35, color=GREY)
                    return
        text.remove()

    def keep_free(self, places: Array, half_mm: float) -> None:
        """Keep some places (places, 2) free of words."""
        self.boxes += [np.array([place - half_mm, place + half_mm]) for place in places]

    def _places(self, at: Array, aways: Array, half: Array) -> Iterator[Array]:
        """Yield the boxes that words could have on the plan, (2, 2) each, the liked ones first. [mm]"""
        low, size = np.array(self.place[:2]), np.array(self.place[2:])
        for share, away, along in product(SIDES, aways, ALONG[: 1 if len(aways) == 1 else None]):
            middle = at + share * away + np.array([along * half[0], 0.0])
            middle[0] = np.clip(middle[0], low[0] + half[0], low[0] + size[0] - half[0])
            if (middle - half > low - 0.01).all() and (middle + half < low + size + 0.01).all():
                yield np.stack([middle - half, middle + half])

    def _is_free(self, box: Array, kept: list[Array]) -> bool:
        """Tell whether a box of words is off all that it has to be, and off lines."""
        if any((box[0] < other[1]).all() and (other[0] < box[1]).all() for other in kept):
            return False
        return not any(_inside(line, box) for line in self.lines)

    def _leads(self, at: Array, line: Array, off: list[Array]) -> bool:
        """Tell whether a line goes through no words, no other line and no boxes but that of its place."""
        through = [*self.written, *(each for each in off if not _inside(at[None], each))]
        if any(_inside(line, each) for each in through):
            return False
        line = line[np.linalg.norm(line - at, axis=1) > AWAY_MM]
        return not any(
            bool((np.linalg.norm(line[:, None] - other, axis=2) < APART_MM).any()) for other in self.lines
        )


def _gap_mm(at: Array, box: Array) -> float:
    """Return how far a place is from a box. [mm]"""
    return float(np.linalg.norm(np.clip(at, box[0], box[1]) - at))


def _line(at: Array, box: Array) -> Array:
    """Return points (points, 2) from a place to the edge of a box. [mm]"""
    end = np.clip(at, box[0], box[1])
    count = 2 + int(np.linalg.norm(end - at) / LINE_STEP_MM)
    return np.asarray(at + np.linspace(0.0, 1.0, count)[:, None] * (end - at))


def _inside(points: Array, box: Array) -> bool:
    return bool(((points > box[0]) & (points < box[1])).all(axis=1).any())
