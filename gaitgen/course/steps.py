"""The steps: which foot is down, when, where, facing where, on what slope; and whether they repeat."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.errors import GaitError

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Loop:
    """After which time the steps repeat, and where: turned about the origin, then shifted.

    Attributes
    ----------
    period_s
        Time of one stride. [s]
    turn_rad
        Turn to the left in one stride. [rad]
    shift_m
        (x, y, z) added after the turn. [m]
    """

    period_s: float
    turn_rad: float = 0.0
    shift_m: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def repeated(self, point_m: Array, turns: int) -> Array:
        """Carry points (..., 3) on by some strides. [m]"""
        moved = np.asarray(point_m, dtype=np.float64)
        shift = np.array(self.shift_m)
        rotation = _about_up(self.turn_rad)
        for _ in range(abs(turns)):
            moved = moved @ rotation.T + shift if turns > 0 else (moved - shift) @ rotation
        return moved


def _about_up(angle_rad: float) -> Array:
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Steps:
    """Every stance of every foot, on the ground.

    Attributes
    ----------
    limb
        (stances,) index into LIMBS.
    touchdown_s, liftoff_s
        (stances,) when the foot lands and leaves. [s]
    place_m
        (stances, 3) ground point of the toe. [m]
    heading_rad
        (stances,) direction the foot points, to the left of x. [rad]
    normal
        (stances, 3) unit normal of the ground there; straight up if not given.
    loop
        How the steps repeat; None for steps that do not.
    """

    limb: Ints
    touchdown_s: Array
    liftoff_s: Array
    place_m: Array
    heading_rad: Array
    normal: Array = field(default_factory=lambda: np.empty((0, 3)))
    loop: Loop | None = None

    def __post_init__(self) -> None:
        """Lock the arrays and refuse what is no timeline.

        Raises
        ------
        GaitError
            If a stance ends before it begins, or a foot lands before it has left the ground.
        """
        if self.place_m.shape[1] == 2:
            object.__setattr__(self, "place_m", np.pad(self.place_m, ((0, 0), (0, 1))))
        if self.normal.shape[0] == 0:
            object.__setattr__(self, "normal", np.tile([0.0, 0.0, 1.0], (self.limb.size, 1)))
        for array in (
            self.limb,
            self.touchdown_s,
            self.liftoff_s,
            self.place_m,
            self.heading_rad,
            self.normal,
        ):
            array.setflags(write=False)
        if (self.liftoff_s <= self.touchdown_s).any():
            k = int(np.argmax(self.liftoff_s <= self.touchdown_s))
            name = LIMBS[self.limb[k]]
            raise GaitError(f"a stance of {name} ends before it begins; give it a lift-off after its contact")
        for mine, name in zip(self.of_limb, LIMBS, strict=True):
            touchdown, liftoff = self.touchdown_s[mine], self.liftoff_s[mine]
            if touchdown.size == 0:
                raise GaitError(f"{name} has no stance; give every foot at least one")
            following = touchdown[1:]
            if self.loop is not None:
                following = np.append(following, touchdown[0] + self.loop.period_s)
            if (following <= liftoff[: following.size]).any():
                raise GaitError(f"{name} lands again before it has left the ground; shorten its stance")

    @property
    def period_s(self) -> float | None:
        """Time after which the steps repeat; None for steps that do not. [s]"""
        return None if self.loop is None else self.loop.period_s

    def farther(self, ahead_m: Array) -> Steps:
        """Return the same steps on a straight path along x, each foot (4,) farther ahead. [m]"""
        return replace(self, place_m=self.place_m + along(ahead_m[self.limb]))

    @property
    def travel_m_s(self) -> Array:
        """(2,) mean velocity of steps that repeat straight ahead; zero for others. [m/s]"""
        if self.loop is None:
            return np.zeros(2)
        return np.array(self.loop.shift_m[:2]) / self.loop.period_s

    def unrolled(self, start_s: float, end_s: float) -> Steps:
        """Repeat steps over whole periods around start to end, as ones that do not repeat."""
        if self.loop is None:
            return self
        period = self.loop.period_s
        first = int(np.floor((start_s - self.liftoff_s.max()) / period)) - 1
        last = int(np.ceil((end_s - self.touchdown_s.min()) / period)) + 1
        return _unrolled(self, self.loop, first, last)

    @cached_property
    def of_limb(self) -> tuple[Ints, ...]:
        """The stances of each limb, in LIMBS order."""
        return tuple(np.flatnonzero(self.limb == limb) for limb in range(len(LIMBS)))


@lru_cache(maxsize=16)
def _unrolled(steps: Steps, loop: Loop, first: int, last: int) -> Steps:
    """Repeat steps from one period to another, as ones that do not repeat."""
    period, turns = loop.period_s, np.arange(first, last + 1)
    limb = np.tile(steps.limb, turns.size)
    touchdown = (steps.touchdown_s + turns[:, None] * period).ravel()
    order = np.lexsort((limb, touchdown))
    if loop.turn_rad == 0.0:
        advance = turns[:, None, None] * np.array(loop.shift_m)
        place = (steps.place_m + advance).reshape(-1, 3)
        normal = np.tile(steps.normal, (turns.size, 1))
    else:
        place = np.concatenate([loop.repeated(steps.place_m, int(turn)) for turn in turns])
        normal = np.concatenate([steps.normal @ _about_up(t * loop.turn_rad).T for t in turns])
    heading = (steps.heading_rad + turns[:, None] * loop.turn_rad).ravel()
    return Steps(
        limb=limb[order],
        touchdown_s=touchdown[order],
        liftoff_s=(steps.liftoff_s + turns[:, None] * period).ravel()[order],
        place_m=place[order],
        heading_rad=heading[order],
        normal=normal[order],
    )


def along(ahead_m: Array) -> Array:
    """Point straight ahead, (...) to (..., 3). [m]"""
    return np.asarray(ahead_m[..., None] * [1.0, 0.0, 0.0])
