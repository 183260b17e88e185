"""Figures of different height set in rows, at the largest scale at which all fit on a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

GAP_MM = 5.0
_LEAST, _MOST = 0.01, 1000.0  # millimetres of paper to a metre
_LESS = (0.98, 0.96, 0.94, 0.92, 0.9)  # of the largest scale, where that spares a row


@dataclass(frozen=True)
class Item:
    """What stands in a row.

    Attributes
    ----------
    width_m, height_m
        Its size. [m]
    name_mm
        Room that the words under it need. [mm]
    """

    width_m: float
    height_m: float
    name_mm: float

    def width_mm(self, scale: float) -> float:
        """Return the room that it takes in a row, at millimetres of paper to a metre. [mm]"""
        return max(self.width_m * scale, self.name_mm)


@dataclass(frozen=True)
class Room:
    """Room for rows, and what stands under each of them. [mm]"""

    width_mm: float
    height_mm: float
    words_mm: float


def rows_at(items: Sequence[Item], scale: float, room: Room) -> list[range] | None:
    """Break a sequence of items, the tallest first, into rows that are as low as can be together.

    Returns
    -------
    list of range
        Items of each row; None if the rows do not fit.
    """
    lowest, start = [0.0], [0]
    for end in range(1, len(items) + 1):
        best, width = (float("inf"), end), -GAP_MM
        for first in range(end - 1, -1, -1):
            width += items[first].width_mm(scale) + GAP_MM
            if width > room.width_mm:
                break
            height = lowest[first] + items[first].height_m * scale + room.words_mm
            best = min(best, (height, first))
        lowest.append(best[0])
        start.append(best[1])
    if lowest[-1] > room.height_mm:
        return None
    edges = [len(items)]
    while edges[-1] > 0:
        edges.append(start[edges[-1]])
    return [range(first, end) for first, end in pairwise(reversed(edges))]


def largest_scale(items: Sequence[Item], room: Room) -> tuple[float, list[range]]:
    """Return the largest scale at which items, the tallest first, fit into rows, and these. [mm/m]"""
    low, high = _LEAST, _MOST
    for _ in range(40):
        middle = (low * high) ** 0.5
        if rows_at(items, middle, room) is None:
            high = middle
        else:
            low = middle
    return low, rows_at(items, low, room) or []


def fitted_rows(items: Sequence[Item], room: Room) -> tuple[float, list[range]]:
    """Return a scale and its rows; a little less than the largest where a row less is enough then. [mm/m]"""
    scale, rows = largest_scale(items, room)
    for share in _LESS:
        fewer = rows_at(items, share * scale, room)
        if fewer is not None and len(fewer) < len(rows):
            return share * scale, fewer
    return scale, rows
