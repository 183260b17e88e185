"""How noisy curves are, and how noisy they can be at most where parts of a clip are alike or quiet."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.opposite import mates_of
from gaitgen.check.noise import SPREAD
from gaitgen.check.seen import Seen
from gaitgen.check.shot.strides import GOES
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

# Noise has the same size in differences of every order, and those of the sixth change their sign in 83 of
# 100 steps; a curve that turns has less the higher the order, and seldom changes sign. The share of steps by
# which the two are told apart, how far the sizes may be apart, and the frames it takes.
ORDERS, CHANGES, SPREAD_OVER, LEAST_ROWS = (4, 6, 8), 0.7, 1.8, 20
QUARTER_SPREAD = 3.138  # lower quartile of the size of a normal deviate to its standard deviation
# Rows more than a stride, in strides that are alike; and of a part of a clip in which noise is told alone.
LEAST_ALIKE_ROWS, PART_ROWS = 10, 16


def between_strides(seen: Seen, values: Array) -> Array:
    """Return how noisy curves (rows, channels) of a clip without a period can be at most, (channels,).

    Turns that are quick come again in the next stride, and noise does not: it is all in the difference.
    """
    by = round(seen.period)
    goes_on = seen.gait is not None and not seen.loop.closes
    if not (goes_on or seen.shot is not None) or len(values) < by + LEAST_ROWS:
        return np.full(values.shape[1], np.inf)
    return alternating(values[by:] - values[:-by])[1] / math.sqrt(2.0)


def in_quiet_parts(seen: Seen, values: Array) -> Array:
    """Return how noisy curves (rows, channels) of a shot are where that shows best, (channels,).

    Noise is in all parts of a clip; quick turns are not, where an animal sets off, changes, halts. And where
    strides are alike it is in the difference of two.
    """
    bounds = [np.full(values.shape[1], np.inf)]
    if seen.shot is None or seen.noise.angle_deg > 0.0:
        return bounds[0]
    alike = []
    for stretch in (part.stretch for part in seen.parts if part.stretch.what == GOES):
        own, by = values[stretch.first : stretch.last + 1], round(stretch.period)
        if len(own) > by + LEAST_ALIKE_ROWS:
            alike.append(_size(own[by:] - own[:-by]) / math.sqrt(2.0))
    if alike:
        bounds.append(np.max(alike, axis=0))
    if len(values) >= PART_ROWS:
        parts = np.lib.stride_tricks.sliding_window_view(values, PART_ROWS, axis=0)[:: PART_ROWS // 2]
        bounds.append(_size(np.moveaxis(parts, -1, 0)).min(axis=0))
    return np.asarray(np.min(bounds, axis=0))


def _size(curves: Array) -> Array:
    """Return the standard deviation of what alternates in curves (rows, ...), by their quiet rows."""
    difference = np.abs(np.diff(curves, n=ORDERS[0], axis=0))
    whole = math.sqrt(math.comb(2 * ORDERS[0], ORDERS[0]))
    return np.asarray(QUARTER_SPREAD * np.quantile(difference, 0.25, axis=0) / whole)


def between_halves(seen: Seen) -> Array:
    """Return how noisy joints of a stride in two like halves can be at most, (joints,). [degrees]

    What turns quickly there turns as quickly half a stride later, or its mate of the other side does; noise
    does neither, and is all in the difference.
    """
    local = seen.motion.local
    frames, most = seen.loop.frames, np.full(local.shape[1], np.inf)
    if not seen.loop.closes or frames % 2 or not _is_halved(seen):
        return most
    turn = np.concatenate([local[:frames], local[:1]])
    steps = np.degrees(turn_between_rad(turn[:-1], turn[1:]))  # (frames, joints)
    mate = np.arange(len(most))
    for joint, other in mates_of(seen).items():
        mate[joint] = other
    apart = steps - np.roll(steps, frames // 2, axis=0)[:, mate]
    return alternating(gone_round(seen, apart, np.zeros(len(most))))[1] / math.sqrt(2.0)


def _is_halved(seen: Seen) -> bool:
    """Whether the clip is one stride of which left and right do the same, half a stride apart."""
    if seen.gait is None or round(seen.gait.period) != seen.loop.frames:
        return False
    summary, frame = seen.gait.summary, 0.5 / seen.loop.frames
    return max(abs(summary.hind_step - 0.5), abs(summary.fore_step - 0.5)) < frame


def gone_round(seen: Seen, values: Array, over: Array) -> Array:
    """Let curves of a loop (frames, curves) go on over its end, so that both sides are seen alike.

    ``over`` (curves,) is what a turn of the loop adds to each.
    """
    if not seen.loop.closes:
        return values
    turn = values[: seen.loop.frames]
    return np.concatenate([turn, turn[: max(ORDERS)] + over])


def alternating(
    values: Array, changes: float = CHANGES, spread_over: float = SPREAD_OVER
) -> tuple[Array, Array]:
    """Return the standard deviation of what alternates from frame to frame in curves.

    It is 0 where a curve's high differences do not change their sign nearly every frame, as noise makes them.

    Returns
    -------
    Two arrays (curves,): that, and what it would be if all were noise.
    """
    if len(values) < LEAST_ROWS:
        return np.zeros(values.shape[1]), np.zeros(values.shape[1])
    sizes, changing = [], np.zeros(values.shape[1])
    for order in ORDERS:
        difference = np.diff(values, n=order, axis=0)
        whole = math.sqrt(math.comb(2 * order, order))
        quarter, half = np.quantile(np.abs(difference), (0.25, 0.5), axis=0)
        sizes.append(np.minimum(quarter * QUARTER_SPREAD, half * SPREAD) / whole)
        changing += (difference[1:] * difference[:-1] < 0.0).mean(axis=0) / len(ORDERS)
    least = np.min(sizes, axis=0)
    is_noise = (changing > changes) & (np.max(sizes, axis=0) < spread_over * least)
    return np.where(is_noise, least, 0.0), least
