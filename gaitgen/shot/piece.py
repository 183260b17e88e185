"""A part of a section or a shot: from which frame to which, and what of its cycles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.shot.own_time import Lingers, own_frame

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Piece:
    """A part of a section, in frames from its start.

    Attributes
    ----------
    kind
        ``start``, ``steady``, ``change``, ``style`` (a change of manner in one rhythm), ``jump``, ``halt`` or
        ``stand``.
    first, after
        First frame, and the one after the last. [frames]
    cycles
        Numbers of the cycles before and after it.
    lingers
        Strides that take longer in it than in its cycle.
    """

    kind: str
    first: int
    after: int
    cycles: tuple[int, int]
    lingers: Lingers = ()

    def own_frame(self, frame: Array) -> Array:
        """Return how far its cycles have gone at moments (...). [frames]"""
        return own_frame(frame - self.first, self.lingers)

    def are_longer(self, first: Array, after: Array) -> npt.NDArray[np.bool_]:
        """Tell whether strides take longer at any moment between two of the shot, (...) each. [frames]"""
        found = np.zeros(np.shape(first), dtype=np.bool_)
        for each in self.lingers:
            found |= (self.first + each.first < after) & (self.first + each.after > first)
        return found
