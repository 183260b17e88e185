"""The whole shot as a timeline: its parts, rhythm and pace, and every stance on whole frames."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.ground import Ground
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.course.sole import Soles, footholds
from gaitgen.course.spin import Spin
from gaitgen.course.steps import Steps
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.jump import LaidLeap
from gaitgen.shot.laid_stances import LaidStances
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import Going

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SOLVED_STRIDES, SOLVED_S = 2.1, 1.2
STANDS_M_S = 0.05  # slower than this nothing is left to be slowed


@dataclass(frozen=True, eq=False)
class Timeline:
    """When and how a shot goes.

    Attributes
    ----------
    frame_rate_hz, per_frame
        Frames per second, and samples per frame. [Hz]
    frames
        Length. [frames]
    frame
        (samples,) moments, from before the first frame (0) until after the last. [frames]
    pieces
        Its parts, in frames; cycles by their place in ``cycles``.
    cycles
        Every cycle of the shot in order.
    going
        Rhythm and speed at the samples.
    level
        The speed as a pace along the path if that were level.
    wide
        As it is on its ground, if no bend were hard.
    pace
        As it is.
    stances
        Every stance.
    spins
        Turns on the spot.
    leaps
        Jumps.
    """

    frame_rate_hz: float
    per_frame: int
    frames: int
    frame: Array
    pieces: tuple[Piece, ...]
    cycles: tuple[Cycle, ...]
    going: Going
    level: Pace
    wide: Pace
    pace: Pace
    stances: LaidStances
    spins: tuple[Spin, ...] = ()
    leaps: tuple[LaidLeap, ...] = ()

    def kept_share(self, frame: Array) -> Array:
        """Return how much of its speed on level ground is left at moments (...). [frames]"""
        if self.pace is self.level:
            return np.ones(np.shape(frame))
        moment_s = frame / self.frame_rate_hz
        level = self.level.distance_m(moment_s, 1)
        slowed = self.pace.distance_m(moment_s, 1)
        return np.asarray(np.where(level > STANDS_M_S, slowed / np.maximum(level, STANDS_M_S), 1.0))

    @property
    def longest_s(self) -> float:
        """The longest stride. [s]"""
        return max(cycle.frames for cycle in self.cycles) / self.frame_rate_hz

    @property
    def solved(self) -> tuple[int, int]:
        """First sample that is solved, and the one after the last."""
        before = int(np.ceil(max(SOLVED_S, SOLVED_STRIDES * self.longest_s) * self.frame_rate_hz))
        zero = int(np.argmin(np.abs(self.frame)))
        whole = self.frames + 2 * before
        first = zero - before * self.per_frame
        return first, first + whole * self.per_frame + 1

    @cached_property
    def grid(self) -> Grid:
        """The samples that are solved."""
        first, after = self.solved
        step_s = 1.0 / (self.per_frame * self.frame_rate_hz)
        return Grid(float(self.frame[first]) / self.frame_rate_hz, step_s, after - first, is_periodic=False)

    @property
    def solved_share(self) -> Array:
        """(samples, cycles) how far each cycle counts, at the samples that are solved."""
        first, after = self.solved
        return self.going.share[first:after]

    def steps(self, path: Path, ground: Ground) -> Steps:
        """Lay the stances beside a path on the ground."""
        laid = self.stances
        place, heading = path.beside(laid.along_m, laid.aside_m, laid.when / self.frame_rate_hz)
        height, normal = self._on(ground, place, heading)
        return Steps(
            limb=laid.limb.copy(),
            touchdown_s=laid.touchdown / self.frame_rate_hz,
            liftoff_s=laid.liftoff / self.frame_rate_hz,
            place_m=np.concatenate([place, height[:, None]], axis=1),
            heading_rad=heading,
            normal=normal,
        )

    def _on(self, ground: Ground, place_m: Array, heading_rad: Array) -> tuple[Array, Array]:
        """Lay every sole on the ground: height of its toe, and its normal.

        Where there is none before the clip begins or after it has ended, the ground goes on level.

        Raises
        ------
        CourseError
            If there is none under a foot in the clip.
        """
        if ground.is_even:
            return ground.height_m(place_m), np.array(ground.normal(place_m))
        laid = self.stances
        found = footholds(ground, place_m, heading_rad, soles_of(self.cycles[0].animal, laid.limb))
        known = np.isfinite(found.height_m)
        seen = (laid.liftoff >= 0.0) & (laid.touchdown <= self.frames)
        if (seen & ~known).any():
            raise ground.hole(place_m[seen & ~known][0])
        height, normal = found.height_m.copy(), found.normal.copy()
        rows, whole = np.flatnonzero(~known), np.flatnonzero(known)
        if rows.size:
            apart = np.abs(laid.along_m[rows, None] - laid.along_m[whole])
            height[rows], normal[rows] = height[whole[apart.argmin(axis=1)]], [0.0, 0.0, 1.0]
        return height, normal


@dataclass(frozen=True)
class Pin:
    """A foot that stands on a spot: which, at which frame from 0, where (x, y) [m], and who says so."""

    limb: int
    frame: int
    place_m: tuple[float, float]
    where: str


def soles_of(animal: Animal, limb: Ints) -> Soles:
    """Return the soles of stances, by their limbs (stances,)."""
    toe, heel, half = (
        limb_numbers(animal, f"foot.{name}")[limb] for name in ("toe_m", "heel_m", "half_width_m")
    )
    return Soles(toe, heel, half)


def easing(frame: Array, span: tuple[float, float]) -> Array:
    """Rise from 0 to 1 over a span. [frames]"""
    return ramp((frame - span[0]) / max(span[1] - span[0], 1e-9))
