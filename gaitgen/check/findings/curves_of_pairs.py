"""Parts of a pair of curves that go on in each other's place: where they break off, and how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Times as smooth as they are the curves become, with both legs in each other's place, at both ends of such a
# part together, and at each: 10 and more in most, less at an end at which the legs pass each other. In clean
# clips of the animals here it is up to 2.5 and 2.2, in gallops of 8 frames a stride.
SMOOTHER, SMOOTHER_AT_EACH = 3.5, 2.0
# Up to an end of a clip that is no loop a part breaks off at one place alone, and so much is asked of that:
# in a change from a canter to a rotary gallop hind legs change places, and pass each other at 4.2.
SMOOTHER_TO_AN_END = 5.0
MOST_ENDS = 6  # places tried as the end of a part, after each at which it may begin


@dataclass(frozen=True, eq=False)
class Pair:
    """Legs of a pair, as they are and in each other's place, each row one line of numbers.

    Attributes
    ----------
    own, other
        (rows, numbers) turns of the joints of both legs; the same exchanged.
    goes_round
        Whether the first row comes after the last.
    """

    own: Array
    other: Array
    goes_round: bool

    def reversed(self) -> Pair:
        """Return the same from its end to its beginning."""
        return Pair(self.own[::-1], self.other[::-1], self.goes_round)

    def bend(self, first: int, last: int, *, is_exchanged: bool) -> Array:
        """Return the squared bends (4,) of the curves where a part begins and ends: two rows at each place.

        Of the part as it is, or with both legs exchanged in it; 0 beyond the ends of a clip that is no loop.
        """
        rows = len(self.own)
        at = np.array([first - 1, first, last, last + 1])
        beside = at[:, None] + np.array([-1, 0, 1])
        inside = (beside >= first) & (beside <= last)
        known = np.ones(4, dtype=bool) if self.goes_round else ((beside >= 0) & (beside < rows)).all(axis=1)
        beside = beside % rows
        values = np.where((inside & is_exchanged)[..., None], self.other[beside], self.own[beside])
        bends = values[:, 0] - 2.0 * values[:, 1] + values[:, 2]
        return np.asarray(np.where(known, (bends**2).sum(axis=1), 0.0))

    def gain(self, first: int, last: int) -> float:
        """Return how much squared bend curves lose at both ends of a part when they are exchanged there."""
        now, then = (float(self.bend(first, last, is_exchanged=each).sum()) for each in (False, True))
        return now - then


@dataclass(frozen=True)
class Part:
    """Rows in which a pair is exchanged, and how much bend its curves lose when it is put right."""

    gain: float
    first: int
    last: int


def exchanged_part(pair: Pair, least: float, times: float = 1.0) -> Part | None:
    """Return the part of a clip that is surely exchanged and loses most bend; None without one.

    Of a part and the rest of the clip, which break off at the same places, the shorter. A part that loses
    less than the least at either end is none: noise bends curves by that.

    Parameters
    ----------
    pair, least
        The legs; the least squared bend.
    times
        So many times as smooth as otherwise the curves have to become; if more than once, at two places:
        where frames were lost or held, few joints may by chance go on as their mates to the end of a clip.
    """
    parts = [*_longer_parts(pair, least, times), *_single_rows(pair, least, times)]
    return max(parts, key=lambda part: part.gain, default=None)


def _longer_parts(pair: Pair, least: float, times: float) -> list[Part]:
    """Parts of two rows and more."""
    rows = len(pair.own)
    begin, (now, then) = _begins(pair), _begins(pair.reversed())
    end = now[::-1], then[::-1]
    begins = np.flatnonzero(_is_end(*begin, least, times))
    ends = np.flatnonzero(_is_end(*end, least, times))
    if pair.goes_round:
        ends = np.concatenate([ends, ends + rows])
    elif times <= 1.0:
        begins, ends = np.unique([0, *begins]), np.unique([*ends, rows - 1])
    found: list[Part] = []
    for first in begins.tolist():
        for last in ends[ends > first][:MOST_ENDS].tolist():
            if last - first + 1 > rows // 2:
                break
            bent, put = begin[0][first] + end[0][last % rows], begin[1][first] + end[1][last % rows]
            is_open = not pair.goes_round and (first == 0 or last == rows - 1)
            if bent > times * (SMOOTHER_TO_AN_END if is_open else SMOOTHER) * put and bent > 0.0:
                found.append(Part(float(bent - put), first, last))
    return found


def _single_rows(pair: Pair, least: float, times: float) -> list[Part]:
    """Single rows that are exchanged."""
    before, row, after = _around(pair.own)
    now = np.stack([_bend(*_around(pair.own), by) for by in (-1, 0, 1)])
    middle = pair.other
    then = np.stack(
        [
            ((np.roll(before, 1, axis=0) - 2.0 * before + middle) ** 2).sum(axis=1),
            ((before - 2.0 * middle + after) ** 2).sum(axis=1),
            ((middle - 2.0 * after + np.roll(after, -1, axis=0)) ** 2).sum(axis=1),
        ]
    )
    if not pair.goes_round:
        for values in (now, then):
            values[:, [0, -1]] = 0.0
            values[0, 1] = values[2, -2] = 0.0
    is_one = np.ones(len(row), dtype=bool)
    for one in (slice(0, 2), slice(1, 3)):
        is_one &= _is_end(now[one].sum(axis=0), then[one].sum(axis=0), least, times)
    is_one &= now.sum(axis=0) > times * SMOOTHER * then.sum(axis=0)
    gain = (now - then).sum(axis=0)
    return [Part(float(gain[at]), int(at), int(at)) for at in np.flatnonzero(is_one)]


def _begins(pair: Pair) -> tuple[Array, Array]:
    """Return squared bends, (rows,), at the first row of a part and the one before, as it is and exchanged.

    Of a clip that is no loop 0 where a row beside is not known.
    """
    before, row, after = _around(pair.own)
    now = _bend(before, row, after, -1) + _bend(before, row, after, 0)
    inside, beyond = pair.other, np.roll(pair.other, -1, axis=0)
    outer = ((np.roll(before, 1, axis=0) - 2.0 * before + inside) ** 2).sum(axis=1)
    inner = ((before - 2.0 * inside + beyond) ** 2).sum(axis=1)
    if pair.goes_round:
        return now, outer + inner
    then = outer + inner
    now[1], then[1] = _bend(before, row, after, 0)[1], inner[1]
    now[[0, -1]] = then[[0, -1]] = 0.0
    return now, then


def _around(values: Array) -> tuple[Array, Array, Array]:
    """Rows before each, each, and after it."""
    return np.roll(values, 1, axis=0), values, np.roll(values, -1, axis=0)


def _bend(before: Array, row: Array, after: Array, by: int) -> Array:
    """Squared bend, (rows,), at the row so many after each."""
    return np.roll(((before - 2.0 * row + after) ** 2).sum(axis=1), -by)


def _is_end(now: Array, then: Array, least: float, times: float) -> Bools:
    """Tell where curves that bend by so much now, and by that exchanged, break off."""
    return np.asarray((now > times * SMOOTHER_AT_EACH * then) & (now - then > least))
