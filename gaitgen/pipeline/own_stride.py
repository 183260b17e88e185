"""The stride that an animal takes of itself: its frames, and the speed that it has in them."""

from __future__ import annotations

import math

from gaitgen.animal.animal import Animal
from gaitgen.course.contacts import parse_contacts
from gaitgen.course.cycle import longest_duty
from gaitgen.errors import GaitError, RequestError
from gaitgen.gait.gait import Gait
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import choose_tempo, duty_limits, own_period_s, speed_of_froude, usual_period_s

# That a stride takes so many times as long as the animal does, for want of frames, is said (estimate).
MUCH_SLOWER = 1.2


def own_frames(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> int:
    """Length of the stride that the animal takes, in whole frames, even where left and right take turns."""
    step = 1 if gait.has_lead else 2
    count = own_count(request, gait, animal, speed_m_s)
    return max(gait.least_frames, step * round(count / step))


def own_count(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> float:
    """Length of the stride that the animal takes at a speed, at its usual one if None. [frames]

    Raises
    ------
    RequestError
        If it is endless.
    """
    period_s = usual_period_s(gait, animal) if speed_m_s is None else own_period_s(gait, animal, speed_m_s)
    if request.stride_length_m is not None and speed_m_s is not None:
        period_s = request.stride_length_m / speed_m_s
    count = period_s * request.frame_rate_hz
    if not math.isfinite(count):
        raise RequestError(f"at {speed_m_s:g} m/s a stride has no length; give another speed, or frames")
    return count


def is_held_back(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> bool:
    """Tell whether a stride takes much longer than the animal's, since so few frames show no contacts."""
    return own_count(request, gait, animal, speed_m_s) * MUCH_SLOWER <= gait.least_frames


def usual_speed_m_s(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> float | None:
    """Return the animal's usual speed in a gait, where nothing else is asked for. [m/s]

    None too where the gait is of a length and not of a speed, or its stride is held back for want of frames.
    Another duty factor changes the speed as far as feet then cover their own ground.
    """
    if not _is_usual(request, gait, animal, speed_m_s):
        return None
    usual_m_s, duty = speed_of_froude(gait.usual_froude, animal.hip_height_m), request.duty_factor
    period_s = own_period_s(gait, animal, usual_m_s)
    if request.contacts is not None:
        frames = own_frames(request, gait, animal, None)
        try:
            duty = longest_duty(parse_contacts(request.contacts, frames))
        except GaitError:  # which is said with the length of the stride that was taken
            return None
        own, _ = choose_tempo(gait, period_s, animal)
        if abs(duty - own.duty_factor) * frames < 0.5:  # its own, on frames
            return usual_m_s
    if duty is None:
        return usual_m_s
    least, greatest = duty_limits(gait)
    if not least <= duty <= greatest:  # which is refused with what it is asked by
        return None
    return choose_tempo(gait, period_s, animal, duty_factor=duty)[0].speed_m_s


def _is_usual(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> bool:
    """Tell whether a stride is the animal's usual one in whole frames."""
    asked = (speed_m_s, request.stride_length_m, gait.usual_frames)
    return (
        asked == (None, None, None)
        and request.frames in {None, own_frames(request, gait, animal, None)}
        and not is_held_back(request, gait, animal, None)
    )
