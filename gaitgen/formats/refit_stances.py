"""Keys of a clip without a period, fitted stance by stance so that planted toes hold.

Every stance is solved for itself: its contact has a tangent of its own, so nothing goes over from one to the
next. Where its keys are too few, more of its leg are taken, half-way between those that are there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.formats.refit_keys import ROUNDS, Hold, Leg
from gaitgen.formats.splines import Splines, Unknowns
from gaitgen.formats.stances import Stance, rows_of_feet
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import Pieces, pieces
from gaitgen.motion.key_landing import Kinks
from gaitgen.motion.keys import Keys
from gaitgen.motion.toes import ToeFinder

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

ROWS_AT_ONCE = 256
MOST_HALVINGS = 3  # keys are seldom more than eight rows apart in a stance
SWING_HALVINGS = 2  # from so many on, the swing after it gets a key more too; sooner is worse, measured
# How much farther than keys may, curves with a key on every row may go between rows; and the share of the
# drift allowed from which on they are looked at.
FREER, OFTEN = 4.0, 0.3
HELD = 0.95  # of what is allowed: where all toes have been nearer, no more rounds are made


@dataclass(frozen=True, eq=False)
class Fitted:
    """Keys that were fitted, and how far toes are off in each stance, (stances,). [unit of the toes]"""

    keys: Keys
    drift: Array


def refit_stances(
    keys: Keys, hold: Hold, stances: tuple[Stance, ...], kinks: Kinks, levers: list[Array]
) -> Fitted:
    """Fit the keys of legs together, stance by stance, and take more of them where toes do not hold.

    Parameters
    ----------
    keys
        Of the whole clip, with those that the stances need.
    hold
        What is to be held in the whole clip.
    stances, kinks
        Of the clip.
    levers
        As `levers_of` found them.
    """
    shape, row = hold.table.shape, keys.frame - 1
    splines = Splines(np.zeros(shape, dtype=np.bool_), *(np.zeros(shape) for _ in "vab"))
    splines.is_key[row, keys.channel] = True
    splines.value[row, keys.channel] = keys.value
    splines.after[row, keys.channel], splines.before[row, keys.channel] = keys.tangent_out, keys.tangent_in
    work = _Work(splines, hold, stances, kinks, levers, np.concatenate(hold.legs), keys.played(hold.steps))
    best = work.drift()
    for halvings in range(MOST_HALVINGS + 1):
        open_ = [k for k in range(len(stances)) if best[k] > hold.most]
        if not open_:
            break
        best = work.fit(open_, halvings)
    return Fitted(work.keys(keys), best)


def settle_kinks(
    hold: Hold, stances: tuple[Stance, ...], kinks: Kinks, levers: list[Array]
) -> tuple[Hold, Kinks]:
    """Find tangents with which toes hold between frames too, where every row has a key.

    Where legs are quick, as in runs, those estimated from a few frames take toes centimetres off their way.
    """
    every = np.ones(hold.table.shape, dtype=np.bool_)
    splines = Splines(every, hold.table.copy(), kinks.after.copy(), kinks.before.copy())
    free = replace(hold, allowed=FREER * hold.allowed, moves_values=False)
    work = _Work(splines, free, stances, kinks, levers, np.concatenate(hold.legs), hold.dense.copy())
    open_ = np.flatnonzero(work.drift() > OFTEN * hold.most).tolist()
    if not open_:
        return hold, kinks
    work.fit(open_, 0)
    return (
        replace(hold, dense=work.played.copy()),
        replace(kinks, after=splines.after.copy(), before=splines.before.copy()),
    )


def levers_of(played: Array, legs: list[Ints], feet: ToeFinder) -> list[Array]:
    """Find how far each channel of each leg moves its toe, (channels, samples, 3). [toes over a channel]"""
    found = []
    for start in range(0, len(played), ROWS_AT_ONCE):  # what is tried of a long clip would fill the memory
        rows = played[start : start + ROWS_AT_ONCE]
        found.append(feet.each_toe_and_slopes(np.broadcast_to(rows, (len(LIMBS), *rows.shape)), legs)[1])
    return [np.concatenate(of_leg, axis=1) for of_leg in zip(*found, strict=True)]


@dataclass
class _Work:
    """Splines of a whole clip that are being fitted."""

    splines: Splines
    hold: Hold
    stances: tuple[Stance, ...]
    kinks: Kinks
    levers: list[Array]
    channels: Ints  # of all legs
    played: Array
    between: Pieces | None = None  # what is between the keys of legs, as long as these stay on their rows

    def replay(self) -> None:
        """Play the legs anew."""
        own = self.channels
        self.played = self.played.copy()  # who looks for toes in it may have locked it
        if self.between is None:
            self.between = pieces(self.splines.is_key[:, own], self.hold.steps)
        self.played[:, own] = self.splines.played_of(own, self.between)

    def drift(self) -> Array:
        """How far the toes are off in each stance, (stances,)."""
        hold = self.hold
        off = np.linalg.norm(hold.feet.toes(self.played) - hold.ground, axis=2)
        return np.array(
            [off[s.first * hold.steps : s.last * hold.steps + 1, s.limb].max() for s in self.stances]
        )

    def halve(self, stance: Stance, times: int) -> None:
        """Put keys half-way between those of a stance, some times over.

        All its keys are on their curves then, with the curves' own slopes.
        """
        splines, table = self.splines, self.hold.table
        self.between = None
        if times >= SWING_HALVINGS:
            self.halve_swing(stance)
        own, first, last = self.hold.legs[stance.limb], stance.first, stance.last
        for channel in own:
            held = np.flatnonzero(splines.is_key[first : last + 1, channel])
            for _ in range(times):
                held = np.unique(np.concatenate([held, (held[:-1] + held[1:]) // 2]))
            rows = first + held
            splines.is_key[rows, channel] = True
            splines.value[rows, channel] = table[rows, channel]
            inner = rows[stance.is_parted : rows.size - stance.goes_on]
            splines.after[inner, channel] = self.kinks.after[inner, channel]
            inner = inner[stance.is_contact :]  # the slope before the contact is that of the swing
            splines.before[inner, channel] = self.kinks.before[inner, channel]

    def halve_swing(self, stance: Stance) -> None:
        """Put a key half-way from the end of a stance to the next one of each channel, on its spline.

        A long swing that is just near enough is not any more if the slope it begins with changes.
        """
        own, last = self.hold.legs[stance.limb], stance.last
        ahead = self.splines.is_key[last + 1 : self.end(stance) + 2, own]  # up to the next contact
        if not ahead.size:
            return
        gap = np.where(ahead.any(axis=0), ahead.argmax(axis=0) + 1, 0)
        own, gap, part = own[gap > 1], gap[gap > 1], self.splines
        row, after, t = last + gap // 2, last + gap, (gap // 2) / gap
        rise = (part.value[after, own] - part.value[last, own]) / gap
        slope = 6.0 * t * (1.0 - t) * rise + (1.0 - t) * (1.0 - 3.0 * t) * part.after[last, own]
        slope += t * (3.0 * t - 2.0) * part.before[after, own]
        part.is_key[row, own], part.value[row, own] = True, self.played[row * self.hold.steps, own]
        part.after[row, own] = part.before[row, own] = slope

    def fit(self, numbers: list[int], halvings: int) -> Array:
        """Fit some stances, and keep the best round of each that is better; return the drift of all."""
        hold, open_ = self.hold, [self.stances[k] for k in numbers]
        least, kept = self.drift()[numbers] / hold.most, [self.copy(stance) for stance in open_]
        spans = [self.span(stance) for stance in open_]  # halved swings are looked at as far as before
        if halvings:
            for stance in open_:
                self.halve(stance, halvings)
            self.replay()
        legs = [self.leg(stance, span) for stance, span in zip(open_, spans, strict=True)]
        rows, starts = rows_of_feet(open_, spans, hold.steps)
        here = [
            slice(start, start + (last - first) * hold.steps + 1)
            for start, (first, last) in zip(starts, spans, strict=True)
        ]
        for number in range(ROUNDS + 1):
            played = self.played[rows]
            toes = hold.feet.each_toe(played)
            own = [toes[place, leg.limb][leg.planted] for place, leg in zip(here, legs, strict=True)]
            for k, leg in enumerate(legs):
                curves = played[leg.limb, here[k]]
                share = leg.hold.worst(leg.own, leg.limb, leg.planted, curves, own[k])
                if share < least[k]:
                    least[k], kept[k] = share, self.copy(open_[k])
            if number == ROUNDS or np.all(least < HELD):
                break
            for k, leg in enumerate(legs):
                leg.step(self.part(*spans[k]), played[leg.limb, here[k]], own[k])
            self.replay()
        for stance, copy in zip(open_, kept, strict=True):
            self.restore(stance, copy)
        self.replay()
        return self.drift()

    def end(self, stance: Stance) -> int:
        """Last row before the next stance of the limb; that of the stance itself if it goes on."""
        if stance.goes_on:
            return stance.last
        later = [s.first for s in self.stances if s.limb == stance.limb and s.first > stance.last]
        return min(later, default=len(self.hold.table)) - 1

    def copy(self, stance: Stance) -> Splines:
        """Copy all that `fit` may change for a stance."""
        part = self.part(stance.first, self.end(stance))
        own = self.hold.legs[stance.limb]
        return Splines(part.is_key[:, own], part.value[:, own], part.after[:, own], part.before[:, own])

    def restore(self, stance: Stance, copy: Splines) -> None:
        """Put back what was copied."""
        part, own = self.part(stance.first, self.end(stance)), self.hold.legs[stance.limb]
        if (part.is_key[:, own] != copy.is_key).any():
            self.between = None
        part.is_key[:, own], part.value[:, own] = copy.is_key, copy.value
        part.after[:, own], part.before[:, own] = copy.after, copy.before

    def span(self, stance: Stance) -> tuple[int, int]:
        """Rows that the keys of a stance have a say in: to the next key of each channel after it."""
        if stance.goes_on:
            return stance.first, stance.last
        later = self.splines.is_key[stance.last + 1 :, self.hold.legs[stance.limb]]
        if not later.size:
            return stance.first, stance.last
        return stance.first, stance.last + 1 + int(later.argmax(axis=0).max())

    def part(self, first: int, last: int) -> Splines:
        """Return the splines of some rows, which change with those of the clip."""
        s, rows = self.splines, slice(first, last + 1)
        return Splines(s.is_key[rows], s.value[rows], s.after[rows], s.before[rows])

    def leg(self, stance: Stance, span: tuple[int, int]) -> Leg:
        """Set up what is solved for in one stance."""
        hold, (first, last) = self.hold, span
        samples = slice(first * hold.steps, last * hold.steps + 1)
        counts = np.zeros_like(hold.counts[samples])
        counts[: (stance.last - first) * hold.steps + 1, stance.limb] = True
        here = replace(
            hold,
            table=hold.table[first : last + 1],
            dense=hold.dense[samples],
            ground=hold.ground[samples],
            counts=counts,
        )
        own = hold.legs[stance.limb]
        part = self.part(first, last)
        part = replace(part, is_key=part.is_key.copy())
        part.is_key[-1] = True  # pieces end there
        unknowns = _unknowns(
            self.splines.is_key[first : last + 1, own], stance, moves_values=hold.moves_values
        )
        levers = self.levers[stance.limb][:, samples][:, here.counts[:, stance.limb]]
        return Leg(part, here, stance.limb, own, levers, unknowns)

    def keys(self, keys: Keys) -> Keys:
        """Write the splines as keys, channel after channel."""
        splines = self.splines
        channel, row = np.nonzero(splines.is_key.T)
        made = replace(
            keys,
            channel=channel.astype(np.int64),
            frame=row.astype(np.int64) + 1,
            value=splines.value[row, channel],
            tangent_in=splines.before[row, channel],
            tangent_out=splines.after[row, channel],
        )
        return replace(made, deviation=np.abs(made.played() - self.hold.table).max(axis=0))


def _unknowns(is_key: Bools, stance: Stance, *, moves_values: bool) -> Unknowns:
    """Give numbers to what may change in a stance: slopes of keys, and values of those between its ends."""
    rows = np.arange(len(is_key))[:, None]
    length = stance.last - stance.first
    slopes = is_key & (rows <= length)
    slopes[0] &= not stance.is_parted
    slopes[length] &= not stance.goes_on
    values = is_key & (rows > 0) & (rows < length) & moves_values
    numbers, count = [], 0
    for wanted in (values, slopes):
        number = np.full(is_key.shape, -1)
        number[wanted] = count + np.arange(int(wanted.sum()))
        count += int(wanted.sum())
        numbers.append(number)
    value, after = numbers
    before = after.copy()
    if stance.is_contact:  # the slope before it is that of the swing
        before[0] = -1
    return Unknowns(count, value, after, before)
