"""What knows where rows of channels put the toes of four feet."""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


class ToeFinder(Protocol):
    """Knows where rows of channels put the toes of four feet, in LIMBS order."""

    def toes(self, table: Array) -> Array:
        """Follow the toes through rows of channels, (rows, 4, 3)."""

    def each_toe(self, tables: Array) -> Array:
        """Follow each toe through rows of its own, (4, rows, channels) to (rows, 4, 3)."""

    def toes_and_levers(self, table: Array, is_near: Bools) -> tuple[Array, Array]:
        """Follow the toes, and find how far one unit of each channel can move those (rows, 4) that count.

        Returns
        -------
        toes
            (rows, 4, 3)
        levers
            (rows, channels) in the unit of the toes per unit of the channel.
        """
