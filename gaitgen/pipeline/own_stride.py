"""The stride that an animal takes of itself: its frames, and the speed that it has in them."""

from __future__ import annotations

import math

from gaitgen.animal.animal import Animal
from gaitgen.course.contacts import parse_contacts
from gaitgen.course.cycle import longest_duty
from gaitgen.errors import GaitError, Notice, RequestError
from gaitgen.gait.gait import Gait
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import choose_tempo, duty_limits, own_period_s, speed_of_froude, usual_period_s

# That a stride takes so many times as long as the animal does, for want of frames, is said (estimate).
MUCH_SLOWER = 1.2
# Strides of a run take at most so many times as long as the animal's usual ones, of one with a lead and of
# one without: a body rises and falls as the square of that (Newton), 2.6 and 3.1 times as far, and legs of
# those animals that fall farthest, a pig, a cat and a dog, can do no more (estimates, from all animals here);
# what an animal can more, its file says.
MOST_LED, MOST_EVEN = 1.6, 1.75
# With feet down for so much of a stride, or more, a gait may be as slow as one likes: feet that take turns
# then carry the body all the time (half of the stride each, less what is hardly seen: estimate).
CARRIED_DUTY = 0.48
# Runs whose feet are down for no more than half of a stride each (definition: Hildebrand 1965).
NO_FLIGHT_DUTY = 0.5
AT_MOST = "give at most {:g} frames, or a slower gait"


def own_frames(
    request: Request, gait: Gait, animal: Animal, speed_m_s: float | None, times: float = 1.0
) -> int:
    """Length of the stride that the animal takes, in whole frames, even where left and right take turns.

    At a speed at which it would be longer than a run lasts, steps are shorter instead. With `times` it is
    so many times as long.
    """
    step = 1 if gait.has_lead else 2
    frames = float(step * round(times * own_count(request, gait, animal, speed_m_s) / step))
    most = _longest_run(request, gait, animal)
    if frames > most and (request.stride_length_m is None or speed_m_s is None):
        frames = step * (most // step)
    return int(max(gait.least_frames, frames))


def most_frames(request: Request, gait: Gait, animal: Animal) -> float:
    """Longest stride of a run that an animal can fly through, in whole frames; inf for what does not fly.

    So it is where somebody asks for how long feet are down. It is the same at every speed that is asked for.
    A slow trot or pace does not fly: its feet hand over from one to the other.
    """
    return math.inf if gait.duty_factor_range[1] >= CARRIED_DUTY else _longest_run(request, gait, animal)


def _longest_run(request: Request, gait: Gait, animal: Animal) -> float:
    """Longest stride that an animal takes of itself in a run, in whole frames; inf in what is none."""
    is_free = request.duty_factor is None and request.contacts is None and gait.contacts is None
    if gait.walks or not is_free or gait.duty_factor_range[1] > NO_FLIGHT_DUTY:
        return math.inf
    usual = usual_period_s(gait, animal) * request.frame_rate_hz
    most = (gait.longest_strides or (MOST_LED if gait.has_lead else MOST_EVEN)) * usual
    return float(max(math.floor(most), math.ceil(usual), gait.least_frames))


def said_of_flight(request: Request, gait: Gait, animal: Animal, frames: int) -> list[Notice]:
    """Say of a run that its body would have to fly for longer than it can; nothing of any other.

    The most frames that it can take are the same however many more are asked for.
    """
    most = most_frames(request, gait, animal)
    if frames <= most:
        return []
    text = (
        f"{gait.with_article} of {frames} frames at {request.frame_rate_hz:g} fps is so slow that "
        f"{animal.name} cannot stay up as long: it bobs over its feet; {AT_MOST.format(most)}"
    )
    return [Notice("slow", f"{text}.")]


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
