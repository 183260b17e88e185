"""The timeline of stances: which foot is down, when, and where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

TIME_TOLERANCE_S = 1e-9


@dataclass(frozen=True, eq=False)
class Steps:
    """Every stance of every foot. Travelling: x forward and y left on the ground.

    Attributes
    ----------
    limb
        (stances,) index into LIMBS.
    touchdown_s, liftoff_s
        (stances,) when the foot lands and leaves. [s]
    place_m
        (stances, 2) ground point of the toe. [m]
    heading_rad
        (stances,) direction the foot points, to the left of x. [rad]
    period_s
        Time after which the timeline repeats; None for a timeline that does not. [s]
    travel_m_s
        (2,) mean velocity of the body. [m/s]
    """

    limb: Ints
    touchdown_s: Array
    liftoff_s: Array
    place_m: Array
    heading_rad: Array
    period_s: float | None
    travel_m_s: Array

    def __post_init__(self) -> None:
        """Lock the arrays and refuse what is no timeline.

        Raises
        ------
        GaitError
            If a stance ends before it begins, or a foot lands before it has left the ground.
        """
        for array in (self.limb, self.touchdown_s, self.liftoff_s, self.place_m, self.heading_rad):
            array.setflags(write=False)
        self.travel_m_s.setflags(write=False)
        if np.any(self.liftoff_s <= self.touchdown_s):
            k = int(np.argmax(self.liftoff_s <= self.touchdown_s))
            name = LIMBS[self.limb[k]]
            raise GaitError(f"a stance of {name} ends before it begins; give it a lift-off after its contact")
        for limb, name in enumerate(LIMBS):
            touchdown, liftoff = self.touchdown_s[self.limb == limb], self.liftoff_s[self.limb == limb]
            if touchdown.size == 0:
                raise GaitError(f"{name} has no stance; give every foot at least one")
            following = touchdown[1:]
            if self.period_s is not None:
                following = np.append(following, touchdown[0] + self.period_s)
            if np.any(following <= liftoff[: following.size]):
                raise GaitError(f"{name} lands again before it has left the ground; shorten its stance")

    def unrolled(self, start_s: float, end_s: float) -> Steps:
        """Repeat a periodic timeline over whole periods around start to end, as one without a period."""
        if self.period_s is None:
            return self
        first = int(np.floor((start_s - self.liftoff_s.max()) / self.period_s)) - 1
        last = int(np.ceil((end_s - self.touchdown_s.min()) / self.period_s)) + 1
        turns = np.arange(first, last + 1, dtype=np.float64)[:, None]  # (turns, 1)
        shift = turns * self.period_s
        advance = turns[:, :, None] * (self.travel_m_s * self.period_s)  # (turns, 1, 2)
        limb = np.tile(self.limb, turns.size)
        touchdown = (self.touchdown_s + shift).ravel()
        order = np.lexsort((limb, touchdown))
        return Steps(
            limb=limb[order],
            touchdown_s=touchdown[order],
            liftoff_s=(self.liftoff_s + shift).ravel()[order],
            place_m=(self.place_m + advance).reshape(-1, 2)[order],
            heading_rad=np.tile(self.heading_rad, turns.size)[order],
            period_s=None,
            travel_m_s=self.travel_m_s.copy(),
        )


@dataclass(frozen=True, eq=False)
class StanceState:
    """For each moment and foot, the step it is in: the last landing and what follows it.

    Attributes
    ----------
    planted
        (frames, 4) whether the foot is down; both ends of a stance count.
    touchdown_s, liftoff_s, next_touchdown_s
        (frames, 4) last landing, the lift-off after it, the landing after that. [s]
    place_m, next_place_m
        (frames, 4, 2) where it landed, and where it will. [m]
    heading_rad, next_heading_rad
        (frames, 4) direction of the foot there. [rad]
    time_s
        (frames, 1) the moments. [s]
    """

    planted: Bools
    touchdown_s: Array
    liftoff_s: Array
    next_touchdown_s: Array
    place_m: Array
    next_place_m: Array
    heading_rad: Array
    next_heading_rad: Array
    time_s: Array

    @property
    def stance_share(self) -> Array:
        """(frames, 4) 0 at landing, 1 at lift-off and while the foot is in the air."""
        share = (self.time_s - self.touchdown_s) / (self.liftoff_s - self.touchdown_s)
        return np.clip(share, 0.0, 1.0)

    @property
    def swing_share(self) -> Array:
        """(frames, 4) 0 while the foot is down and at lift-off, 1 at the next landing."""
        share = (self.time_s - self.liftoff_s) / (self.next_touchdown_s - self.liftoff_s)
        return np.clip(share, 0.0, 1.0)


def stance_state(footfalls: Steps, time_s: Array) -> StanceState:
    """Find the step that each foot is in at each moment, (frames,) to (frames, 4) in LIMBS order. [s]

    Raises
    ------
    GaitError
        If a timeline without a period does not reach from before the first moment to after the last.
    """
    steps = footfalls.unrolled(float(time_s.min()), float(time_s.max()))
    columns = []
    for limb, name in enumerate(LIMBS):
        mine = np.flatnonzero(steps.limb == limb)
        row = np.searchsorted(steps.touchdown_s[mine], time_s + TIME_TOLERANCE_S, side="right") - 1
        if row.min() < 0 or row.max() + 1 >= mine.size:
            message = (
                f"the timeline of {name} does not cover the clip; "
                "add a stance before its start and after its end"
            )
            raise GaitError(message)
        columns.append((mine[row], mine[row + 1]))
    here = np.stack([column[0] for column in columns], axis=1)  # (frames, 4)
    after = np.stack([column[1] for column in columns], axis=1)
    moments = time_s[:, None]
    return StanceState(
        planted=moments <= steps.liftoff_s[here] + TIME_TOLERANCE_S,
        touchdown_s=steps.touchdown_s[here],
        liftoff_s=steps.liftoff_s[here],
        next_touchdown_s=steps.touchdown_s[after],
        place_m=steps.place_m[here],
        next_place_m=steps.place_m[after],
        heading_rad=steps.heading_rad[here],
        next_heading_rad=steps.heading_rad[after],
        time_s=moments,
    )


def pair_hand_over(state: StanceState) -> Array:
    """Share each pair's load between its two feet: (frames, 4) in LIMBS order, each pair sums to 1.

    The weight of a foot vanishes, with its slope, at landing and lift-off, and is 1 while
    the other foot of the pair is in the air. Needs at least one foot of each pair on the ground.
    """
    share = state.stance_share
    raw = np.where(state.planted, (4.0 * share * (1.0 - share)) ** 2, 0.0)  # (frames, 4)
    pairs = raw.reshape(-1, 2, 2)
    total = pairs.sum(axis=2, keepdims=True)
    alone = state.planted.reshape(-1, 2, 2) / np.maximum(
        state.planted.reshape(-1, 2, 2).sum(axis=2, keepdims=True), 1
    )
    safe = np.where(total > 0.0, total, 1.0)
    weights: Array = np.where(total > 0.0, pairs / safe, alone)
    return weights.reshape(-1, 4)
