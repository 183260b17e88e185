"""The steps: which foot is down, when, where, facing where, on what slope; and whether they repeat."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import Frames
from gaitgen.errors import GaitError
from gaitgen.numerics.curves import within_one

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

TIME_TOLERANCE_S = 1e-9


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


@dataclass(frozen=True, eq=False)
class StanceState:
    """For each moment and foot, the step it is in: the last landing and what follows it.

    Attributes
    ----------
    planted
        (samples, 4) whether the foot is down; both ends of a stance count.
    stance
        (samples, 4) number of the stance, in the order of the steps that do not repeat.
    touchdown_s, liftoff_s, next_touchdown_s
        (samples, 4) last landing, the lift-off after it, the landing after that. [s]
    place_m, next_place_m
        (samples, 4, 3) where it landed, and where it will. [m]
    heading_rad, next_heading_rad
        (samples, 4) direction of the foot there. [rad]
    normal, next_normal
        (samples, 4, 3) normal of the ground there.
    time_s
        (samples, 1) the moments. [s]
    """

    planted: Bools
    stance: Ints
    touchdown_s: Array
    liftoff_s: Array
    next_touchdown_s: Array
    place_m: Array
    next_place_m: Array
    heading_rad: Array
    next_heading_rad: Array
    normal: Array
    next_normal: Array
    time_s: Array

    @cached_property
    def stance_share(self) -> Array:
        """(samples, 4) 0 at landing, 1 at lift-off and while the foot is in the air."""
        return within_one((self.time_s - self.touchdown_s) / (self.liftoff_s - self.touchdown_s))

    @cached_property
    def swing_share(self) -> Array:
        """(samples, 4) 0 while the foot is down and at lift-off, 1 at the next landing."""
        return within_one((self.time_s - self.liftoff_s) / (self.next_touchdown_s - self.liftoff_s))

    def farther(self, ahead_m: Array) -> StanceState:
        """Return the same steps, as a body on a straight path sees them, each foot (4,) farther ahead. [m]"""
        moved = along(ahead_m)
        return replace(self, place_m=self.place_m + moved, next_place_m=self.next_place_m + moved)

    def seen(self, frames: Frames) -> StanceState:
        """Return the same steps as the body sees them from the frame that goes along with it."""
        turned = frames.heading_rad[:, None]
        return StanceState(
            planted=self.planted,
            stance=self.stance,
            touchdown_s=self.touchdown_s,
            liftoff_s=self.liftoff_s,
            next_touchdown_s=self.next_touchdown_s,
            place_m=frames.seen(self.place_m),
            next_place_m=frames.seen(self.next_place_m),
            heading_rad=self.heading_rad - turned,
            next_heading_rad=self.next_heading_rad - turned,
            normal=frames.seen_direction(self.normal),
            next_normal=frames.seen_direction(self.next_normal),
            time_s=self.time_s,
        )


def along(ahead_m: Array) -> Array:
    """Point straight ahead, (...) to (..., 3). [m]"""
    return np.asarray(ahead_m[..., None] * [1.0, 0.0, 0.0])


def stance_state(steps: Steps, time_s: Array) -> StanceState:
    """Find the step that each foot is in at each moment, (samples,) to (samples, 4) in LIMBS order. [s]

    Steps that do not repeat are taken to stand still before their first and after their last: a foot whose
    last stance has begun stays down.

    Raises
    ------
    GaitError
        If a foot has no stance at or before the first moment.
    """
    every = steps.unrolled(float(time_s.min()), float(time_s.max()))
    here = np.empty((time_s.size, len(LIMBS)), dtype=np.int64)
    after = np.empty_like(here)
    landed = time_s + TIME_TOLERANCE_S
    for limb, (mine, name) in enumerate(zip(every.of_limb, LIMBS, strict=True)):
        row = every.touchdown_s[mine].searchsorted(landed, side="right") - 1
        if row.min() < 0:
            raise GaitError(
                f"the timeline of {name} does not cover the clip; "
                "add a stance before its start and after its end"
            )
        here[:, limb], after[:, limb] = mine[row], mine[np.minimum(row + 1, mine.size - 1)]
    moments = time_s[:, None]
    liftoff = every.liftoff_s[here]
    is_last = here == after
    planted = moments <= liftoff + TIME_TOLERANCE_S
    if (is_last & ~planted).any():
        k = int(np.argmax((is_last & ~planted).any(axis=0)))
        raise GaitError(
            f"the timeline of {LIMBS[k]} does not cover the clip; "
            "add a stance before its start and after its end"
        )
    following = np.where(is_last, liftoff + 1.0, every.touchdown_s[after])
    return StanceState(
        planted=planted,
        stance=here,
        touchdown_s=every.touchdown_s[here],
        liftoff_s=liftoff,
        next_touchdown_s=following,
        place_m=every.place_m[here],
        next_place_m=every.place_m[after],
        heading_rad=every.heading_rad[here],
        next_heading_rad=every.heading_rad[after],
        normal=every.normal[here],
        next_normal=every.normal[after],
        time_s=moments,
    )


def pair_hand_over(state: StanceState) -> Array:
    """Share each pair's load between its two feet: (samples, 4) in LIMBS order, each pair sums to 1.

    The weight of a foot vanishes, with its slope, at landing and lift-off, and is 1 while
    the other foot of the pair is in the air. All zero for a pair that is in the air.
    """
    share = state.stance_share
    raw = np.where(state.planted, (4.0 * share * (1.0 - share)) ** 2, 0.0)  # (samples, 4)
    pairs = raw.reshape(-1, 2, 2)
    total = pairs.sum(axis=2, keepdims=True)
    down = state.planted.reshape(-1, 2, 2)
    alone = down / np.maximum(down.sum(axis=2, keepdims=True), 1)
    weights: Array = np.where(total > 0.0, pairs / np.where(total > 0.0, total, 1.0), alone)
    return weights.reshape(-1, 4)
