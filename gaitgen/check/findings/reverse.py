"""Clips that run from their end to their beginning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.contacts import RESTLESS, unrest


def reversed_in_time(seen: Seen) -> list[Finding]:
    """Find a body that goes backwards as no animal does: fast, with flight, or foot by foot as ahead."""
    gait, motion = seen.gait, seen.motion
    if gait is None or not seen.is_backward or seen.shot is not None:
        return []
    if seen.meant.gait is not None and seen.meant.gait.is_backward:
        return []
    if float(np.median(unrest(seen.feet, motion.hip_height_m))) > RESTLESS:
        return []  # what was taken for stances are swings that go low: played backwards they are that still
    speed = float(np.linalg.norm(seen.feet.body_m_s))
    frames = (0, motion.frames - 1)
    do = f"put the frames in the opposite order: the animal goes backwards at {speed:.2f} m/s"
    found = seen.finding(
        "reversed in time",
        "whole body",
        frames,
        speed**2 / GRAVITY_M_S2 / motion.hip_height_m,
        do if gait.walks else f"{do}, running",
        limit_name="backward_froude" if gait.walks else "backward_run",
    )
    if found or not gait.walks or not gait.symmetrical:
        return found
    apart = min(abs(lag - 0.5) for lag in gait.summary.lag)
    return seen.finding(
        "reversed in time",
        "whole body",
        frames,
        apart,
        f"{do}, and each foot lands by itself, as in a walk ahead from its end",
        noise=0.1 / gait.period,
        limit_name="backward_lag",
    )


def reversed_shot(seen: Seen) -> list[Finding]:
    """Find a clip without a period in all of whose strides the body goes backwards as no animal does."""
    going = [part.seen for part in seen.parts if part.seen.gait is not None]
    each = [reversed_in_time(part) for part in going]
    if not going or not all(each):
        return []
    worst = max((own[0] for own in each), key=lambda finding: finding.excess)
    return [replace(worst, first_frame=1, last_frame=seen.motion.frames)]
