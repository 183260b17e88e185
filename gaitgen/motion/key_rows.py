"""Finds the fewest keys: a shortest path over the rows of a table, every channel at once.

For each row that may hold a key, the interval of slopes that can be reached there with the fewest keys is
carried along. For two keys and one slope the other slopes that keep every sample within its tolerance form
an interval, and over all of them a convex set, so that samples of it never promise too much. Back along
the path, each key takes a slope out of its interval from which the key after it can be reached.
"""

from __future__ import annotations

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
    cost = np.full((place.size, table.shape[1]), np.inf)
    cost[0] = 0.0
    origin = np.zeros(cost.shape, dtype=np.int64)
    price = np.full(cost.shape, PRICE) if prices is None else prices[place]
    earliest = last_named.min(axis=1).tolist()
    for j in range(1, place.size):  # over rows that may hold a key
        start, row = max(earliest[j - 1], j - most_apart), place[j]
        starts = place[start:j]
        lower, upper = _reach(table, tolerance, starts, row, low[starts], high[starts])
        lower, upper = np.maximum(lower, least[row]), np.minimum(upper, most[row])
        fits = lower <= upper  # (samples, starts, channels)
        bottom = np.where(fits, lower, np.inf).min(axis=0)
        top = np.where(fits, upper, -np.inf).max(axis=0)
        # Of as many keys, the ones that leave the next slope the most freedom.
        width = np.minimum(np.maximum((top - bottom) / wide[row], 0.0), 0.9)
        total = np.ceil(cost[start:j]) + price[j] - width
        reachable = fits.any(axis=0) & (order[start:j] >= last_named[j - 1])
        total[~reachable] = np.inf
        best = total.argmin(axis=0)  # (channels,)
        reached = reachable.any(axis=0)
        cost[j] = np.where(reached, total[best, channel], np.ceil(cost[j - 1]) + PRICE * COST_OF_A_MISS)
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
    if starts[0] + 1 == end:  # nothing between
        return np.full(slope.shape, -np.inf), np.full(slope.shape, np.inf)
    row, between = np.arange(starts[0] + 1, end), slice(starts[0] + 1, end)
    h0, u, h1, v = (weight[..., None] for weight in basis(row, starts[:, None], np.array(end)))
    inside = (row > starts[:, None])[..., None]  # (starts, rows, 1)
    v = np.where(inside, v, -1.0)
    away = table[between] - h0 * table[starts][:, None] - h1 * table[end]  # (starts, rows, channels)
    least = np.where(inside, (away + tolerance[between]) / v, -np.inf)
    most = np.where(inside, (away - tolerance[between]) / v, np.inf)
    bent = slope[:, :, None] * (u / v)  # (samples, starts, rows, channels)
    return (least - bent).max(axis=2), (most - bent).min(axis=2)


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
    channel = np.arange(table.shape[1])
    end = np.full(channel.shape, table.shape[0] - 1)
    while end.any():  # over keys, from the last
        start = between.before[np.maximum(end - 1, 0), channel]
        row = np.minimum(start + inner, np.maximum(end - 1, start))  # (rows of the longest piece, channels)
        u = between.u[row, channel]
        left = rest[row, channel] - between.v[row, channel] * slopes[end, channel]
        counts = row > start
        u = np.where(counts, u, 1.0)
        allowed = tolerance[row, channel]
        bottom = np.where(counts, (left - allowed) / u, -np.inf).max(axis=0)
        top = np.where(counts, (left + allowed) / u, np.inf).min(axis=0)
        settled = np.clip(slopes[start, channel], bottom, top)
        slopes[start, channel] = np.clip(settled, low[start, channel], high[start, channel])
        end = start
    return slopes
