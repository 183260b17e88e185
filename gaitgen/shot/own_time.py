"""Strides of a passage that take longer for a while, or less long: its frames, and those of its cycle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.curves import even_travel, hill

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Linger:
    """Some strides of a passage that take longer than those of its cycle, in whole frames.

    Attributes
    ----------
    first, after
        From when until when, in frames from the start of the passage.
    longer
        By how many of them they take longer; negative where they are quicker. [frames]
    eases
        Over how many it comes, and goes. [frames]
    """

    first: float
    after: float
    longer: int
    eases: float

    @property
    def ease(self) -> float:
        """Share of its time over which it comes, and goes."""
        return min(0.5, self.eases / (self.after - self.first))

    def behind(self, frame: Array) -> Array:
        """How far its cycle is behind for it at moments (...). [frames]"""
        share = (frame - self.first) / (self.after - self.first)
        return np.asarray(self.longer * even_travel(share, self.ease, self.ease))

    def slower(self, frame: Array) -> Array:
        """By which share its cycle goes more slowly for it at moments (...)."""
        share, ease = (frame - self.first) / (self.after - self.first), self.ease
        even = self.longer / (self.after - self.first) / (1.0 - ease)
        return np.asarray(even * hill(share, 0.0, ease, 1.0 - ease, 1.0))


Lingers = tuple[Linger, ...]


def longer_frames(lingers: Lingers) -> int:
    """By how much a passage is longer in all. [frames]"""
    return sum(each.longer for each in lingers)


def own_frame(frame: Array, lingers: Lingers) -> Array:
    """Return where in its cycles a passage is at moments (...) from its start. [frames]"""
    own = np.asarray(frame, dtype=np.float64)
    for each in lingers:
        own = own - each.behind(frame)
    return own


def own_rate(frame: Array, lingers: Lingers) -> Array:
    """Return how quickly a passage goes through its cycles at moments (...), 1 as they are."""
    rate = np.ones(np.shape(frame))
    for each in lingers:
        rate = rate - each.slower(frame)
    return rate
