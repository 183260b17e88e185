"""Keys that are there already, fitted together so that planted toes hold: one joint takes up what others err.

Each channel of a leg is near its own curve for itself, and small errors of many joints add up at the foot. So
the tangents of all channels of a leg, and their values where these may move, are solved for at once: Newton's
method on the places of the toe, at frames and between them, with every channel held near its curve; what is
far off in one round counts for more in the next.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.formats.splines import Splines, Unknowns
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import pieces
from gaitgen.motion.keys import Keys
from gaitgen.motion.toes import ToeFinder

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

ROUNDS, MOST_ROUNDS = 8, 16  # and where the last of them is beyond what is allowed
NEAR = 0.1  # what the square of a curve's distance counts against that of a toe's, both of what is allowed
FAR = 0.7  # of what is allowed: from there on a sample counts for more in the next round
ENOUGH = 0.9  # of what is allowed: a leg no farther off stays as it is; rounds gain little then, measured
MOST_WEIGHT, RIDGE = 1e4, 1e-6


@dataclass(frozen=True, eq=False)
class Hold:
    """What is to be held in one stride, or in one stance.

    Attributes
    ----------
    table
        (rows, channels) the curves; of a stride the last row is the first.
    dense
        (samples, channels) the same between rows too.
    allowed
        (channels,) how far a spline may be from its curve.
    legs
        Channels of each limb.
    feet, ground, counts
        What finds the toes; where they should be, (samples, 4, 3), and whether they count, (samples, 4).
    most
        How far they may be from there. [unit of the toes]
    steps
        Samples from row to row.
    moves_values
        Whether keys may have other values than the curves.
    """

    table: Array
    dense: Array
    allowed: Array
    legs: list[Ints]
    feet: ToeFinder
    ground: Array
    counts: Bools
    most: float
    steps: int
    moves_values: bool

    def worst(self, own: Ints, limb: int, planted: Ints, played: Array, toe: Array) -> float:
        """Return the most that a toe is off, of what is allowed; infinite where its curves are too far.

        The toe is known where it is planted, (planted samples, 3).
        """
        off = np.abs(played[:: self.steps, own] - self.table[:, own]) / self.allowed[own]
        away = np.linalg.norm(toe - self.ground[planted, limb], axis=1) / self.most
        return float(away.max(initial=0.0)) if off.max(initial=0.0) <= 1.0 else np.inf


def refit(keys: Keys, hold: Hold, played: Array, toes: Array) -> Keys:
    """Fit the keys of each leg of a cycle together; ``keys`` are of a whole number of strides that are alike.

    They are known as they play, (samples, channels), and where that puts the toes, (samples, 4, 3). Legs that
    are near enough stay; each other one gets its best round's, if its curves were near in any.
    """
    at = (keys.frame - 1) % (len(hold.table) - 1)
    splines = splines_of(keys, hold)
    legs = [own[splines.is_key[:, own].sum(axis=0) > 1] for own in hold.legs]
    played = played[: len(hold.dense)]
    planted = [np.flatnonzero(hold.counts[:, limb]) for limb in range(len(LIMBS))]
    own_toes = [toes[samples, limb] for limb, samples in enumerate(planted)]
    for limb, samples in enumerate(planted):  # legs do not move each other's toes
        if not legs[limb].size or hold.worst(legs[limb], limb, samples, played, own_toes[limb]) <= ENOUGH:
            legs[limb], planted[limb] = legs[limb][:0], samples[:0]
    of_legs = np.concatenate(legs)
    if not of_legs.size:
        return keys
    levers = levers_of_legs(played, hold, legs, planted)
    between = pieces(splines.is_key[:, of_legs], hold.steps)
    fits = [Leg(splines, hold, limb, legs[limb], levers[limb]) for limb in range(4) if planted[limb].size]
    best, least = splines.copy(), np.full(len(fits), np.inf)
    for number in range(MOST_ROUNDS + 1):
        if number:
            played = played.copy()  # who looks for toes in it may have locked it
            played[:, of_legs] = splines.played_of(of_legs, between)
            toes = hold.feet.each_toe(planted_rows(played, planted))
            own_toes = [toes[: samples.size, limb] for limb, samples in enumerate(planted)]
        share = np.array([hold.worst(f.own, f.limb, f.planted, played, own_toes[f.limb]) for f in fits])
        for k in np.flatnonzero((share < least) | ((number == ROUNDS) & (share <= 1.0))):
            best.take(splines, fits[k].own)
            least[k] = share[k]
        if number == MOST_ROUNDS or np.all(least <= (ENOUGH if number < ROUNDS else 1.0)):
            break
        for k in np.flatnonzero(least > ENOUGH):
            fits[k].step(splines, played, own_toes[fits[k].limb])
    is_leg = np.isin(keys.channel, np.concatenate(hold.legs))
    row, channel = at[is_leg], keys.channel[is_leg]
    value, after, before = keys.value.copy(), keys.tangent_out.copy(), keys.tangent_in.copy()
    value[is_leg] = best.value[row, channel]
    after[is_leg], before[is_leg] = best.after[row, channel], best.before[row, channel]
    return replace(keys, value=value, tangent_in=before, tangent_out=after)


def splines_of(keys: Keys, hold: Hold) -> Splines:
    """Take the splines of the first stride from keys."""
    stride = len(hold.table) - 1
    splines = Splines(
        np.zeros(hold.table.shape, dtype=np.bool_), *(np.zeros(hold.table.shape) for _ in "vab")
    )
    first = keys.frame <= stride
    row, channel = keys.frame[first] - 1, keys.channel[first]
    splines.is_key[row, channel] = True
    splines.value[row, channel] = keys.value[first]
    splines.after[row, channel] = keys.tangent_out[first]
    splines.before[row, channel] = keys.tangent_in[first]
    ends = keys.frame == stride + 1  # the same key a stride later; what travels is elsewhere then
    splines.is_key[-1, keys.channel[ends]] = True
    splines.value[-1, keys.channel[ends]] = keys.value[ends]
    splines.after[-1], splines.before[-1] = splines.after[0], splines.before[0]
    return splines


def levers_of_legs(played: Array, hold: Hold, legs: list[Ints], planted: list[Ints]) -> list[Array]:
    """Find how far each channel of each leg moves its planted toe, (channels, samples, 3). [toe/channel]"""
    _, slopes = hold.feet.each_toe_and_slopes(planted_rows(played, planted), legs)
    return [slope[:, : samples.size] for slope, samples in zip(slopes, planted, strict=True)]


def planted_rows(played: Array, planted: list[Ints]) -> Array:
    """Take the samples in which each foot is planted, (4, most samples, channels), filled up with zeros."""
    rows = np.zeros((len(LIMBS), max(samples.size for samples in planted), played.shape[1]))
    for limb, samples in enumerate(planted):
        rows[limb, : samples.size] = played[samples]
    return rows


class Leg:
    """One leg whose keys are fitted, round by round.

    Attributes
    ----------
    moves
        (planted samples, 3, unknowns) how far each unknown moves the toe. [of what is allowed]
    near, columns
        (channels, most unknowns of one, samples) how far each moves its channel [of what is allowed], and
        (channels, most unknowns of one) which it is; those that a channel has not are the one after the last.

    Its levers are (channels, planted samples, 3), how far each channel moves the toe.
    """

    def __init__(
        self,
        splines: Splines,
        hold: Hold,
        limb: int,
        own: Ints,
        levers: Array,
        unknowns: Unknowns | None = None,
    ) -> None:
        self.hold, self.limb, self.own = hold, limb, own
        self.planted = np.flatnonzero(hold.counts[:, limb])
        self.unknowns = unknowns or Unknowns.of(splines, own, moves_values=hold.moves_values)
        between = pieces(splines.is_key[:, own], hold.steps)
        rows, self.columns = self.unknowns.basis(between)
        self.near = rows / hold.allowed[own][:, None, None]
        self.levers = levers / hold.most
        moves = np.zeros((self.planted.size, 3, self.unknowns.count + 1))
        moves[:, :, self.columns] = np.einsum("ksx,kus->sxku", self.levers, rows[:, :, self.planted])
        self.moves = moves[:, :, :-1]
        self.toe_weight = np.ones(self.planted.size)
        self.near_weight = np.ones((len(hold.dense), own.size))

    def step(self, splines: Splines, played: Array, toe: Array) -> None:
        """Make one step, in place; the toe is known where it is planted, (planted samples, 3)."""
        away, off = self.errors(played, toe)
        self.weigh(away, off)
        square, right = self.normal(away, off)
        self.unknowns.add(splines, self.own, -np.asarray(np.linalg.solve(square, right)))

    def weigh(self, away: Array, off: Array) -> None:
        """Let what is far off count for more, in place."""
        self.toe_weight = _heavier(self.toe_weight, np.linalg.norm(away, axis=1))
        self.near_weight = _heavier(self.near_weight, np.abs(off))

    def errors(self, played: Array, toe: Array) -> tuple[Array, Array]:
        """Return how far off toe, (planted samples, 3), and curves are, (samples, channels). [of allowed]"""
        hold, own = self.hold, self.own
        away = (toe - hold.ground[self.planted, self.limb]) / hold.most
        return away, (played[:, own] - hold.dense[:, own]) / hold.allowed[own]

    def normal(self, away: Array, off: Array) -> tuple[Array, Array]:
        """Return the normal equations of one step, (unknowns, unknowns) and (unknowns,)."""
        count = self.unknowns.count
        root = np.sqrt(self.toe_weight)
        moves = (root[:, None, None] * self.moves).reshape(3 * root.size, count)
        near = NEAR * self.near_weight.T[:, None] * self.near  # (channels, unknowns of each, samples)
        # Each unknown is of one channel, so that these stay beside each other; the last one is nobody's.
        square, right = np.zeros((count + 1, count + 1)), np.zeros(count + 1)
        square[self.columns[:, :, None], self.columns[:, None]] = near @ np.swapaxes(self.near, 1, 2)
        right[self.columns] = (near @ off.T[..., None])[..., 0]
        square, right = square[:count, :count], right[:count]
        square += RIDGE * np.eye(count) + moves.T @ moves
        right += moves.T @ (root[:, None] * away).ravel()
        return square, right


def _heavier(weight: Array, share: Array) -> Array:
    """Let what is near its limit, or beyond, count for more."""
    return np.asarray(np.minimum(weight * np.maximum(share / FAR, 1.0) ** 2, MOST_WEIGHT))
