"""Which foot is down at each moment, the step it is in, and how a pair shares its load."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import Frames
from gaitgen.course.steps import Steps, along
from gaitgen.errors import GaitError
from gaitgen.numerics.curves import within_one

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

TIME_TOLERANCE_S = 1e-9


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
        farther = replace(self, place_m=self.place_m + moved, next_place_m=self.next_place_m + moved)
        # Shares of time, found already for these steps, hang on no place.
        farther.__dict__.update(stance_share=self.stance_share, swing_share=self.swing_share)
        return farther

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
