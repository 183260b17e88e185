"""Legs over an obstacle: feet come up over it, and their joints fold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.path import Path
from gaitgen.course.stance import StanceState
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.limbs.foot_path import FootPlan
from gaitgen.limbs.given import fold_rad
from gaitgen.motion.measure import centre_of_mass_m
from gaitgen.motion.motion import Motion
from gaitgen.numerics.curves import hill
from gaitgen.shot.carriage import Carriage
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# A foot has so much room over and beside an obstacle, in hip heights; behind it, it comes down in such a
# share of what is left of its swing (estimates).
ROOM_SHARE, DOWN = 0.06, 0.7
# Joints of fore and hind legs fold farther over an obstacle by so many times what they do in a swing, for
# each hip height of it, over such a part of the swing (estimates).
FOLDS = np.repeat([0.9, 0.45], 2)
FOLD_FROM_TO = 0.05, 0.38, 0.66, 0.97


def leap_folds_rad(timeline: Timeline, state: StanceState) -> Array:
    """Return how much farther joints fold in swings over an obstacle: (samples, 4, bones). [rad]"""
    animal, shape = timeline.cycles[0].animal, np.zeros(state.planted.shape)
    for laid in timeline.leaps:
        over_s = (laid.at_frame + laid.leap.over_frames) / timeline.frame_rate_hz
        here = (state.liftoff_s < over_s) & (state.next_touchdown_s > over_s)
        most = FOLDS * laid.leap.obstacle.height_m / animal.hip_height_m
        shape += np.where(here, most * hill(state.swing_share, *FOLD_FROM_TO), 0.0)
    return np.asarray(shape[..., None] * fold_rad(animal))


def over_obstacles(plan: FootPlan, path: Path, timeline: Timeline) -> FootPlan:
    """Lift feet that swing over an obstacle: up from where they leave, down to where they land."""
    animal, state, time_s = plan.animal, plan.state, timeline.grid.time_s
    length = limb_numbers(animal, "foot.toe_m") + limb_numbers(animal, "foot.heel_m")
    room_m = ROOM_SHARE * animal.hip_height_m
    toe = path.distance_m(time_s)[:, None] + plan.toe_m[..., 0]  # (samples, 4)
    raised = np.zeros_like(toe)
    swings = (state.swing_share > 0.0) & (state.swing_share < 1.0)
    for laid in timeline.leaps:
        obstacle = laid.leap.obstacle
        half = obstacle.spread_m / 2.0 + room_m
        over = swings & (toe > obstacle.at_m - half) & (toe - length < obstacle.at_m + half)
        for limb in np.flatnonzero(over.any(axis=0)):
            rows = over[:, limb]
            swing = state.swing_share[:, limb]
            needed = obstacle.height_m + room_m - float(plan.toe_m[rows, limb, 2].min())
            own = np.isin(state.touchdown_s[:, limb], state.touchdown_s[rows, limb]) & swings[:, limb]
            low, high = swing[rows].min(), swing[rows].max()
            shape = hill(swing, 0.0, low, high, high + DOWN * (1.0 - high))
            raised[:, limb] += np.where(own, max(needed, 0.0) * shape, 0.0)
    return replace(plan, toe_m=plan.toe_m + raised[..., None] * np.array([0.0, 0.0, 1.0]))


def falling(timeline: Timeline, path: Path, carried: Carriage, clip: Motion) -> Carriage:
    """Shift the trunk so that the centre of mass of the whole animal falls freely in a leap.

    Legs and hanging parts swing beside the trunk in the air, and what they need is known once they are posed.
    The shift goes on, and out, through the stances before and after the leap.

    Parameters
    ----------
    timeline, path, carried
        The shot, and its body.
    clip
        What came of it.

    Returns
    -------
    Carriage
        The body, shifted.
    """
    rate = timeline.frame_rate_hz
    centre = centre_of_mass_m(clip)
    shift = np.zeros_like(centre)
    for laid in timeline.leaps:
        leap = laid.leap
        first, after = round(laid.at_frame + leap.leaves), round(laid.at_frame + leap.lands)
        if first < 0 or after > clip.frames:
            continue
        down, up = leap.touches
        before = first - round(laid.at_frame + float(down[2:].min()))
        beyond = round(laid.at_frame + float(up[:2].max())) - after
        shift += _shift(centre, first, after, min(before, first), min(beyond, clip.frames - after), rate)
    heading = -path.heading_rad
    turned = np.stack(
        [
            np.cos(heading) * shift[:, 0] - np.sin(heading) * shift[:, 1],
            np.sin(heading) * shift[:, 0] + np.cos(heading) * shift[:, 1],
            shift[:, 2],
        ],
        axis=1,
    )
    frame = timeline.grid.time_s * rate
    ahead, left, up_m = CubicSpline(np.arange(shift.shape[0]), turned)(
        np.clip(frame, 0.0, shift.shape[0] - 1.0)
    ).T
    return replace(carried, ends=carried.ends.shifted(np.stack([ahead, left, up_m], axis=1)))


def _shift(centre_m: Array, first: int, after: int, before: int, beyond: int, rate: float) -> Array:
    """Shift a centre of mass (frames, 3) onto a free fall from one frame to another, and in and out of it."""
    frame = np.arange(centre_m.shape[0])
    air = frame[first : after + 1]
    time = (air - first) / rate
    fall = np.zeros((air.size, 3))
    fall[:, 2] = -GRAVITY_M_S2 / 2.0 * time**2
    away = fall - centre_m[first : after + 1]  # what is missing but for where it starts, and how fast
    spans = before / rate, beyond / rate
    known = CubicSpline(time, away)
    rows, values = [], []
    for at, span, sign in ((0.0, spans[0], -1.0), (float(time[-1]), spans[1], 1.0)):
        # Bends at both ends of the cubic that leads out: least squares over where it starts and how fast.
        for place, speed in ((-6.0, -4.0), (6.0, 2.0)):
            rows.append([place / span**2, place / span**2 * at + sign * speed / span])
            values.append(place / span**2 * known(at) + sign * speed / span * known(at, 1))
    fit, *_ = np.linalg.lstsq(np.array(rows), -np.array(values), rcond=None)
    line = fit[0] + time[:, None] * fit[1]
    shift = np.zeros_like(centre_m)
    shift[first : after + 1] = away + line
    for at, span, sign, here in (
        (0.0, spans[0], -1.0, slice(first - before, first)),
        (float(time[-1]), spans[1], 1.0, slice(after + 1, after + 1 + beyond)),
    ):
        gone = np.abs(frame[here] / rate - (first / rate + at)) / span
        place, speed = known(at) + fit[0] + at * fit[1], sign * (known(at, 1) + fit[1]) * span
        u = np.minimum(gone, 1.0)[:, None]
        shift[here] = (1.0 + u**2 * (2.0 * u - 3.0)) * place + u * (1.0 - u) ** 2 * speed
    return shift
