"""Fits cubic Hermite splines with few keys to evenly sampled curves; every channel of a table at once.

A spline has keys on whole rows of the table, each with the table's own value and a slope. The slope at
the first and last row is the curve's own; the others are free to a few tolerances around it. Slopes are
those of least squares where these keep the tolerance, and elsewhere near them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.motion.hermite import Pieces, least_squares, own_slopes, pieces
from gaitgen.motion.key_rows import MOST_PLACES_APART, SLOPE_FREEDOM, fewest_keys, settled_slopes, tried_rows

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Room left under the tolerance for the last digits of printed numbers: value, two tangents, the motion.
MARGIN = 5e-5
# A spline at its tolerance may be over it in the last digits of the arithmetic.
ROUNDING = MARGIN / 10.0
# Of a table in which the fewest keys are looked for on every row.
MOST_ROWS_TRIED = 49


class Curves(NamedTuple):
    """What is to be fitted, (rows, channels) each.

    Attributes
    ----------
    table, allowed
        Samples, and how far a spline may be from each. [unit of the channel]
    own, held
        The curve's own slopes, and slopes that a key must have, nan where free. [unit per frame]
    least, most
        Bounds of the slope of a key. [unit per frame]
    """

    table: Array
    allowed: Array
    own: Array
    held: Array
    least: Array
    most: Array

    def only(self, channels: npt.NDArray[np.int64]) -> Curves:
        """Return some of the channels."""
        return Curves(*(array.take(channels, axis=1) for array in self))


def fit_keys(
    table: Array,
    tolerance: Array,
    is_named: Bools,
    held_slopes: Array,
    *,
    is_closed: bool,
    slope_freedom: float = SLOPE_FREEDOM,
    own: Array | None = None,
    prices: Array | None = None,
) -> tuple[Bools, Array]:
    """Choose rows and slopes so that the splines stay within the tolerance of every sample.

    Parameters
    ----------
    table
        (rows, channels) samples, one a frame.
    tolerance
        (channels,) or (rows, channels) in the unit of each channel.
    is_named
        (rows, channels) rows that hold a key in any case; the first and last are added.
    held_slopes
        (rows, channels) slope that a key there must have; nan where it is free. [unit per frame]
    is_closed
        Whether the last row is the first one a period later. First and last slope are one then, unless both
        are held.
    slope_freedom
        How many tolerances per frame a slope may differ from the curve's own. With less, the splines are
        nearer the curves between samples, and need more keys.
    own
        (rows, channels) the curves' own slopes, if they are known better than from the samples.
    prices
        (rows, channels) what a key there costs, in whole numbers around PRICE. Then as few keys as possible
        are looked for, however far apart; if not given, only as far as it takes little time.

    Returns
    -------
    is_key
        (rows, channels).
    slopes
        (rows, channels) slope of each key; of no meaning elsewhere. [unit per frame]
    """
    allowed = np.broadcast_to(tolerance * (1.0 - MARGIN), table.shape)
    own = own_slopes(table, is_closed=is_closed) if own is None else own
    held = held_slopes.copy()
    if is_closed:
        held[0] = np.where(np.isnan(held[0]), held[-1], held[0])
        held[-1] = np.where(np.isnan(held[-1]), held[0], held[-1])
    held[[0, -1]] = np.where(np.isnan(held[[0, -1]]), own[[0, -1]], held[[0, -1]])
    freedom = np.where(np.isnan(held), slope_freedom * allowed, 0.0)
    own = np.where(np.isnan(held), own, held)
    curves = Curves(table, allowed, own, held, own - freedom, own + freedom)
    is_key = is_named.copy()
    is_key[[0, -1]] = True
    slopes, misses = _plain_fit(curves, is_key)
    open_ = np.flatnonzero(misses.any(axis=0))
    is_named, may_hold = is_key.copy(), tried_rows(is_key[:, open_])
    may_hold |= prices is not None and len(table) <= MOST_ROWS_TRIED
    while open_.size:  # once, but for long stretches in which not every row is tried
        is_key[:, open_], slopes[:, open_], misses = _closer_fit(
            curves.only(open_),
            is_named[:, open_],
            may_hold,
            None if prices is None else prices[:, open_],
        )
        missed = _missed_pieces(misses, is_key[:, open_])
        if np.all(may_hold[missed.any(axis=1)]):
            is_named[:, open_] |= missed
        may_hold |= missed.any(axis=1)
        open_ = open_[missed.any(axis=0)]
    return is_key, slopes


def _plain_fit(curves: Curves, is_key: Bools) -> tuple[Array, Bools]:
    """Fit slopes to given keys by least squares; return them and where the splines miss."""
    between = pieces(is_key)
    slopes = least_squares(curves.table, between, is_key, curves.own, curves.held)
    slopes = np.clip(slopes, curves.least, curves.most)
    return slopes, _misses(curves, between, slopes)


def _closer_fit(
    curves: Curves, is_named: Bools, may_hold: Bools, prices: Array | None
) -> tuple[Bools, Array, Bools]:
    """Find the fewest keys and slopes for them; return also where the splines miss."""
    is_key, low, high = fewest_keys(
        curves.table,
        curves.allowed,
        is_named,
        may_hold,
        curves.least,
        curves.most,
        prices,
        MOST_PLACES_APART if prices is None else MOST_ROWS_TRIED,
    )
    between = pieces(is_key)
    plain = least_squares(curves.table, between, is_key, curves.own, curves.held)
    slopes = settled_slopes(curves.table, curves.allowed, between, plain, low, high)
    return is_key, slopes, _misses(curves, between, slopes)


def _misses(curves: Curves, between: Pieces, slopes: Array) -> Bools:
    """Where the splines are outside the tolerance, (rows, channels)."""
    played = between.without_slopes(curves.table) + between.of_slopes(slopes)
    return np.asarray(np.abs(played - curves.table) > curves.allowed * (1.0 + ROUNDING))


def _missed_pieces(misses: Bools, is_key: Bools) -> Bools:
    """All rows of the pieces between keys in which a spline misses, (rows, channels)."""
    channels = misses.shape[1]
    cell = np.cumsum(is_key, axis=0) * channels + np.arange(channels)
    return np.asarray(np.bincount(cell.ravel(), misses.ravel())[cell] > 0)
