"""Splines that have one slope before a contact and another after it, of cycles and of other clips."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from gaitgen.motion.key_fit import fit_keys

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Landing:
    """Tangents of a cycle where its feet land: a key there has one before and another after it.

    Attributes
    ----------
    row
        (channels,) row of the stride in which the foot of a channel lands; 0 where none does.
    after
        (channels,) tangent after it; nan where no foot lands. [unit per frame]
    own
        (rows, channels) the curves' own tangents elsewhere, and before the contact. [unit per frame]
    needed
        (channels,) another row of the stride that must have a key, such as the lift-off; -1 for none.
    """

    row: Ints
    after: Array
    own: Array
    needed: Ints | None = None


@dataclass(frozen=True, eq=False)
class Kinks:
    """Where curves of a clip without a period turn sharply, (rows, channels) each.

    Attributes
    ----------
    is_kink, is_held
        Where a key has one tangent before it and another after it; where a key has the curve's own tangents.
    needed
        Rows that must have a key, the kinks among them.
    after, before
        The curves' own tangents; they differ at kinks alone. [unit per frame]
    """

    is_kink: Bools
    is_held: Bools
    needed: Bools
    after: Array
    before: Array

    def only(self, channels: Ints) -> Kinks:
        """Return some of the channels."""
        return Kinks(
            self.is_kink[:, channels],
            self.is_held[:, channels],
            self.needed[:, channels],
            self.after[:, channels],
            self.before[:, channels],
        )


@dataclass(frozen=True, eq=False)
class Asked:
    """What is asked of the splines of one stride, (rows, channels) each."""

    table: Array
    allowed: Array
    is_named: Bools
    held: Array
    freedom: float
    prices: Array | None

    def fitted(self, *, is_closed: bool, own: Array | None = None) -> tuple[Bools, Array]:
        """Choose the keys and their slopes."""
        return fit_keys(
            self.table,
            self.allowed,
            self.is_named,
            self.held,
            is_closed=is_closed,
            slope_freedom=self.freedom,
            own=own,
            prices=self.prices,
        )

    def rolled(self, row: Ints) -> Asked:
        """Begin each channel at a row of its own; the first one, of the loop, is named there."""
        stride = self.table.shape[0] - 1
        at = rolled_rows(stride, row)

        def moved(values: npt.NDArray[Any]) -> npt.NDArray[Any]:
            return np.take_along_axis(values, at, axis=0)

        is_named = moved(self.is_named)
        is_named[(-row) % stride, np.arange(row.size)] = True
        prices = None if self.prices is None else moved(self.prices)
        return Asked(moved(self.table), moved(self.allowed), is_named, moved(self.held), self.freedom, prices)


def rolled_rows(stride: int, row: Ints) -> Ints:
    """Order the rows of a stride so that each channel begins at its own, (rows, channels)."""
    at = (np.arange(stride + 1)[:, None] + row) % stride
    at[-1] = np.where(row == 0, stride, at[-1])
    return at


def kinked(asked: Asked, kinks: Kinks) -> tuple[Bools, Array, Array]:
    """Fit each channel with two slopes where it turns sharply.

    The slopes are fitted as those after the kinks; one before it is the curve's own, so the row before a kink
    has to be among those that are needed.

    Returns
    -------
    is_key, after, before
        (rows, channels): where keys are, and their slopes after and before them.
    """
    held = np.where(kinks.is_held, kinks.after, asked.held)
    is_named = asked.is_named | kinks.needed
    is_key, after = replace(asked, held=held, is_named=is_named).fitted(is_closed=False, own=kinks.after)
    return is_key, after, np.where(kinks.is_kink, kinks.before, after)


def landed(asked: Asked, landing: Landing) -> tuple[Bools, Array, Array]:
    """Fit each channel from one landing of its foot to the next, which has another slope before it.

    Returns
    -------
    is_key, after, before
        (rows, channels) of the stride: where keys are, and their slopes after and before them.
    """
    stride = asked.table.shape[0] - 1
    own = np.take_along_axis(landing.own, rolled_rows(stride, landing.row), axis=0)
    rolled = asked.rolled(landing.row)
    lands = ~np.isnan(landing.after)
    rolled.held[0] = np.where(lands, landing.after, rolled.held[0])
    rolled.held[-1] = np.where(lands, own[-1], rolled.held[-1])
    is_key, slopes = rolled.fitted(is_closed=True, own=own)
    back = (np.arange(stride + 1)[:, None] - landing.row) % stride  # (rows, channels)
    ends = np.where(back == 0, stride, back)
    after, before = (np.take_along_axis(slopes, at, axis=0) for at in (back, ends))
    is_key = np.take_along_axis(is_key, back, axis=0)
    return is_key, after, before
