"""What to do about a rig whose legs cannot take some steps: what they can, or how the rig should stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.errors import GaitgenError
from gaitgen.gait.gait import load_gait
from gaitgen.gait.request import WALK, Request
from gaitgen.motion.motion import Motion
from gaitgen.pipeline import settle
from gaitgen.pipeline.settle import usual_frames
from gaitgen.rigs.bones import FOLDED_SHARE, STRAIGHT_SHARE, stretched
from gaitgen.rigs.legs_under import SPREAD_RAD, outward_of
from gaitgen.rigs.rig import Rig

TROT = "trot"
OTHER_LENGTHS = (1.5, 2.0, 3.0)  # times the usual length of a walk: what may be slow enough (estimate)


def is_straight(rig: Rig) -> bool:
    """Whether a leg of a rig stands straight, with no length to spare."""
    return max(_stretched(rig)) >= STRAIGHT_SHARE


def stands_amiss(rig: Rig) -> bool:
    """Whether a leg of a rig stands straight or folded, so that no animal's way of going is right for it."""
    return is_straight(rig) or min(_stretched(rig)) < FOLDED_SHARE


def advice(rig: Rig) -> str:
    """Say what to do about a rig that cannot walk: legs that stand straight have no length to spare."""
    if not is_straight(rig):
        return "check bones and toe"
    return (
        f"they stand stretched to {100.0 * max(_stretched(rig)):.1f} % of their length: let the rig stand "
        "with its legs a little bent"
    )


def what_it_can(rig: Rig, animal: Animal, request: Request, make: Callable[[Request], Motion]) -> str:
    """Say what a rig can do instead of steps that are refused; the end of a line, or nothing.

    Parameters
    ----------
    rig, animal
        The rig, and the animal that stands for it.
    request
        What was refused.
    make
        Makes a cycle of that animal.
    """
    least = min(_stretched(rig))
    if least < FOLDED_SHARE:
        return (
            f"; its legs stand folded to {100.0 * least:.0f} % of their length: let it stand in frame 1, and "
            "fit it with `gaitgen fit --rest first-frame`"
        )
    for tried in _instead(animal, request):
        try:
            made = make(tried)
        except GaitgenError:
            continue
        named = load_gait(tried.gait or WALK).with_article
        return f"; what it can do is {named} of {made.frames - 1} frames at {tried.frame_rate_hz:g} fps"
    return _how_to_stand(rig)


def _how_to_stand(rig: Rig) -> str:
    """Say how a rig should stand that can do nothing that was tried; the end of a line, or nothing."""
    lean = max(_outward_rad(rig))
    if lean < SPREAD_RAD or rig.map.legs != "as they stand":
        return ""
    return (
        f"; no gait was found that it can do with its legs as they stand, {np.degrees(lean):.0f} degrees "
        'outward: put them under the body, with legs = "under the body" in the map'
    )


def _outward_rad(rig: Rig) -> Iterator[float]:
    """List how far each leg leans outward where the rig stands. [rad]"""
    for side, limb in zip((1.0, -1.0, 1.0, -1.0), rig.limbs, strict=True):
        yield outward_of(rig.places_m[list(limb.joints)] * np.array([1.0, side, 1.0]))[1]


def _instead(animal: Animal, request: Request) -> Iterator[Request]:
    """List what is near to a request: its gait as the animal takes it, then others, the quickest first."""
    own = Request(gait=request.gait, frame_rate_hz=request.frame_rate_hz)
    if request.gait is not None and (request.frames, request.speed_m_s, request.froude) != (None, None, None):
        yield own
    for gait in dict.fromkeys((*reversed(animal.gaits), TROT, WALK)):
        if gait != request.gait:
            yield replace(own, gait=gait)
    usual = usual_frames(settle(replace(own, gait=WALK, animal=animal)))
    for times in OTHER_LENGTHS:
        yield replace(own, gait=WALK, frames=round(times * usual))


def _stretched(rig: Rig) -> list[float]:
    """Share of its length to which each leg stands stretched."""
    lines = (np.concatenate([rig.places_m[list(limb.joints)], limb.toe_m[None]]) for limb in rig.limbs)
    return [stretched(line) for line in lines]
