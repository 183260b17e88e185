"""What knows where rows of channels put the toes of four feet."""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

NUDGE = 0.01  # of a channel, to see where the toe goes. [unit of the channel]


class ToeFinder(Protocol):
    """Knows where rows of channels put the toes of four feet, in LIMBS order."""

    def toes(self, table: Array) -> Array:
        """Follow the toes through rows of channels, (rows, 4, 3)."""

    def each_toe(self, tables: Array) -> Array:
        """Follow each toe through rows of its own, (4, rows, channels) to (rows, 4, 3)."""

    def each_toe_and_slopes(self, tables: Array, own: list[Ints]) -> tuple[Array, list[Array]]:
        """Follow each toe through rows of its own, and find where channels of its leg take it.

        Parameters
        ----------
        tables
            (4, rows, channels)
        own
            Channels of each leg that turn a joint above its toe, one turn each.

        Returns
        -------
        toes
            (rows, 4, 3)
        slopes
            (channels of the leg, rows, 3) of each leg. [unit of the toes per unit of the channel]
        """

    def toes_and_levers(self, table: Array, is_near: Bools) -> tuple[Array, Array]:
        """Follow the toes, and find how far one unit of each channel can move those (rows, 4) that count.

        Returns
        -------
        toes
            (rows, 4, 3)
        levers
            (rows, channels) in the unit of the toes per unit of the channel.
        """


def slopes_by_trying(feet: ToeFinder, tables: Array, own: list[Ints]) -> tuple[Array, list[Array]]:
    """Find what `ToeFinder.each_toe_and_slopes` does, whatever the finder: channel after channel is moved."""
    legs, rows, channels = tables.shape
    tried = np.repeat(tables[:, None], 1 + max(each.size for each in own), axis=1)
    for leg, each in enumerate(own):
        tried[leg, np.arange(each.size) + 1, :, each] += NUDGE
    places = feet.each_toe(tried.reshape(legs, -1, channels)).reshape(-1, rows, legs, 3)
    slopes = (places[1:] - places[:1]) / NUDGE
    return places[0], [slopes[: each.size, :, leg] for leg, each in enumerate(own)]
