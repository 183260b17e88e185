"""What a number of a channel should be, by the frames beside it, by other strides, or by the other side."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.seen import Seen
from gaitgen.numerics.middle import middle

Array = npt.NDArray[np.float64]

WHOLE = 0.1  # frames: a stride that is so near whole frames is of as many
ALIKE = 0.25  # of what it is off them by, two others are off each other: then it is that which is off
OVER_MATE = 1.5  # times as far off its line as what it is held against is there: else it is that which is off
# Or, in a stride of few frames, which turns sharply everywhere, so many times as far in the five frames that
# a number in the middle of them is seen in: of two curves of which one has a wrong number that is the rougher
# one (1.5 times and more in a dog's trot of 12 frames; estimate).
ROUGHER, SEEN_IN = 1.25, 2


def misses(seen: Seen, column: int, *, is_turn: bool) -> list[tuple[int, float, float, bool]]:
    """Return where a channel is farthest off what it should be, one for each way to tell what that is.

    Returns
    -------
    (row, much, rest, by_another)
        How much there is too much, how far it is off elsewhere at the most with that taken away, and whether
        two others agree on what it should be, or the one that there is tells it.
    """
    values = seen.motion.file.rows[: _rows(seen), column]
    found = [_with_line(seen, column, is_turn=is_turn)]
    if not is_turn or seen.gait is None:
        return found
    line = _off_line(seen, seen.motion.file.rows[:, column], is_turn=True)[: len(values)]
    for other, pair, spread in _others(seen, column):
        off = values - other
        rest = np.abs(off)
        row = int(np.where(np.isnan(rest), -1.0, rest).argmax())
        if np.isnan(rest[row]):  # nothing tells, nowhere
            continue
        agree = spread[row] < ALIKE * abs(off[row])
        if not agree and not _is_rougher(line, pair, row):
            continue
        rest[_told_by(seen, row)] = 0.0
        by_another = bool(agree) or not np.isfinite(spread[row])
        found.append((row, float(off[row]), float(np.fmax.reduce(rest)), by_another))
    return found


def _is_rougher(line: Array, pair: Array, row: int) -> bool:
    """Whether a channel is off its line (rows,) by more, at a row, than what it is held against (rows, k)."""
    if abs(line[row]) >= OVER_MATE * np.abs(pair[row]).max(initial=0.0):
        return True
    near = np.arange(row - SEEN_IN, row + SEEN_IN + 1) % len(line)
    theirs = np.linalg.norm(pair[near], axis=0).max(initial=0.0)
    return bool(np.linalg.norm(line[near]) > ROUGHER * theirs)


def _rows(seen: Seen) -> int:
    return seen.loop.frames if seen.loop.closes else len(seen.motion.file.rows)


def _with_line(seen: Seen, column: int, *, is_turn: bool) -> tuple[int, float, float, bool]:
    """Hold a channel against the curve through the frames beside each."""
    values = seen.motion.file.rows[:, column]
    off = _off_line(seen, values, is_turn=is_turn)
    row = int(np.abs(off[: _rows(seen)]).argmax())
    put = values.copy()
    put[row] -= off[row]
    return row, float(off[row]), float(np.abs(_off_line(seen, put, is_turn=is_turn)).max()), False


def _off_line(seen: Seen, values: Array, *, is_turn: bool) -> Array:
    """How far each number of a channel (rows,) is off the curve of its neighbours; 0 at the ends of a way."""
    off = off_line(padded(seen, values))
    if not is_turn or not seen.loop.closes:
        off[:2] = off[-2:] = 0.0
    return off


def _others(seen: Seen, column: int) -> list[tuple[Array, Array, Array]]:
    """Return what a channel should be by other strides, and by the other side half a stride later.

    Returns
    -------
    (rows,) values, nan where nothing tells; (rows, told by) how far off their lines these are themselves; and
    (rows,) how far they are off each other, inf of one alone.
    """
    assert seen.gait is not None  # noqa: S101
    every, rows, period = seen.motion.file.rows, _rows(seen), seen.gait.period
    found: list[tuple[Array, Array, Array]] = []
    if abs(period - round(period)) < WHOLE and seen.gait.strides > 1.5:
        found.append(_shifted(seen, column, tuple(k * round(period) for k in (-2, -1, 1, 2))))
    mate = _mate_columns(seen)[column]
    if mate >= 0 and seen.gait.symmetrical and seen.loop.closes:
        half = round(period) / 2.0
        by = tuple(sorted({int(np.floor(half)), int(np.ceil(half))}))
        values, pair, _ = _shifted(seen, mate, by)
        own = every[:rows, column]
        sign = min((1.0, -1.0), key=lambda each: float(middle(np.abs(own - each * values))))
        found.append((sign * values, pair, np.full(rows, np.inf)))
    return found


def _shifted(seen: Seen, column: int, by: tuple[int, ...]) -> tuple[Array, Array, Array]:
    """Return the middle of values so many frames later, how far they are off their lines, their spread."""
    values = seen.motion.file.rows[:, column]
    line = _off_line(seen, values, is_turn=True)
    at, inside = _rows_later(seen, by)
    ordered = np.sort(np.where(inside, values[at], np.nan), axis=1)  # nan last
    told = inside.sum(axis=1)
    row = np.arange(len(at))
    among = (ordered[row, (told - 1) // 2] + ordered[row, told // 2]) / 2.0
    spread = np.where(told > 1, ordered[row, told - 1] - ordered[:, 0], np.inf)
    return among, np.where(inside, line[at], 0.0), spread


@lru_cache(maxsize=2)  # asked for of each channel of one clip
def _rows_later(seen: Seen, by: tuple[int, ...]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """Return the rows so many frames later, (rows, by), and whether they are in the clip and other ones."""
    rows = _rows(seen)
    at = np.arange(rows)[:, None] + np.array(by)
    inside = np.ones_like(at, dtype=bool) if seen.loop.closes else (at >= 0) & (at < rows)
    at = at % rows
    return at, inside & (at != np.arange(rows)[:, None])


def _told_by(seen: Seen, row: int) -> list[int]:
    """Rows at which a number that is wrong at a row is what others are held against."""
    assert seen.gait is not None  # noqa: S101
    rows, half = _rows(seen), round(seen.gait.period) / 2.0
    every = {row, *(row + round(sign * k * half) for k in (1, 2, 4) for sign in (-1, 1))}
    every |= {row + sign * int(np.floor(half)) for sign in (-1, 1)}
    every |= {row + sign * int(np.ceil(half)) for sign in (-1, 1)}
    return [k % rows for k in every] if seen.loop.closes else [k for k in every if 0 <= k < rows]


@lru_cache(maxsize=1)  # asked for of each channel of one clip
def _mate_columns(seen: Seen) -> tuple[int, ...]:
    """For each channel that of the mate, its own where it has none; -1 of places and unlike channels."""
    file, mates = seen.motion.file, mates_of_joints(seen)
    first = np.concatenate([[0], np.cumsum([len(words) for words in file.channels])])
    found: list[int] = []
    for joint, words in enumerate(file.channels):
        theirs = file.channels[int(mates[joint])]
        found += [
            int(first[int(mates[joint])]) + theirs.index(word)
            if word.endswith("rotation") and word in theirs
            else -1
            for word in words
        ]
    return tuple(found)
