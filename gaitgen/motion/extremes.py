"""Where a sampled curve turns, with or without a period, and between samples."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

ROUNDING = 1e-12  # of the largest value: a smaller step is none
LEVEL = 1e-6  # a curve whose range is smaller, in its own unit, is level


@dataclass(frozen=True)
class Extreme:
    """One high or low.

    Attributes
    ----------
    row
        The sample that is highest or lowest, from 0; the first of several that are equal.
    place
        Where the curve itself turns, in samples from 0; between samples by a parabola. Within half a sample
        of ``row`` (or in the middle of a level stretch), so at the start of a loop it may be below 0.
    value
        How high the curve is there.
    is_high
        High or low.
    """

    row: int
    place: float
    value: float
    is_high: bool


def extremes(curve: Array, *, is_closed: bool) -> tuple[Extreme, ...]:
    """Find the highs and lows of a curve, in order of sample.

    A level stretch counts once, in its middle, if the curve comes from and goes to the same side. The ends
    of a curve without a period are none.

    Parameters
    ----------
    curve
        (samples,) evenly spaced.
    is_closed
        Whether the sample after the last is the first again.
    """
    count = curve.size
    steps = np.diff(curve, append=curve[:1]) if is_closed else np.diff(curve)
    steps = np.where(np.abs(steps) > ROUNDING * np.abs(curve).max(initial=0.0), steps, 0.0)
    moving = np.flatnonzero(steps)
    if moving.size < 2:
        return ()
    following = np.append(moving[1:], moving[0] + count) if is_closed else moving[1:]
    begins, ends = steps[moving[: following.size]], steps[following % count]
    turns = np.sign(begins) != np.sign(ends)
    row, wide = (moving[: following.size][turns] + 1) % count, (following - moving[: following.size])[turns]
    here, begins = curve[row], begins[turns]
    ends = curve[(row + 1) % count] - here
    offset = 0.5 * (begins + ends) / (begins - ends)  # vertex of the parabola through three samples
    is_level = wide > 2
    place = row + np.where(is_level, 0.5 * (wide - 1), offset)
    value = np.where(is_level, here, here + 0.25 * (begins + ends) * offset)
    rows = zip(row, place, value, begins > 0.0, strict=True)
    found = [Extreme(int(row), float(at), float(high), bool(up)) for row, at, high, up in rows]
    return tuple(sorted(found, key=lambda extreme: extreme.row))


def main_extremes(curve: Array, *, is_closed: bool) -> tuple[Extreme, ...]:
    """Keep highs above the middle of the range and lows below it, a high and a low by turns.

    Of two highs with no low between them the higher is kept. The arguments are those of `extremes`.
    """
    middle = (float(curve.max()) + float(curve.min())) / 2.0

    def away(extreme: Extreme) -> float:
        return abs(extreme.value - middle)

    large = [e for e in extremes(curve, is_closed=is_closed) if (e.value > middle) == e.is_high]
    kept = [max(alike, key=away) for _, alike in groupby(large, key=lambda extreme: extreme.is_high)]
    if is_closed and len(kept) > 1 and kept[0].is_high == kept[-1].is_high:
        kept.pop(0 if away(kept[-1]) > away(kept[0]) else -1)
    return tuple(kept)


def highest(curve: Array, *, is_closed: bool) -> float:
    """Return the greatest height of a curve, which may lie between samples; arguments as of `extremes`."""
    found = [extreme.value for extreme in extremes(curve, is_closed=is_closed) if extreme.is_high]
    return max([float(curve.max()), *found])


def share_of_range(curve: Array, place: float) -> float:
    """Tell how high a closed curve (samples,) is at a sample, 0 at its lowest and 1 at its highest.

    ``place`` counts from 0 and may lie between samples; 0.5 where the curve is level.
    """
    here = np.interp(place % curve.size, np.arange(curve.size + 1), np.append(curve, curve[0]))
    low, high = float(curve.min()), float(curve.max())
    return (float(here) - low) / (high - low) if high - low > LEVEL else 0.5


def turning_rows(values: Array, least: float) -> list[int]:
    """Rows at which a curve (rows,) turns back by more than so much."""
    if len(values) < 3:
        return []
    rows = _ends_and_turns(values)
    while rows.size > 2:
        fewer, apart = _without_least(values, rows)
        if apart > least:
            break
        rows = fewer
    return [int(row) for row in rows[1:-1]]


def turned_besides(curve: Array, turns: int) -> float:
    """Return how far an open curve (samples,) turns back at the most besides its so many greatest turns."""
    rows, most = _ends_and_turns(curve), 0.0
    while rows.size - 2 > turns:
        rows, apart = _without_least(curve, rows)
        most = max(most, apart)
    return most


def _ends_and_turns(curve: Array) -> Ints:
    """Rows of an open curve's ends and of its extremes, in order."""
    return np.array([0, *[each.row for each in extremes(curve, is_closed=False)], curve.size - 1])


def _without_least(curve: Array, rows: Ints) -> tuple[Ints, float]:
    """Leave out the least turn of a curve and the one beside it, which cancel; return how far that is too.

    One at a time, as what is then left between their neighbours may be more, or less, than any was before: a
    loop over the turns of a curve, which are few, not over its frames.
    """
    apart = np.abs(np.diff(curve[rows]))
    least = int(apart.argmin())
    inner = [row for row in (least, least + 1) if 0 < row < rows.size - 1]
    return np.delete(rows, inner), float(apart[least])
