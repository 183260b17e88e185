"""A nod on a rig that is as much larger than the plain one as a style asks.

A neck that is pushed by its trunk pushes back, and a heavy steep one of a rig so far that a factor on its
swing comes out as another on its nod. So the factor is looked for that makes the nod.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace

import numpy as np

from gaitgen.errors import GaitgenError
from gaitgen.gait.request import STAND, Request
from gaitgen.motion.motion import Motion

NEAR = 0.05  # of the nod: what is as near to the one asked for is left as it is
LEAST_RAD = np.radians(0.5)  # a neck that nods by less hardly nods
# A factor differs from 1 by no more than so many times as much as the one that is asked for, and no less.
LEAST_TIMES, MOST_TIMES = 0.5, 2.0
TRIES, LEAST_SLOPE = 3, 0.05


def with_even_nod(request: Request, make: Callable[[Request], Motion]) -> Motion:
    """Make a cycle whose head nods as far as asked against its neutral cycle.

    Parameters
    ----------
    request
        What to make; its factor on the nod is one on the plain nod.
    make
        Makes it.

    Raises
    ------
    GaitgenError
        If it cannot be made.
    """
    made, nod = make(request), request.style.nod
    if nod in {0.0, 1.0} or request.gait == STAND or made.animal.head is None or not made.animal.neck:
        return made
    best = made
    with suppress(GaitgenError):  # with another factor legs or joints may not do it
        plain_rad = nod_rad(make(_nodding(request, 1.0)))
        if plain_rad < LEAST_RAD:
            return made
        known = {1.0: 1.0, nod: nod_rad(made) / plain_rad}  # factor to how far it nods
        for _ in range(TRIES):
            if abs(min(known.values(), key=lambda value: abs(value - nod)) - nod) < NEAR * nod:
                break
            factor = _next(known, nod)
            again = make(_nodding(request, factor))
            known[factor] = nod_rad(again) / plain_rad
            if abs(known[factor] - nod) <= min(abs(value - nod) for value in known.values()):
                best = again
    return best if best is made else replace(best, asked=made.asked)


def _next(known: dict[float, float], nod: float) -> float:
    """Say which factor makes a nod, from what others make: on the line through the two that are nearest."""
    (one, first), (other, second) = sorted(known.items(), key=lambda item: abs(item[1] - nod))[:2]
    slope = (second - first) / (other - one)
    times = (one + (nod - first) / slope - 1.0) / (nod - 1.0) if abs(slope) > LEAST_SLOPE else MOST_TIMES
    return 1.0 + float(np.clip(times, LEAST_TIMES, MOST_TIMES)) * (nod - 1.0)


def nod_rad(clip: Motion) -> float:
    """Range of the pitch of the line from the first joint of the neck to the head, against the back. [rad]"""
    animal = clip.animal
    places, _ = clip.joints
    neck = places[:, animal.head or 0] - places[:, animal.neck[0]]
    back = places[:, animal.chest] - places[:, animal.spine[0]]
    pitch = [np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])) for line in (neck, back)]
    return float(np.ptp(pitch[0] - pitch[1]))


def _nodding(request: Request, nod: float) -> Request:
    return replace(request, style=replace(request.style, nod=nod))
