"""Where and when the feet of a cycle are put, so that the legs reach."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.cycle import CycleTiming, cycle_steps, longest_duty
from gaitgen.course.path import Path
from gaitgen.course.varied import VariedStrides, vary
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS, Gait
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import Tempo, choose_tempo
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.search import farthest
from gaitgen.pipeline.carry import Carried, Course, carry
from gaitgen.pipeline.on_legs import more_drop, shortfall_m
from gaitgen.pipeline.placed import Placed
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.timing import filmed, on_frames, with_kept_flights

Array = npt.NDArray[np.float64]

# Samples a stride on which the motion is solved; frames are taken from them, so that a cycle of 8 frames
# is as exact as one of 96.
SAMPLES = 96
# Feet that would move by less than this are well placed.
SETTLED_HIP_HEIGHTS = 4e-4
MOST_SHIFTS = 6
# So far a foot is moved at once, in hip heights.
FARTHEST_SHIFT_HIP_HEIGHTS = 0.08
# Of the shift that would balance both ends as they are: the body goes with its feet, and a whole one would
# overshoot.
SHIFT_SHARE = 0.6
# Of a stance or a swing; a moment that falls on the half belongs to the first, however it is rounded.
MIDDLE = 0.5 + 1e-6
# No stance is tried that is longer than this.
FARTHEST_STANCE_HIP_HEIGHTS = 1.5
# A stride is shortened in so many steps, from all of it to a fifth.
SHORTENING_STEPS, SHORTEST = 64, 0.2
# The trunk may be lowered by this share of the withers height before the stride is shortened.
MOST_DROP_SHARE = 0.05
# At a run, whose legs are springs and give under twice the load (estimate).
MOST_RUN_DROP_SHARE = 0.085


def most_drop_m(animal: Animal, timing: CycleTiming) -> float:
    """Return how far the trunk may be lowered before the stride is shortened. [m]"""
    is_run = sum(timing.down) / (4.0 * timing.frames) <= 0.5
    return (MOST_RUN_DROP_SHARE if is_run else MOST_DROP_SHARE) * animal.withers_height_m


def place_feet(settled: Settled, style: Style) -> Placed:
    """Choose tempo and timing, and put the feet where the legs reach.

    Kept for the next requests, which often differ in what does not move the feet.

    Raises
    ------
    GaitgenError
        If the numbers of the request contradict each other or the gait.
    """
    return _placed(settled.with_style(style))


@lru_cache(maxsize=8)
def _placed(settled: Settled) -> Placed:
    animal, gait, request, frames = settled.animal, settled.gait, settled.request, settled.frames
    style = request.style
    read = filmed(settled)
    tempo, notices = choose_tempo(
        gait,
        frames / request.frame_rate_hz,
        animal,
        speed_m_s=request.speed_m_s,
        stride_length_m=request.stride_length_m,
        duty_factor=request.duty_factor if read is None else longest_duty(read),
        told_duty=None if read is None else float(np.mean(read.down)) / read.frames,
        reach=style.reach,
        usual_m_s=settled.usual_m_s,
        keeps_speed=True,
    )
    timing = read or on_frames(settled, tempo)
    if read is None:
        tempo = with_kept_flights(settled, tempo, timing)
    placing = _Placing(animal, request, style, timing, gait)
    course, carried, more = placing.reachable(tempo)
    if request.seed is not None:
        varied = placing.varied(course)
        course = placing.long_course(course, varied)
        return Placed(timing, course, carry(course, style), placing.per_frame, (*notices, *more), varied)
    return Placed(timing, course, carried, placing.per_frame, (*notices, *more))


@dataclass(frozen=True, eq=False)
class _Best:
    """Where feet are best with strides of one length.

    Attributes
    ----------
    course, centred
        With each foot under its limb in the middle of its stance, and the body over those.
    ahead_m
        (4,) how much farther ahead they are best. [m]
    lowered_m
        How far the trunk is lowered then, at the more lowered end. [m]
    stride_m
        Length of the stride. [m]
    """

    course: Course
    centred: Carried
    ahead_m: Array
    lowered_m: float
    stride_m: float


@dataclass(frozen=True, eq=False)
class _Placing:
    """What stays the same while the feet are moved about."""

    animal: Animal
    request: Request
    style: Style
    timing: CycleTiming
    gait: Gait

    @property
    def per_frame(self) -> int:
        """Moments of the grid for each frame."""
        return -(-SAMPLES // self.timing.frames)

    @property
    def grid(self) -> Grid:
        """At least SAMPLES moments of one stride."""
        count = self.per_frame * self.timing.frames
        return Grid(0.0, 1.0 / (self.per_frame * self.request.frame_rate_hz), count, is_periodic=True)

    def reachable(self, tempo: Tempo) -> tuple[Course, Carried, tuple[Notice, ...]]:
        """Place the feet so that the trunk is lowered least; shorten the stride if that is too much."""
        withers_m = self.animal.withers_height_m
        limit = most_drop_m(self.animal, self.timing)
        allowed = limit / withers_m
        full = self.best(tempo)
        if full.lowered_m <= limit:
            return *self.carried(full), ()
        farthest_m = FARTHEST_STANCE_HIP_HEIGHTS * self.animal.hip_height_m / tempo.duty_factor
        long = min(tempo.stride_length_m, farthest_m)
        short = SHORTEST * long

        def at(step: int) -> _Best:
            length_m = short + (long - short) * step / SHORTENING_STEPS
            return self.best(replace(tempo, stride_length_m=length_m))

        best = self._longest(full, limit, long, at)
        if best is None:  # it is not the length of the stride that asks too much
            return *self.carried(full), ()
        sunk = full.lowered_m / withers_m
        why = (
            f"the trunk would have to sink by {sunk:.1%} of the withers height ({allowed:.1%} is allowed)"
            if np.isfinite(sunk)
            else "the legs do not reach at all"
        )
        text = (
            f"the stride is shortened from {tempo.stride_length_m:.2f} to {best.stride_m:.2f} m, because "
            f"at full length {why}; fewer frames make it faster."
        )
        return *self.carried(best), (Notice("reach", text),)

    def _longest(
        self, full: _Best, limit_m: float, long_m: float, at: Callable[[int], _Best]
    ) -> _Best | None:
        """Find the longest stride that lowers the trunk by no more than a limit; None if there is none.

        It is looked for first where it would end if legs only turned: the top of one sinks by what its foot
        goes farther ahead, times its slope.
        """

        def excess(tried: _Best) -> Array:
            return np.array([tried.lowered_m - limit_m])

        reach_m = max(self.timing.down) / self.timing.frames * long_m / 2.0
        sinks = (1.0 - SHORTEST) * reach_m / SHORTENING_STEPS * reach_m / self.animal.hip_height_m
        less = float(excess(full)[0]) / sinks
        guess = max(0, math.floor(SHORTENING_STEPS - less)) if np.isfinite(less) else 0
        near = at(guess)
        if near.lowered_m <= limit_m:
            return farthest(near, full, SHORTENING_STEPS - guess, lambda step: at(guess + step), excess)
        shortest = at(0)
        return None if shortest.lowered_m > limit_m else farthest(shortest, near, guess, at, excess)

    def carried(self, best: _Best) -> tuple[Course, Carried]:
        """Put the feet where they are best, and carry the body over them."""
        course = replace(best.course, steps=best.course.steps.farther(best.ahead_m))
        return course, carry(course, self.style, before=best.centred, ahead_m=best.ahead_m)

    def best(self, tempo: Tempo) -> _Best:
        """Balance the reach of each pair of legs between the start and the end of stance."""
        hip_m, share = self.animal.hip_height_m, self.animal.tempo.room_share(tempo.period_s)
        room = share * limb_numbers(self.animal, "path.landing_room_m")
        far_m, settled_m = FARTHEST_SHIFT_HIP_HEIGHTS * hip_m, SETTLED_HIP_HEIGHTS * hip_m
        drop, apart_m = (0.0, 0.0), self._apart_m(tempo)
        rate_hz, settle = self.request.frame_rate_hz, self.request.settle_strides
        course = _centred(self.animal, self.gait, self.timing, tempo, self.grid, rate_hz, settle)
        carried = carry(course, self.style)
        state, moved = carried.body.state, np.zeros(4)
        to_land = np.where(state.planted, state.stance_share < MIDDLE, state.swing_share > MIDDLE)
        for _ in range(MOST_SHIFTS):
            shortfall = np.where(carried.to_reach, shortfall_m(course, carried, drop, moved + apart_m), -1.0)
            drop = more_drop(drop, shortfall, course.most_rise_m)
            early = np.where(to_land, shortfall + np.where(state.planted, room, 0.0), -np.inf).max(axis=0)
            late = np.where(to_land, -np.inf, shortfall).max(axis=0)
            # Moving a foot forward by this takes as much from one end of stance as it adds to the other.
            shift = np.clip(SHIFT_SHARE * self._balanced(late - early), -far_m, far_m)
            if np.abs(shift).max() < settled_m or not np.isfinite(shift).all():
                break
            moved += shift
        return _Best(course, carried, moved + apart_m, max(drop), tempo.stride_length_m)

    def _balanced(self, late_more: Array) -> Array:
        """Let left and right be alike where their steps are; each foot has its own where they are not.

        At a canter the leading limb reaches farther forward, the trailing one farther back (Back,
        Schamhardt & Barneveld 1997, EVJ Suppl 23:80-83, abstract).
        """
        even = np.repeat(late_more.reshape(2, 2).mean(axis=1), 2)
        return even if self._is_even else np.where(self.timing.together, even, late_more)

    @cached_property
    def _is_even(self) -> bool:
        """Whether left and right steps are alike."""
        down, step = np.array(self.timing.down), np.array(self.timing.contact)
        uneven = np.abs((step[[0, 2]] - step[[1, 3]]) % self.timing.frames - self.timing.frames / 2.0)
        return not (np.ptp(down[:2]) or np.ptp(down[2:]) or uneven.max() > 1.0)

    def _apart_m(self, tempo: Tempo) -> Array:
        """Say how far ahead of their middle feet of a pair set down that land together, (4,). [m]"""
        half_m = self.gait.apart / 2.0 * tempo.stride_length_m * tempo.duty_factor
        left = -half_m if self.request.lead == "right" else half_m
        return np.where(self.timing.together, np.array([left, -left, left, -left]), 0.0)

    def varied(self, course: Course) -> VariedStrides:
        """Make strides that differ out of the even one."""
        request = self.request
        return vary(
            course.steps,
            self.timing,
            course.path,
            request.frame_rate_hz,
            request.strides,
            self.animal.hip_height_m,
            np.random.default_rng(request.seed),
        )

    def long_course(self, course: Course, varied: VariedStrides) -> Course:
        """Go over strides that differ instead of the even one."""
        grid = replace(self.grid, count=self.grid.count * self.request.strides)
        return replace(course, steps=varied.steps, grid=grid, lift=self.gait.lift * varied.lift)


@lru_cache(maxsize=4)
def _centred(
    animal: Animal,
    gait: Gait,
    timing: CycleTiming,
    tempo: Tempo,
    grid: Grid,
    rate_hz: float,
    settle_strides: float | None,
) -> Course:
    """Put each foot under its limb in the middle of its stance; kept for the same steps in another style."""
    path = Path.straight(tempo.speed_m_s)
    feet = [limb.foot_joint for limb in animal.limbs]
    centre = standing_positions_m(animal)[feet, 0] + limb_numbers(animal, "foot.toe_m")
    track = limb_numbers(animal, "track_m") * np.where(limb_numbers(animal, "is_left"), 1.0, -1.0)
    return Course(
        animal,
        cycle_steps(timing, rate_hz, path, centre, track),
        path,
        grid,
        settle_strides=settle_strides,
        is_reversed=gait.is_backward,
        least_step=gait.least_step,
        most_rise_m=gait.most_rise * animal.hip_height_m,
        lift=None if gait.lift == 1.0 else np.full(len(LIMBS), gait.lift),
    )
