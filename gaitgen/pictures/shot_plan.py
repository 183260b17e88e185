"""What is drawn of a shot: its clip, its way over the ground, what happens when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.motion.measure import time_s
from gaitgen.motion.motion import Motion
from gaitgen.pictures.terrain import Terrain

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Stretch:
    """What happens from one frame to another, from 1, and the speed at its end. [m/s]"""

    what: str
    first_frame: int
    last_frame: int
    speed_m_s: float


@dataclass(frozen=True)
class Spot:
    """Where something has to be, and what. [m]"""

    place_m: tuple[float, float]
    says: str


@dataclass(frozen=True, eq=False)
class Fence:
    """What is jumped: its outline from above, (4, 2), and its height. [m]"""

    corners_m: Array
    height_m: float

    @property
    def says(self) -> str:
        """Its height in words."""
        return f"{self.height_m:.2f} m high"


@dataclass(frozen=True, eq=False)
class ShotPlan:
    """A shot to be drawn.

    Attributes
    ----------
    clip
        The motion in the world.
    still
        The motion seen from the frame that goes along its way.
    terrain
        The ground under it.
    stretches
        What happens, in order.
    marks
        What has to be met on the way.
    fences
        What is jumped on the way.
    bare
        The ground without fences; None for that of the terrain.
    """

    clip: Motion
    still: Motion
    terrain: Terrain
    stretches: tuple[Stretch, ...]
    marks: tuple[Spot, ...] = ()
    fences: tuple[Fence, ...] = ()
    bare: Ground | None = None

    @property
    def ground(self) -> Ground:
        """The ground that lines of equal height are of."""
        return self.terrain.ground if self.bare is None else self.bare

    @property
    def way_m(self) -> Array:
        """(frames, 3) place of the body on the ground. [m]"""
        return self.terrain.place_m

    @cached_property
    def speed_m_s(self) -> Array:
        """(frames,) speed along the way. [m/s]"""
        return np.gradient(self.terrain.gone_m) * self.clip.frame_rate_hz

    @cached_property
    def prints(self) -> npt.NDArray[np.int64]:
        """Numbers of the stances of which at least a part is inside the clip."""
        steps, last_s = self.clip.steps, float(time_s(self.clip)[-1])
        return np.flatnonzero((steps.touchdown_s <= last_s) & (steps.liftoff_s >= 0.0))

    def stretch_at(self, row: int) -> Stretch:
        """Return what happens in a frame, from 0."""
        return next((each for each in self.stretches if row + 1 < each.last_frame), self.stretches[-1])

    @property
    def climb_m(self) -> float:
        """From the lowest to the highest place of the way. [m]"""
        return float(np.ptp(self.way_m[:, 2]))


def distant(places: Sequence[float] | Array, least: float) -> list[int]:
    """Choose from places in order those that are at least some distance from the one chosen before."""
    chosen: list[int] = []
    for k, place in enumerate(places):
        if not chosen or place - places[chosen[-1]] >= least:
            chosen.append(k)
    return chosen
