"""Finds the fewest keys: a shortest path over the rows of a table, every channel at once.

For each row that may hold a key, the interval of slopes that can be reached there with the fewest keys is
carried along. For two keys and one slope the other slopes that keep every sample within its tolerance form
an interval, and over all of them a convex set, so that samples of it never promise too much.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.motion.hermite import basis

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Rows between two named poses that may hold a key; more would cost time and save no key.
MOST_PLACES = 12
# A longer stretch without a named pose has a place every few rows, and keys at most so many places apart.
LONG_STRETCH_ROWS = 300
LONG_STRETCH_STEP = 4
MOST_PLACES_APART = 24
# A slope may differ from the curve's own by this many tolerances per frame.
SLOPE_FREEDOM = 6.0
SLOPE_SAMPLES = 9  # of each interval of slopes


def fewest_keys(table: Array, tolerance: Array, is_named: Bools, own: Array, held: Array) -> Bools:
    """Find rows for the fewest keys that a spline needs.

    Parameters
    ----------
    table
        (rows, channels) samples.
    tolerance
        (channels,) in the unit of each channel.
    is_named
        (rows, channels) rows that hold a key in any case, first and last among them.
    own, held
        (rows, channels) the curve's own slopes, and slopes that are given (nan where free). [unit per frame]

    Returns
    -------
    (rows, channels) where the keys are.
    """
    place = _places(is_named)
    channels = table.shape[1]
    named = is_named[place]
    freedom = np.where(np.isnan(held[place]), SLOPE_FREEDOM * tolerance, 0.0)
    least, most = own[place] - freedom, own[place] + freedom  # (places, channels)
    low, high = least.copy(), most.copy()
    cost = np.full((place.size, channels), np.inf)
    cost[0] = 0.0
    origin = np.zeros((place.size, channels), dtype=np.int64)
    last_named = np.maximum.accumulate(np.where(named, np.arange(place.size)[:, None], 0), axis=0)
    for j in range(1, place.size):  # over rows that may hold a key
        start = max(int(last_named[j - 1].min()), j - MOST_PLACES_APART)
        lower, upper, fits = _reach(table, tolerance, place[start : j + 1], low[start:j], high[start:j])
        lower, upper = np.maximum(lower, least[j]), np.minimum(upper, most[j])  # (samples, starts, channels)
        fits &= lower <= upper + 1e-12
        bottom = np.where(fits, lower, np.inf).min(axis=0)
        top = np.where(fits, upper, -np.inf).max(axis=0)
        width = np.where(fits.any(axis=0), top - bottom, 0.0) / (4.0 * SLOPE_FREEDOM * tolerance)
        total = np.ceil(cost[start:j]) + 1.0 - np.clip(width, 0.0, 0.9)
        reachable = fits.any(axis=0) & (np.arange(start, j)[:, None] >= last_named[j - 1])
        total = np.where(reachable, total, np.inf)
        best = total.argmin(axis=0)  # (channels,)
        cost[j] = np.take_along_axis(total, best[None], 0)[0]
        reached = np.isfinite(cost[j])
        low[j] = np.where(reached, np.take_along_axis(bottom, best[None], 0)[0], least[j])
        high[j] = np.where(reached, np.take_along_axis(top, best[None], 0)[0], most[j])
        origin[j] = best + start
    return _traced(place, origin, table.shape)


def _places(is_named: Bools) -> Ints:
    """Rows that may hold a key: those named, and up to MOST_PLACES between two that all channels share."""
    common = np.flatnonzero(is_named.all(axis=1))
    gaps = np.diff(common)
    step = np.where(gaps > LONG_STRETCH_ROWS, LONG_STRETCH_STEP, np.maximum(1, -(-gaps // MOST_PLACES)))
    row = np.arange(is_named.shape[0])
    gap = np.searchsorted(common[1:-1], row, side="right")
    return np.flatnonzero(((row - common[gap]) % step[gap] == 0) | is_named.any(axis=1))


def _reach(
    table: Array, tolerance: Array, place: Ints, low: Array, high: Array
) -> tuple[Array, Array, Bools]:
    """Interval of slopes at the last place, from each earlier place and samples of the slopes reached there.

    Returns lower and upper bound, (slope samples, starts, channels), and where they count.
    """
    starts, end = place[:-1, None], place[-1]
    row = np.arange(place[0] + 1, end)[None]  # (1, rows)
    inside = row > starts
    h0, u, h1, v = basis(row, np.minimum(starts, row), end)  # (starts, rows)
    share = np.linspace(0.0, 1.0, SLOPE_SAMPLES)[:, None, None]
    slope = low + share * (high - low)  # (samples, starts, channels)
    rest = table[row[0]] - h0[..., None] * table[starts] - h1[..., None] * table[end]
    away = rest - slope[:, :, None] * u[..., None]  # (samples, starts, rows, channels)
    v = np.where(inside, v, -1.0)[..., None]
    counts = inside[None, :, :, None]
    lower = np.max((away + tolerance) / v, axis=2, where=counts, initial=-np.inf)
    upper = np.min((away - tolerance) / v, axis=2, where=counts, initial=np.inf)
    return lower, upper, np.isfinite(slope)


def _traced(place: Ints, origin: Ints, shape: tuple[int, ...]) -> Bools:
    """Walk the shortest paths back from the last place."""
    is_key = np.zeros(shape, dtype=np.bool_)
    channel = np.arange(shape[1])
    here = np.full(shape[1], place.size - 1)
    is_key[0] = True
    while here.any():
        is_key[place[here], channel] = True
        here = np.where(here > 0, origin[here, channel], 0)
    return is_key
