"""Finds the fewest keys: a shortest path over the rows of a table, every channel at once.

For each row that may hold a key, the interval of slopes that can be reached there with the fewest keys is
carried along. For two keys and one slope the other slopes that keep every sample within its tolerance form
an interval, and over all of them a convex set, so that samples of it never promise too much. Back along
the path, each key takes a slope out of its interval from which the key after it can be reached.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.motion.hermite import Pieces, basis

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Rows between two named poses that may hold a key; more would cost time and save no key.
MOST_PLACES = 12
# A longer stretch without a named pose has a place every few rows, and keys at most so many places apart.
LONG_STRETCH_ROWS = 48
LONG_STRETCH_STEP = 4
MOST_PLACES_APART = 12
# A slope may differ from the curve's own by this many tolerances per frame, if nothing else is asked for.
SLOPE_FREEDOM = 6.0
# Keys that a piece counts for which no slopes can do, between two places with rows between.
COST_OF_A_MISS = 100.0
PRICE = 100.0  # of a key that is as welcome as any
SMALLEST_WIDTH = 1e-12  # of an interval of slopes
SLOPE_SAMPLES = 9  # of each interval of slopes
_SHARES = np.linspace(0.0, 1.0, SLOPE_SAMPLES)[:, None, None]


def tried_rows(is_named: Bools) -> Bools:
    """Rows to try: those named, and up to MOST_PLACES between two that all channels share, (rows,)."""
    common = np.flatnonzero(is_named.all(axis=1))
    gaps = np.diff(common)
    step = np.where(gaps > LONG_STRETCH_ROWS, LONG_STRETCH_STEP, np.maximum(1, -(-gaps // MOST_PLACES)))
    row = np.arange(is_named.shape[0])
    gap = np.searchsorted(common[1:-1], row, side="right")
    return np.asarray(((row - common[gap]) % step[gap] == 0) | is_named.any(axis=1))


def fewest_keys(
    table: Array,
    tolerance: Array,
    is_named: Bools,
    may_hold: Bools,
    least: Array,
    most: Array,
    prices: Array | None = None,
    most_apart: int = MOST_PLACES_APART,
) -> tuple[Bools, Array, Array]:
    """Find rows for the fewest keys that a spline needs.

    Parameters
    ----------
    table, tolerance
        (rows, channels) samples, and how far the spline may be from each, in the unit of each channel.
    is_named
        (rows, channels) rows that hold a key in any case, first and last among them.
    may_hold
        (rows,) rows that may hold a key, beside those that are tried in any case.
    least, most
        (rows, channels) bounds of the slope of a key there. [unit per frame]
    prices
        (rows, channels) of a key there, whole numbers; PRICE if not given. Of as many keys, those that cost
        less are taken.
    most_apart
        Places that two keys may be apart.

    Returns
    -------
    is_key
        (rows, channels) where the keys are.
    low, high
        (rows, channels) slopes of these keys that can be reached from the first. [unit per frame]
    """
    place = np.flatnonzero(tried_rows(is_named) | may_hold)
    channel = np.arange(table.shape[1])
    order = np.arange(place.size)[:, None]
    last_named = np.maximum.accumulate(np.where(is_named[place], order, 0), axis=0)
    low, high = least.copy(), most.copy()  # (rows, channels)
    wide = np.maximum(2.0 * (most - least), SMALLEST_WIDTH)
    keys = np.zeros((place.size, table.shape[1]))  # what they cost up to each place
    origin = np.zeros(keys.shape, dtype=np.int64)
    price = np.full(keys.shape, PRICE) if prices is None else prices[place]
    earliest = last_named.min(axis=1).tolist()
    for j in range(1, place.size):  # over rows that may hold a key
        start, row = max(earliest[j - 1], j - most_apart), place[j]
        starts = place[start:j]
        lower, upper = _reach(table, tolerance, starts, int(row), low[starts], high[starts])
        lower, upper = np.maximum(lower, least[row]), np.minimum(upper, most[row])
        fits = lower <= upper  # (samples, starts, channels)
        bottom = np.where(fits, lower, np.inf).min(axis=0)
        top = np.where(fits, upper, -np.inf).max(axis=0)
        # Of as many keys, the ones that leave the next slope the most freedom.
        width = np.minimum(np.maximum((top - bottom) / wide[row], 0.0), 0.9)
        reachable = (bottom <= top) & (order[start:j] >= last_named[j - 1])
        total = np.where(reachable, keys[start:j] + price[j] - width, np.inf)
        best = total.argmin(axis=0)  # (channels,)
        cost = total[best, channel]
        reached = cost < np.inf
        keys[j] = np.ceil(np.where(reached, cost, keys[j - 1] + PRICE * COST_OF_A_MISS))
        origin[j] = np.where(reached, best + start, j - 1)
        low[row] = np.where(reached, bottom[best, channel], least[row])
        high[row] = np.where(reached, top[best, channel], most[row])
    return _traced(place, origin, table.shape), low, high


def _reach(
    table: Array, tolerance: Array, starts: Ints, end: int, low: Array, high: Array
) -> tuple[Array, Array]:
    """Interval of slopes at one row, from each earlier place and samples of the slopes reached there.

    Returns lower and upper bound, (slope samples, starts, channels).
    """
    slope = low + _SHARES * (high - low)  # (samples, starts, channels)
    first = int(starts[0]) + 1
    if first == end:  # nothing between
        return np.full(slope.shape, -np.inf), np.full(slope.shape, np.inf)
    h0, h1, v, u_over_v, slack = _weights(tuple((end - starts).tolist()))
    away = table[first:end, None] - h0 * table[starts] - h1 * table[end]  # (rows, starts, channels)
    allowed = tolerance[first:end, None] + slack
    least, most = (away + allowed) / v, (away - allowed) / v
    bent = slope * u_over_v[:, None]  # (rows, samples, starts, channels)
    return (least[:, None] - bent).max(axis=0), (most[:, None] - bent).min(axis=0)


@lru_cache(maxsize=1024)
def _weights(lengths: tuple[int, ...]) -> tuple[Array, Array, Array, Array, Array]:
    """Weigh rows in pieces of some lengths, the longest first, that all end on one row; kept.

    Returns the weights of value before, of value after and of slope after, the weight of the slope before in
    those of the one after, and what a row that is not inside a piece may be off besides:
    (rows, pieces, 1) each.
    """
    start, row = lengths[0] - np.array(lengths), np.arange(1, lengths[0])[:, None]
    h0, u, h1, v = basis(row, start, np.array(lengths[0]))
    is_inside = row > start
    v = np.where(is_inside, v, -1.0)
    slack = np.where(is_inside, 0.0, np.inf)
    return h0[..., None], h1[..., None], v[..., None], (u / v)[..., None], slack[..., None]


def _traced(place: Ints, origin: Ints, shape: tuple[int, ...]) -> Bools:
    """Walk the shortest paths back from the last place."""
    is_key = np.zeros(shape, dtype=np.bool_)
    channel = np.arange(shape[1])
    here = np.full(shape[1], place.size - 1)
    is_key[0] = True
    while here.any():
        is_key[place[here], channel] = True
        here = origin[here, channel]
    return is_key


def settled_slopes(
    table: Array, tolerance: Array, between: Pieces, wanted: Array, low: Array, high: Array
) -> Array:
    """Choose slopes near wanted ones, from the last key to the first, so that every sample is kept.

    Parameters
    ----------
    table, tolerance
        (rows, channels) samples, and how far the spline may be from each, in the unit of each channel.
    between
        The pieces between the keys.
    wanted
        (rows, channels) slopes of the keys to stay near. [unit per frame]
    low, high
        (rows, channels) slopes of the keys that can be reached from the first. [unit per frame]

    Returns
    -------
    (rows, channels) slope of each key. [unit per frame]
    """
    slopes = np.clip(wanted, low, high)
    rest = table - between.without_slopes(table)
    inner = np.arange(1, max(2, int((between.after - between.before).max())))[:, None]
    channel, channels = np.arange(table.shape[1]), table.shape[1]
    end = np.full(channels, table.shape[0] - 1)
    while end.any():  # over keys, from the last
        start = between.before[np.maximum(end - 1, 0), channel]
        row = np.minimum(start + inner, np.maximum(end - 1, start))  # (rows of the longest piece, channels)
        at, at_end, at_row = (each * channels + channel for each in (start, end, row))
        left = rest.take(at_row) - between.v.take(at_row) * slopes.take(at_end)
        counts = row > start
        u = np.where(counts, between.u.take(at_row), 1.0)
        allowed = tolerance.take(at_row)
        bottom = np.where(counts, (left - allowed) / u, -np.inf).max(axis=0)
        top = np.where(counts, (left + allowed) / u, np.inf).min(axis=0)
        settled = np.minimum(np.maximum(slopes.take(at), bottom), top)
        slopes.put(at, np.minimum(np.maximum(settled, low.take(at)), high.take(at)))
        end = start
    return slopes
