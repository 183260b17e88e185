"""How an animal slows down on a slope: its tempo stays, its steps become shorter."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.course.carried import carried_m
from gaitgen.course.ground import FLAT, Ground, Heights
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.numerics.curves import local_mean, ramp
from gaitgen.shot.flights import Striding, flights_along, gone_m, on_flights

Array = npt.NDArray[np.float64]

# Of its speed on the level an animal loses so much where it goes down, up, and up by steps, STEEP or more
# (common practice, no source: 15 to 30 % beyond a slope of 10 %, and short steps uphill as well).
LOST_DOWN, LOST_UP, LOST_UP_STEPS, STEEP = 0.22, 0.15, 0.12, 0.12
# On what is steeper still, such as stairs, it loses so much for each unit of slope beyond, down to so much of
# its speed (estimates).
LOST_BEYOND, LEFT_LEAST = 1.0, 0.35
# On steps it loses so much more for each hip height that they rise, where the way climbs at all (estimates).
LOST_ON_STEPS, ON_STEPS = 2.2, 0.08
LOOK_M, BODY_M = 0.05, 1.0  # step of looking at the ground, and length over which its slope is felt


def slowed(pace: Pace, path: Path, ground: Ground, end_s: float, striding: Striding) -> Pace:
    """Slow a pace down where its path climbs or falls.

    Speed over the level is v(t), the share of it that is left at a place is f(s): ds / f(s) = v(t) dt, so
    both sides are integrated on their own.

    Parameters
    ----------
    pace
        Over level ground.
    path, ground
        Where it leads.
    end_s
        End of the clip, which begins at 0; what is beyond is taken to be as there. [s]
    striding
        How its feet follow each other, which take treads of steps.
    """
    if ground is FLAT:
        return pace
    gone, hip_height_m = pace.distance_m(pace.time_s), striding.cycles[0].animal.hip_height_m
    first, last = (float(pace.distance_m(np.array(moment))) for moment in (0.0, end_s))
    along = np.arange(gone[0] - LOOK_M, gone[-1] + 2.0 * LOOK_M, LOOK_M)
    inside = along if ground.is_even else np.clip(along, first - BODY_M, last + BODY_M)
    heights = carried_m(ground, path, inside, BODY_M / 2.0)
    slope = local_mean(np.gradient(heights, LOOK_M), max(1, round(BODY_M / LOOK_M / 2.0)))
    steep = np.abs(slope)
    up = LOST_UP_STEPS if ground.has_steps else LOST_UP
    left = 1.0 - np.where(slope < 0.0, LOST_DOWN, up) * ramp(steep / STEEP)
    left = left - LOST_BEYOND * np.maximum(steep - STEEP, 0.0)
    if isinstance(ground, Heights) and ground.rise_m is not None:
        left = left - LOST_ON_STEPS * ground.rise_m / hip_height_m * ramp(steep / ON_STEPS)
    left = np.maximum(left, LEFT_LEAST)
    flights = flights_along(ground, path, first - BODY_M, last + BODY_M) if striding.fits_treads else ()
    if flights:
        left = on_flights(along, left, pace, flights, striding, first)
    elif np.all(left > 1.0 - 1e-9):
        return pace
    place = gone_m(along, left, pace)
    return Pace(pace.time_s, pace.speed_m_s * np.interp(place, along, left))
