"""The cycle that a refined clip started from, made again from what the clip shows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.course.contacts import contacts_text, nearest_gait
from gaitgen.course.cycle import CycleTiming
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.errors import GaitgenError, RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.motion.motion import Motion
from gaitgen.pipeline import make_cycle

SAME_SHAPE_M = 2e-6  # offsets as they are printed
SAME_SPEED = 0.01  # of the speed: as the animal chooses it
MOVED_FRAMES = 1.5  # a contact that is farther off was asked for


def animal_of(clip: Motion) -> str | Animal:
    """Return the name of the animal of a clip that was read, or the animal itself if it has another shape."""
    own = clip.animal
    if own.name in animal_names():
        known = load_animal(own.name)
        if known.offsets_m.shape == own.offsets_m.shape:
            away = np.abs(known.offsets_m - own.offsets_m)[1:]
            if float(away.max()) < SAME_SHAPE_M:
                return own.name
    return own


def request_of(refined: Motion, style: Style) -> Request:
    """Work out what was asked for when the clip was made: gait, length, start, speed, contacts.

    Parameters
    ----------
    refined
        The first stride of the clip, in place.
    style
        The style factors that it was made with.

    Raises
    ------
    RequestError
        If no gait that gaitgen knows has these contacts.
    """
    timing = timing_of(refined)
    tried = [
        (float(np.abs(_shape(made) - _shape(refined)).max(axis=1).mean()), request)
        for request, made in _candidates(refined, timing, style)
    ]
    if not tried:
        raise RequestError(
            "no gait of gaitgen's has the contacts of this clip; name the clip before with --from"
        )
    return min(tried, key=lambda each: each[0])[1]


def _shape(clip: Motion) -> npt.NDArray[np.float64]:
    return np.abs(clip.rotations).reshape(clip.frames, -1)


def _candidates(refined: Motion, timing: Timing, style: Style) -> Iterator[tuple[Request, Motion]]:
    """Make what the clip may have been: the gait with its contacts, at the animal's speed or its own."""
    start = next((LIMBS[k] for k in timing.order() if timing.contact[k] < 0.5), "RH")
    speed = refined.facts.speed_m_s
    read = contacts_text(CycleTiming(timing.contact, timing.down, timing.frames))
    gait, lead = nearest_gait(CycleTiming(timing.contact, timing.down, timing.frames))
    request = Request(
        gait=gait,
        lead=lead,
        animal=animal_of(refined),
        frames=timing.frames,
        frame_rate_hz=refined.frame_rate_hz,
        start=start,
        style=style,
    )
    with suppress(GaitgenError):
        made = make_cycle(request)
        if _apart(timing_of(made), timing) > MOVED_FRAMES:
            request = replace(request, contacts=read)
            made = make_cycle(request)
        yield request, made
        if abs(made.facts.speed_m_s / speed - 1.0) > SAME_SPEED:
            request = replace(request, speed_m_s=speed)
            yield request, make_cycle(request)


def _apart(one: Timing, other: Timing) -> float:
    """Greatest difference of a contact or lift-off. [frames]"""
    contact = np.array(one.contact) - np.array(other.contact)
    contact -= one.frames * np.round(contact / one.frames)
    down = np.array(one.down) - np.array(other.down)
    return float(np.abs(np.concatenate([contact, contact + down])).max())
