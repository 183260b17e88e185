"""Cubic Hermite splines on evenly sampled curves, every channel of a table at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Pull of a slope to the curve's own where samples do not decide, against the square of a frame.
RIDGE = 1e-3


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


def segments(is_key: Bools) -> tuple[Ints, Ints]:
    """For every row and channel, the key at or before it and the one after, (rows, channels)."""
    rows = is_key.shape[0]
    row = np.arange(rows)[:, None]
    before = np.maximum.accumulate(np.where(is_key, row, 0), axis=0)
    after = np.where(is_key, row, rows - 1)
    after = np.minimum.accumulate(after[::-1], axis=0)[::-1]
    after = np.concatenate([after[1:], after[-1:]], axis=0)
    return before, after


def basis(row: Ints, before: Ints, after: Ints) -> tuple[Array, Array, Array, Array]:
    """Weights of value and slope at the key before and of value and slope at the key after."""
    length = np.maximum(after - before, 1)
    t: Array = (row - before) / length
    return (
        (1.0 + 2.0 * t) * (1.0 - t) ** 2,
        t * (1.0 - t) ** 2 * length,
        t * t * (3.0 - 2.0 * t),
        t * t * (t - 1.0) * length,
    )


def spline_rows(table: Array, slopes: Array, is_key: Bools) -> Array:
    """Evaluate the splines through some rows of a table at all of its rows, (rows, channels)."""
    before, after = segments(is_key)
    row = np.arange(table.shape[0])[:, None]
    h0, u, h1, v = basis(row, before, after)

    def at(values: Array, place: Ints) -> Array:
        return np.take_along_axis(values, place, axis=0)

    return h0 * at(table, before) + u * at(slopes, before) + h1 * at(table, after) + v * at(slopes, after)


def least_squares(table: Array, weights: Array, is_key: Bools, own: Array, held: Array) -> Array:
    """Solve for the slopes of given keys by least squares: one tridiagonal system a channel.

    Parameters
    ----------
    table, weights
        (rows, channels) samples and how much each counts.
    is_key
        (rows, channels) where the keys are.
    own, held
        (rows, channels) the curve's own slopes, and slopes that are given (nan where free). [unit per frame]

    Returns
    -------
    (rows, channels) slope of each key; the curve's own elsewhere. [unit per frame]
    """
    rows, channels = table.shape
    before, after = segments(is_key)
    h0, u, h1, v = basis(np.arange(rows)[:, None], before, after)
    rest = table - h0 * np.take_along_axis(table, before, 0) - h1 * np.take_along_axis(table, after, 0)
    order = np.cumsum(is_key, axis=0) - 1  # which key of its channel starts the segment of a row
    keys = int(order.max()) + 1
    cell = (order * channels + np.arange(channels)).ravel()

    def summed(values: Array) -> Array:
        total = np.bincount(cell, (weights * values).ravel(), keys * channels)
        return np.asarray(total.reshape(keys, channels), dtype=np.float64)

    def down(values: Array) -> Array:  # what a segment gives to the key at its end
        return np.concatenate([np.zeros_like(values[:1]), values[:-1]])

    diagonal = RIDGE + summed(u * u) + down(summed(v * v))
    beside = summed(u * v)
    place = np.zeros((keys, channels), dtype=np.int64)
    key_row, key_channel = np.nonzero(is_key)
    place[order[key_row, key_channel], key_channel] = key_row
    right = summed(u * rest) + down(summed(v * rest)) + RIDGE * np.take_along_axis(own, place, 0)
    fixed = np.take_along_axis(held, place, 0)  # (keys, channels)
    is_fixed = ~np.isnan(fixed)
    diagonal = np.where(is_fixed, 1.0, diagonal)
    right = np.where(is_fixed, fixed, right)
    above = np.where(is_fixed, 0.0, beside)
    below = np.where(is_fixed, 0.0, down(beside))
    solved = _tridiagonal(below, diagonal, above, right)
    slopes = own.copy()
    slopes[key_row, key_channel] = solved[order[key_row, key_channel], key_channel]
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
