"""Splines of many channels by their keys, and the numbers of these that may change."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.motion.hermite import Pieces

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

BROKEN = 1e-9  # tangents of a key that differ by more are two


@dataclass
class Splines:
    """Splines by their keys, (rows, channels) each."""

    is_key: Bools
    value: Array
    after: Array
    before: Array

    def copy(self) -> Splines:
        """Return them as they are now."""
        return Splines(self.is_key.copy(), self.value.copy(), self.after.copy(), self.before.copy())

    def take(self, others: Splines, own: Ints) -> None:
        """Take the keys of some channels from others, in place."""
        for name in ("is_key", "value", "after", "before"):
            getattr(self, name)[:, own] = getattr(others, name)[:, own]

    def played_of(self, own: Ints, between: Pieces) -> Array:
        """Play some that have two keys or more, of which is known what is between these."""
        slopes = between.of_slopes(self.after[:, own], self.before[:, own])
        return between.without_slopes(self.value[:, own]) + slopes


@dataclass(frozen=True, eq=False)
class Unknowns:
    """Which unknown is the value, and the slope after and before, of the key on a row: (rows, channels).

    In a stride the last row has those of the first; -1 where there is none.
    """

    count: int
    value: Ints
    after: Ints
    before: Ints

    @classmethod
    def of(cls, splines: Splines, own: Ints, *, moves_values: bool) -> Unknowns:
        """Give numbers to what may change of some channels of a stride."""
        is_key = splines.is_key[:-1, own]
        is_broken = is_key & (np.abs(splines.after - splines.before)[:-1, own] > BROKEN)
        numbers, count = [], 0
        for wanted in (is_key & moves_values, is_key, is_broken):
            number = np.full(is_key.shape, -1)
            number[wanted] = count + np.arange(int(wanted.sum()))
            count += int(wanted.sum())
            numbers.append(np.concatenate([number, number[:1]]))
        value, after, second = numbers
        return cls(count, value, after, np.where(second >= 0, second, after))

    def basis(self, between: Pieces) -> tuple[Array, Ints]:
        """Return what the unknowns of each channel give its samples, and which they are.

        (channels, most unknowns of one, samples) and (channels, most unknowns of one); what a channel has not
        is the one after the last.
        """
        channels = self.value.shape[1]
        own = np.full(self.count + 1, channels)  # the channel of each; the last one is nobody's
        for number in (self.value, self.after, self.before):
            own[number] = np.where(number >= 0, np.arange(channels), channels)
        order = np.argsort(own[:-1], kind="stable")
        counts = np.bincount(own[:-1], minlength=channels)
        most = int(counts.max(initial=0))
        place = np.full(self.count + 1, most)  # of each among those of its channel
        place[order] = np.arange(self.count) - np.repeat(np.cumsum(counts) - counts, counts)
        columns = np.full((channels, most), self.count)
        columns[own[order], place[order]] = order
        rows = np.zeros((channels, most + 1, len(between.before)))
        channel, sample = np.arange(channels), np.arange(len(between.before))[:, None]
        for number, row, weight in (
            (self.value, between.before, between.h0),
            (self.value, between.after, between.h1),
            (self.after, between.before, between.u),
            (self.before, between.after, between.v),
        ):
            rows[channel, place[number[row, channel]], sample] += weight
        return rows[:, :most], columns

    def add(self, splines: Splines, own: Ints, step: Array) -> None:
        """Change the splines by a step, in place."""
        padded = np.append(step, 0.0)  # -1 takes the last
        splines.value[:, own] += padded[self.value]
        splines.after[:, own] += padded[self.after]
        splines.before[:, own] += padded[self.before]
