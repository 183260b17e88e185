"""Fits cubic Hermite splines with few keys to evenly sampled curves; every channel of a table at once.

A spline has keys on whole rows of the table, each with the table's own value and a slope. The slope at
the first and last row is the curve's own; the others are free to a few tolerances around it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.motion.hermite import least_squares, own_slopes, spline_rows
from gaitgen.motion.key_rows import SLOPE_FREEDOM, fewest_keys

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

MINIMAX_ROUNDS = 12
# Room left under the tolerance for the last digit of a printed number.
MARGIN = 1e-5


def fit_keys(
    table: Array, tolerance: Array, is_named: Bools, held_slopes: Array, *, is_closed: bool
) -> tuple[Bools, Array]:
    """Choose rows and slopes so that the splines stay within the tolerance of every sample.

    Parameters
    ----------
    table
        (rows, channels) samples, one a frame.
    tolerance
        (channels,) in the unit of each channel.
    is_named
        (rows, channels) rows that hold a key in any case; the first and last are added.
    held_slopes
        (rows, channels) slope that a key there must have; nan where it is free. [unit per frame]
    is_closed
        Whether the last row is the first one a period later.

    Returns
    -------
    is_key
        (rows, channels).
    slopes
        (rows, channels) slope of each key; of no meaning elsewhere. [unit per frame]
    """
    tolerance = tolerance * (1.0 - MARGIN)
    own = own_slopes(table, is_closed=is_closed)
    held = held_slopes.copy()
    if is_closed:
        held[0] = held[-1] = np.where(np.isnan(held[0]), held[-1], held[0])
    held[[0, -1]] = np.where(np.isnan(held[[0, -1]]), own[[0, -1]], held[[0, -1]])
    is_key = is_named.copy()
    is_key[[0, -1]] = True
    own = np.where(np.isnan(held), own, held)
    slopes, misses = _best_slopes(table, tolerance, is_key, own, held)
    open_ = np.flatnonzero(misses > tolerance)
    if open_.size:
        is_key[:, open_] = fewest_keys(
            table[:, open_], tolerance[open_], is_key[:, open_], own[:, open_], held[:, open_]
        )
    while open_.size:
        part, missed = _best_slopes(
            table[:, open_], tolerance[open_], is_key[:, open_], own[:, open_], held[:, open_]
        )
        slopes[:, open_] = part
        still = missed > tolerance[open_]
        away = np.abs(spline_rows(table[:, open_], part, is_key[:, open_]) - table[:, open_])
        is_key[:, open_] |= _farthest(away, is_key[:, open_], tolerance[open_])
        open_ = open_[still]
    return is_key, slopes


def _farthest(away: Array, is_key: Bools, tolerance: Array) -> Bools:
    """Where a spline is farthest off: one row in each piece that is off by more than the pieces beside it."""
    rows, channels = away.shape
    piece = np.cumsum(is_key, axis=0)  # from 1: which piece between keys a row belongs to
    column = np.broadcast_to(np.arange(channels), away.shape)
    worst = np.zeros((int(piece.max()) + 2, channels))
    np.maximum.at(worst, (piece, column), away)
    top = np.maximum(worst[:-2], worst[2:]) <= worst[1:-1]
    chosen = np.concatenate([np.zeros_like(top[:1]), top])[piece, column]
    is_worst = chosen & (away == worst[piece, column]) & (away > tolerance)
    first = np.full((int(piece.max()) + 1, channels), rows)
    np.minimum.at(first, (piece[is_worst], column[is_worst]), np.nonzero(is_worst)[0])
    is_first: Bools = is_worst & (first[piece, column] == np.arange(rows)[:, None])
    return is_first


def _best_slopes(
    table: Array, tolerance: Array, is_key: Bools, own: Array, held: Array
) -> tuple[Array, Array]:
    """Fit slopes to given keys, least squares first, then towards the least greatest deviation.

    Returns the slopes (rows, channels) and the greatest deviation reached (channels,).
    """
    weights = np.ones_like(table)
    best = own
    reached = np.abs(spline_rows(table, own, is_key) - table).max(axis=0)
    for turn in range(MINIMAX_ROUNDS):
        slopes = least_squares(table, weights, is_key, own, held)
        slopes = np.clip(slopes, own - SLOPE_FREEDOM * tolerance, own + SLOPE_FREEDOM * tolerance)
        away = np.abs(spline_rows(table, slopes, is_key) - table)
        worst = away.max(axis=0)
        # The plain fit is taken where it is good enough; the others only where it is not.
        better = (worst < reached) if turn else (worst <= np.maximum(tolerance, reached))
        better &= (reached > tolerance) if turn else True
        best = np.where(better, slopes, best)
        reached = np.where(better, worst, reached)
        if np.all(reached <= tolerance):
            break
        weights = weights * (away / np.maximum(worst, 1e-12) + 0.02)
        weights = weights / np.maximum(weights.mean(axis=0), 1e-12)
    return best, reached
