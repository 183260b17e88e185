"""Cubic Hermite splines on evenly sampled curves, every channel of a table at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Pull of a slope to the curve's own where samples do not decide, against the square of a frame.
RIDGE = 0.03


def own_slopes(table: Array, *, is_closed: bool) -> Array:
    """Estimate the slope of curves at every row by five-point central differences, (rows, channels).

    Parameters
    ----------
    table
        (rows, channels), evenly spaced.
    is_closed
        Whether the last row is the first one a period later (plus an even drift).

    Returns
    -------
    Slopes per row; the first equals the last where the curves are closed.
    """
    rows = table.shape[0]
    if is_closed and rows > 1:
        turn = table[-1] - table[0]
        place = np.arange(-2, rows + 2)
        padded = table[place % (rows - 1)] + (place // (rows - 1))[:, None] * turn
    else:
        ends = np.pad(table, ((2, 2), (0, 0)), mode="reflect", reflect_type="odd")
        padded = ends if rows > 2 else np.pad(table, ((2, 2), (0, 0)), mode="edge")
    return np.asarray((8.0 * (padded[3:-1] - padded[1:-3]) - (padded[4:] - padded[:-4])) / 12.0)


def basis(row: Ints | Array, before: Ints, after: Ints) -> tuple[Array, Array, Array, Array]:
    """Weights of value and slope at the key before and of value and slope at the key after."""
    length = np.maximum(after - before, 1)
    t: Array = (row - before) / length
    left = 1.0 - t
    h1, u = t * t * (3.0 - 2.0 * t), t * left * length
    return 1.0 - h1, u * left, h1, -u * t


@dataclass(frozen=True, eq=False)
class Pieces:
    """The pieces of splines between keys, and what each sample of a curve takes from them.

    Attributes
    ----------
    order
        (rows, channels) which piece of its channel a row is in, from 0: its key is at or before the row.
    before, after
        (rows, channels) rows of the keys at both ends of that piece.
    h0, u, h1, v
        (rows, channels) weights of value and slope at the key before, of value and slope at the key after.
    """

    order: Ints
    before: Ints
    after: Ints
    h0: Array
    u: Array
    h1: Array
    v: Array

    def without_slopes(self, table: Array) -> Array:
        """Return the part of the splines that the values at the keys make, (rows, channels)."""
        return self.h0 * at_rows(table, self.before) + self.h1 * at_rows(table, self.after)

    def of_slopes(self, after: Array, before: Array | None = None) -> Array:
        """Return the part of the splines that the slopes after and before the keys make, (rows, channels).

        The slopes before the keys are those after them if not given.
        """
        before = after if before is None else before
        return self.u * at_rows(after, self.before) + self.v * at_rows(before, self.after)


def pieces(is_key: Bools, steps: int = 1) -> Pieces:
    """Lay out the pieces between keys, (rows, channels); the first and last row hold a key.

    With more than one step from row to row they are laid out between rows too, ((rows - 1) * steps + 1,
    channels).
    """
    rows = is_key.shape[0]
    row = np.arange(rows)[:, None]
    before = np.maximum.accumulate(np.where(is_key, row, 0), axis=0)
    after = np.minimum.accumulate(np.where(is_key, row, rows - 1)[::-1], axis=0)[::-1]
    after = np.concatenate([after[1:], after[-1:]], axis=0)
    order = np.cumsum(is_key, axis=0) - 1
    if steps == 1:
        return Pieces(order, before, after, *basis(row, before, after))
    at = np.arange((rows - 1) * steps + 1)
    order, before, after = order[at // steps], before[at // steps], after[at // steps]
    return Pieces(order, before, after, *basis((at / steps)[:, None], before, after))


def at_rows(table: Array, row: Ints) -> Array:
    """Take from each channel the values at its own rows, (rows, channels), or (rows, 1) that all have."""
    if row.shape[1] == 1:
        return table[row[:, 0]]
    return np.asarray(table.take(row * table.shape[1] + np.arange(table.shape[1])))


def spline_rows(
    table: Array, after: Array, is_key: Bools, steps: int = 1, before: Array | None = None
) -> Array:
    """Evaluate the splines through some rows of a table, (rows, channels), or (rows, 1) that all have.

    With more than one step from row to row, between rows too, ((rows - 1) * steps + 1, channels). The slopes
    before the keys are those after them if not given.
    """
    between = pieces(is_key, steps)
    return between.without_slopes(table) + between.of_slopes(after, before)


def least_squares(table: Array, between: Pieces, is_key: Bools, own: Array, held: Array) -> Array:
    """Solve for the slopes of given keys by least squares: one tridiagonal system a channel.

    Parameters
    ----------
    table
        (rows, channels) samples.
    between, is_key
        The pieces between the keys, and (rows, channels) where those are.
    own, held
        (rows, channels) the curve's own slopes, and slopes that are given (nan where free). [unit per frame]

    Returns
    -------
    (rows, channels) slope of each key; the curve's own elsewhere. [unit per frame]
    """
    channels = table.shape[1]
    u, v = between.u, between.v
    rest = table - between.without_slopes(table)
    keys = int(between.order.max()) + 1
    cell = (between.order * channels + np.arange(channels)).ravel()

    def summed(values: Array) -> Array:
        total = np.bincount(cell, values.ravel(), keys * channels)
        return np.asarray(total.reshape(keys, channels), dtype=np.float64)

    def down(values: Array) -> Array:  # what a piece gives to the key at its end
        return np.concatenate([np.zeros_like(values[:1]), values[:-1]])

    key_row, key_channel = np.nonzero(is_key)
    key = between.order[key_row, key_channel]
    place = np.zeros((keys, channels), dtype=np.int64)
    place[key, key_channel] = key_row
    diagonal = RIDGE + summed(u * u) + down(summed(v * v))
    beside = summed(u * v)
    right = summed(u * rest) + down(summed(v * rest)) + RIDGE * at_rows(own, place)
    fixed = at_rows(held, place)  # (keys, channels)
    is_fixed = ~np.isnan(fixed)
    diagonal[is_fixed], right[is_fixed] = 1.0, fixed[is_fixed]
    below = np.where(is_fixed, 0.0, down(beside))
    beside[is_fixed] = 0.0
    solved = _tridiagonal(below, diagonal, beside, right)
    slopes = own.copy()
    slopes[key_row, key_channel] = solved[key, key_channel]
    return slopes


def _tridiagonal(below: Array, diagonal: Array, above: Array, right: Array) -> Array:
    """Solve one tridiagonal system a column, by elimination: a loop over keys."""
    keys = diagonal.shape[0]
    ahead, answer = np.empty_like(above), np.empty_like(right)
    ahead[0], answer[0] = above[0] / diagonal[0], right[0] / diagonal[0]
    for k in range(1, keys):
        pivot = diagonal[k] - below[k] * ahead[k - 1]
        ahead[k] = above[k] / pivot
        answer[k] = (right[k] - below[k] * answer[k - 1]) / pivot
    for k in range(keys - 2, -1, -1):
        answer[k] -= ahead[k] * answer[k + 1]
    return answer
