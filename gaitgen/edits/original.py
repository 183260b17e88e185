"""The cycle that a refined clip started from, made again from what the clip shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.course.contacts import contacts_text, near_gaits
from gaitgen.course.cycle import CycleTiming
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.errors import GaitgenError, RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.motion.motion import Motion
from gaitgen.pipeline import make_cycle

Made = TypeVar("Made")

SAME_SHAPE_M = 2e-6  # offsets as they are printed
SAME_SPEED = 0.01  # of the speed: as the animal chooses it
ASKED_SHARE = 0.05  # farther from a clip is what asks for contacts or a speed as well (estimate)
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
    made_from = Request(animal=animal_of(refined), style=style)
    tried = [
        (unlikely(float(np.abs(_shape(made) - _shape(refined)).max(axis=1).mean()), request), request)
        for request, made in candidates(
            timing,
            refined.facts.speed_m_s,
            refined.frame_rate_hz,
            made_from,
            make_cycle,
            lambda made: made,
        )
    ]
    if not tried:
        raise RequestError(
            "no gait of gaitgen's has the contacts of this clip; name the clip before with --from"
        )
    return min(tried, key=lambda each: each[0])[1]


def unlikely(apart: float, request: Request) -> float:
    """Say how unlikely a request is, by how far what it makes is from a clip: the more, the more it asks."""
    asked = (request.contacts is not None) + (request.speed_m_s is not None)
    return apart * (1.0 + ASKED_SHARE * asked)


def _shape(clip: Motion) -> npt.NDArray[np.float64]:
    return np.abs(clip.rotations).reshape(clip.frames, -1)


def candidates(
    timing: Timing,
    speed_m_s: float,
    frame_rate_hz: float,
    asked: Request,
    make: Callable[[Request], Made],
    clip_of: Callable[[Made], Motion],
) -> Iterator[tuple[Request, Made]]:
    """Make what a clip may have been: a gait with its contacts, at the animal's speed or its own.

    Parameters
    ----------
    timing, speed_m_s, frame_rate_hz
        What the clip shows. [m/s], [Hz]
    asked
        Whose clip it is, in which style.
    make, clip_of
        What makes a cycle, and the motion of what it makes.
    """
    start = next((LIMBS[k] for k in timing.order() if timing.contact[k] < 0.5), "RH")
    read = contacts_text(CycleTiming(timing.contact, timing.down, timing.frames))
    for gait, lead in near_gaits(CycleTiming(timing.contact, timing.down, timing.frames)):
        request = replace(
            asked, gait=gait, lead=lead, frames=timing.frames, frame_rate_hz=frame_rate_hz, start=start
        )
        with suppress(GaitgenError):
            made = make(request)
            if _apart(timing_of(clip_of(made)), timing) > MOVED_FRAMES:
                request = replace(request, contacts=read)
                made = make(request)
            yield request, made
            if abs(clip_of(made).facts.speed_m_s / speed_m_s - 1.0) > SAME_SPEED:
                request = replace(request, speed_m_s=speed_m_s)
                yield request, make(request)


def _apart(one: Timing, other: Timing) -> float:
    """Greatest difference of a contact or lift-off. [frames]"""
    contact = np.array(one.contact) - np.array(other.contact)
    contact -= one.frames * np.round(contact / one.frames)
    down = np.array(one.down) - np.array(other.down)
    return float(np.abs(np.concatenate([contact, contact + down])).max())
