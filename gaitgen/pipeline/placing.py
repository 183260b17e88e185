"""Where and when the feet of a cycle are put, so that the legs reach."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.contacts import parse_contacts, stretched
from gaitgen.course.cycle import CycleTiming, cycle_footfalls, cycle_timing
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice
from gaitgen.gait.gait import Gait
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import Tempo, choose_tempo
from gaitgen.pipeline.request import Request
from gaitgen.pipeline.solve import Drop, more_drop, solve_motion

Array = npt.NDArray[np.float64]

PLAN_SAMPLES = 96
# Feet that would move by less than this are well placed.
SETTLED_M = 5e-4
# No stance is tried that is longer than this.
FARTHEST_STANCE_HIP_HEIGHTS = 1.5
# The trunk may be lowered by this share of the withers height before the stride is shortened.
MOST_DROP_SHARE = 0.05


@dataclass(frozen=True, eq=False)
class Placed:
    """Contacts in frames, and the stances on the ground.

    Attributes
    ----------
    timing, footfalls
        The same stances in frames, and in seconds and metres.
    period_s
        Length of the stride. [s]
    notices
        What was changed.
    """

    timing: CycleTiming
    footfalls: Steps
    period_s: float
    notices: tuple[Notice, ...]


def place_feet(skeleton: Animal, gait: Gait, request: Request, style: Style) -> Placed:
    """Choose tempo and timing, and put the feet where the legs reach.

    Of the style only bounce and reach count here: the feet are placed for a plain walk, and the rest of the
    style has to fit it.

    Raises
    ------
    GaitgenError
        If the numbers of the request contradict each other or the gait.
    """
    filmed = _filmed(request, gait)
    tempo, notices = choose_tempo(
        gait,
        request.frames / request.frame_rate_hz,
        skeleton.hip_height_m,
        speed_m_s=request.speed_m_s,
        stride_length_m=request.stride_length_m,
        duty_factor=request.duty_factor if filmed is None else sum(filmed.down) / (4.0 * filmed.frames),
        reach=style.reach,
    )
    lag = gait.lag if request.lag is None else request.lag
    timing = filmed or cycle_timing(
        request.frames, tempo.duty_factor, lag, start=request.start, whole_frames=request.whole_frames
    )
    plain = Style(bounce=style.bounce, reach=style.reach)
    placing = _Placing(skeleton, request, plain, timing)
    footfalls, more = placing.reachable(tempo)
    return Placed(timing, footfalls, tempo.period_s, (*notices, *more))


def _filmed(request: Request, gait: Gait) -> CycleTiming | None:
    """Take contacts that were read off film, from the request or stretched from the gait."""
    if request.contacts is not None:
        return parse_contacts(request.contacts, request.frames)
    if gait.contacts is None or gait.contact_frames is None:
        return None
    read = parse_contacts(gait.contacts, gait.contact_frames)
    return stretched(read, request.frames, whole_frames=request.whole_frames)


@dataclass(frozen=True, eq=False)
class _Placing:
    """What stays the same while the feet are moved about."""

    skeleton: Animal
    request: Request
    style: Style
    timing: CycleTiming

    def reachable(self, tempo: Tempo) -> tuple[Steps, tuple[Notice, ...]]:
        """Place the feet so that the trunk is lowered least; shorten the stride if that is too much."""
        withers_m = self.skeleton.withers_height_m
        limit = MOST_DROP_SHARE * withers_m
        footfalls, drop = self.best(tempo)
        if max(drop) <= limit:
            return footfalls, ()
        farthest_m = FARTHEST_STANCE_HIP_HEIGHTS * self.skeleton.hip_height_m / tempo.duty_factor
        long = min(tempo.stride_length_m, farthest_m)
        short = 0.2 * long
        shortest, needed = self.best(replace(tempo, stride_length_m=short))
        if max(needed) > limit:  # it is not the length of the stride that asks too much
            return footfalls, ()
        footfalls = shortest
        for _ in range(6):
            middle = (short + long) / 2.0
            tried, needed = self.best(replace(tempo, stride_length_m=middle))
            if max(needed) <= limit:
                short, footfalls = middle, tried
            else:
                long = middle
        sunk = max(drop) / withers_m
        why = (
            f"the trunk would have to sink by {sunk:.1%} of the withers height "
            f"({MOST_DROP_SHARE:.0%} is allowed)"
            if np.isfinite(sunk)
            else "the legs do not reach at all"
        )
        text = (
            f"the stride is shortened from {tempo.stride_length_m:.2f} to {short:.2f} m, because "
            f"at full length {why}; a faster walk has fewer frames."
        )
        return footfalls, (Notice("reach", text),)

    def best(self, tempo: Tempo) -> tuple[Steps, Drop]:
        """Balance the reach of each pair of legs between the start and the end of stance."""
        request, hooves = self.request, self.skeleton.hooves
        standing = standing_positions_m(self.skeleton)
        centre = np.repeat(
            [standing[self.skeleton.joint(f"{e}_hoof_L"), 0] + hooves[e].toe_m for e in ("fore", "hind")], 2
        )
        per = max(1, PLAN_SAMPLES // request.frames)
        times = np.arange(per * request.frames) / (per * request.frame_rate_hz)
        drop: Drop = (0.0, 0.0)
        footfalls = self._footfalls(tempo, centre)
        for _ in range(6):
            solved = solve_motion(
                self.skeleton,
                footfalls,
                times,
                times,
                self.style,
                request.settle_strides,
                drop_m=drop,
                with_overlap=False,
            )
            share, down = solved.state.stance_share, solved.state.planted
            early = np.where(down & (share < 0.5), solved.shortfall_m, -np.inf).max(axis=0)
            late = np.where(down & (share >= 0.5), solved.shortfall_m, -np.inf).max(axis=0)
            drop = more_drop(drop, solved.shortfall_m)
            # Moving a foot forward by this takes as much from one end of stance as it adds to the other.
            shift = ((late - early) / 2.0).reshape(2, 2).mean(axis=1)
            centre = centre + np.repeat(np.clip(1.2 * shift, -0.1, 0.1), 2)
            footfalls = self._footfalls(tempo, centre)
            if np.abs(shift).max() < SETTLED_M:
                break
        return footfalls, drop

    def _footfalls(self, tempo: Tempo, centre_m: Array) -> Steps:
        return cycle_footfalls(
            self.timing, self.request.frame_rate_hz, tempo.speed_m_s, centre_m, self.skeleton.track_m
        )
