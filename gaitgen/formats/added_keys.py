"""Keys of legs that are added one by one, each where it brings a planted toe nearest to where it should be.

Few keys of all channels are fitted together first. Where a toe does not hold with them, closer curves of all
joints of its leg would cost a key on nearly every frame; on the channel that mends most it takes one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.formats.refit_keys import (
    NEAR,
    RIDGE,
    Hold,
    Leg,
    levers_of_legs,
    planted_rows,
    splines_of,
)
from gaitgen.formats.splines import Splines
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import basis, pieces
from gaitgen.motion.keys import Keys

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Rounds of the fit before the first key is added to a leg, and after each; with more of them there are hardly
# fewer keys, measured.
FIRST_ROUNDS, ROUNDS = 6, 3
MOST_ADDED = 40  # keys of a leg; where so many do not help, no more will
# What is nearer than this share of what is allowed counts for less in the next round, what is farther off for
# more; in one round at the least and at the most so much, and so much in all.
FAR, LESS, MORE = 0.85, 0.36, 2.25
MOST_WEIGHT = 1e6


class FreeLeg(Leg):
    """A leg in whose fit nothing counts for more than it has to, so that few keys are enough.

    Attributes
    ----------
    least
        How far it was off in its best round. [of what is allowed]
    rounds, added
        Rounds since a key was added to it, and how many were.
    """

    least, rounds, added = np.inf, 0, 0

    def weigh(self, away: Array, off: Array) -> None:
        """Let what is far off count for more, and what is near for less, in place."""
        self.toe_weight = _weighed(self.toe_weight, np.linalg.norm(away, axis=1))
        self.near_weight = _weighed(self.near_weight, np.abs(off))

    @property
    def is_open(self) -> bool:
        """Whether it does not hold yet, and may."""
        return self.least > 1.0 and self.added <= MOST_ADDED

    def look(self, splines: Splines, best: Splines, played: Array, toe: Array) -> None:
        """Keep its splines, in place, if they are better than those of the rounds before."""
        share = self.hold.worst(self.own, self.limb, self.planted, played, toe)
        if share < self.least:
            best.take(splines, self.own)
            self.least = share

    def gone_on(self, splines: Splines, played: Array, toe: Array) -> FreeLeg:
        """Make one round, in place, with a key more where rounds do not help; return the leg after it."""
        leg = self
        if self.rounds >= (ROUNDS if self.added else FIRST_ROUNDS):
            add_key(self, splines, played, toe)
            leg = FreeLeg(splines, self.hold, self.limb, self.own, self.levers * self.hold.most)
            leg.toe_weight, leg.near_weight = self.toe_weight, self.near_weight
            leg.least, leg.added = self.least, self.added + 1
        leg.step(splines, played, toe)
        leg.rounds += 1
        return leg


def _weighed(weight: Array, share: Array) -> Array:
    return np.asarray(np.clip(weight * np.clip((share / FAR) ** 2, LESS, MORE), 1.0, MOST_WEIGHT))


def refit_with_more(keys: Keys, hold: Hold, played: Array, toes: Array) -> Keys:
    """Fit the keys of each leg of a cycle together, and add some where toes do not hold.

    Parameters
    ----------
    keys
        Of a whole number of strides that are alike.
    hold
        What is to be held in one.
    played, toes
        They as they play, (samples, channels), and where that puts the toes, (samples, 4, 3).

    Returns
    -------
    Keys
        Those of the best round of each leg.
    """
    splines = splines_of(keys, hold)
    best = splines.copy()
    legs = [own[splines.is_key[:, own].sum(axis=0) > 1] for own in hold.legs]
    played = played[: len(hold.dense)]
    planted = [np.flatnonzero(hold.counts[:, limb]) for limb in range(len(LIMBS))]
    levers = levers_of_legs(played, hold, legs, planted)
    limbs = [limb for limb in range(len(LIMBS)) if planted[limb].size and legs[limb].size]
    open_ = [FreeLeg(splines, hold, limb, legs[limb], levers[limb]) for limb in limbs]
    own_toes = [toes[samples, limb] for limb, samples in enumerate(planted)]
    while True:
        for leg in open_:
            leg.look(splines, best, played, own_toes[leg.limb])
        open_ = [leg for leg in open_ if leg.is_open]
        if not open_:
            return _with_legs(keys, best, hold)
        open_ = [leg.gone_on(splines, played, own_toes[leg.limb]) for leg in open_]
        moving = np.concatenate([leg.own for leg in open_])
        played = played.copy()  # who looks for toes in it may have locked it
        played[:, moving] = splines.played_of(moving, pieces(splines.is_key[:, moving], hold.steps))
        found = hold.feet.each_toe(planted_rows(played, planted))
        own_toes = [found[: samples.size, limb] for limb, samples in enumerate(planted)]


def _with_legs(keys: Keys, splines: Splines, hold: Hold) -> Keys:
    """Put splines of legs in the place of their keys, in every stride."""
    stride = len(hold.table) - 1
    of_legs = np.concatenate(hold.legs)
    moving = of_legs[splines.is_key[:, of_legs].sum(axis=0) > 1]
    stays = ~np.isin(keys.channel, moving)
    turn = np.arange((keys.frames - 1) // stride)[:, None] * stride
    row, at = np.nonzero(splines.is_key[:-1, moving])
    row = np.concatenate([(row + turn).ravel(), np.full(moving.size, keys.frames - 1)])
    own = np.concatenate([np.tile(moving[at], turn.size), moving])
    channel = np.concatenate([keys.channel[stays], own])
    frame = np.concatenate([keys.frame[stays], row + 1])
    order = np.lexsort((frame, channel))

    def both(before: Array, of_splines: Array) -> Array:
        return np.asarray(np.concatenate([before[stays], of_splines[row % stride, own]])[order])

    return replace(
        keys,
        channel=channel[order],
        frame=frame[order],
        value=both(keys.value, splines.value),
        tangent_in=both(keys.tangent_in, splines.before),
        tangent_out=both(keys.tangent_out, splines.after),
    )


def add_key(fit: Leg, splines: Splines, played: Array, toe: Array) -> None:
    """Put one key more on a channel of a leg, where it mends most; the splines stay as they are.

    A key more on a spline is two numbers more to fit, its value and its slope. How much they lessen the sum
    of squares that is fitted is known without fitting them: what other keys can do as well is taken out.

    Parameters
    ----------
    fit
        The leg, as it was weighed in its last step.
    splines
        Its splines; changed in place.
    played, toe
        As `Leg.step` takes them.
    """
    row, at = np.nonzero(~splines.is_key[:, fit.own])
    if row.size:
        best = int(_gains(fit, splines, row, at, played, toe).argmax())
        _put(splines, int(row[best]), int(fit.own[at[best]]))


def _gains(fit: Leg, splines: Splines, row: Ints, at: Ints, played: Array, toe: Array) -> Array:
    """Return by how much a key on each of some rows, of channels of the leg, lessens the sum, (places,)."""
    hold, count = fit.hold, fit.unknowns.count
    between = pieces(splines.is_key[:, fit.own])
    hats = _hats(row, between.before[row, at], between.after[row, at], len(hold.dense), hold.steps)
    away, off = fit.errors(played, toe)
    root = np.sqrt(fit.toe_weight)[:, None, None]
    moves = (root * fit.moves).reshape(-1, count)
    levers = root * np.moveaxis(fit.levers, 0, -1)[..., at]  # (planted samples, 3, places)
    own = (levers[:, :, None] * hats[fit.planted][:, None]).reshape(len(moves), -1)
    near = hats / hold.allowed[fit.own][at]
    weighed = NEAR * fit.near_weight[:, at][:, None] * near  # (samples, 2, places)
    shared = moves.T @ own + _shared(fit, weighed, at)
    square, right = fit.normal(away, off)
    freed: Array = np.asarray(np.linalg.solve(square, np.column_stack([right, shared])), dtype=np.float64)
    slope = own.T @ (root[..., 0] * away).ravel() - shared.T @ freed[:, 0]
    slope += np.einsum("sup,sp->up", weighed, off[:, at]).ravel()

    def squares(first: Array, second: Array) -> Array:
        pair = (each.reshape(-1, 2, at.size) for each in (first, second))
        return np.asarray(np.einsum("sup,svp->puv", *pair), dtype=np.float64)

    left: Array = squares(own, own) + squares(weighed, near) - squares(shared, freed[:, 1:])
    left += RIDGE * np.eye(2)
    slope = slope.reshape(2, -1).T[..., None]  # (places, 2, 1)
    return np.asarray((slope * np.linalg.solve(left, slope)).sum(axis=(1, 2)))


def _shared(fit: Leg, weighed: Array, at: Ints) -> Array:
    """Return what unknowns and new ones share in nearness to curves, (unknowns, 2 times places)."""
    shared = np.zeros((fit.unknowns.count + 1, *weighed.shape[1:]))
    for channel, columns in enumerate(fit.columns):
        mine = np.flatnonzero(at == channel)
        both = np.tensordot(fit.near[channel], weighed[:, :, mine], axes=(1, 0))
        shared[columns[:, None, None], np.arange(2)[:, None], mine] = both
    return shared[:-1].reshape(fit.unknowns.count, -1)


def _hats(row: Ints, before: Ints, after: Ints, samples: int, steps: int) -> Array:
    """Return what value and slope of a key on a row between two others do, (samples, 2, places)."""
    sample = np.arange(samples)[:, None] / steps
    _, _, rising, slope_in = basis(sample, before, row)
    falling, slope_out, _, _ = basis(sample, row, after)
    is_before, is_after = (sample >= before) & (sample <= row), (sample > row) & (sample <= after)
    value = np.where(is_before, rising, np.where(is_after, falling, 0.0))
    return np.stack([value, np.where(is_before, slope_in, np.where(is_after, slope_out, 0.0))], axis=1)


def _put(splines: Splines, row: int, channel: int) -> None:
    """Put a key on a spline and leave that as it is, in place."""
    keys = np.flatnonzero(splines.is_key[:, channel])
    first, last = int(keys[keys < row][-1]), int(keys[keys > row][0])
    length = last - first
    t = (row - first) / length
    value, out, into = splines.value[:, channel], splines.after[:, channel], splines.before[:, channel]
    left, rise = 1.0 - t, value[last] - value[first]
    value[row] = value[first] + t * t * (3.0 - 2.0 * t) * rise
    value[row] += length * t * left * (left * out[first] - t * into[last])
    slope = 6.0 * t * left * rise / length
    slope += left * (1.0 - 3.0 * t) * out[first] + t * (3.0 * t - 2.0) * into[last]
    out[row] = into[row] = slope
    splines.is_key[row, channel] = True
