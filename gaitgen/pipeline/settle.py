"""What a request leaves open, decided the way the animal decides it: gait, length of a stride, speed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.course.contacts import parse_contacts
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.named_gait import near_gaits
from gaitgen.errors import GaitError, Notice, RequestError
from gaitgen.gait.gait import Gait, load_gait
from gaitgen.gait.leg_factors import parse_legs
from gaitgen.gait.presets import mixed, parse_names, walk_times
from gaitgen.gait.request import WALK, Request
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import choose_tempo, froude_number, own_gait_at, speed_of_froude
from gaitgen.pipeline.own_stride import (
    is_held_back,
    own_count,
    own_frames,
    said_of_flight,
    usual_speed_m_s,
)

SPEED_ROUNDS = 4  # a speed and the numbers that a gait has at it depend on one another
TOO_FAST = 1.2  # times the animal's greatest speed, at the most


@dataclass(frozen=True)
class Settled:
    """A request of which nothing is open.

    Attributes
    ----------
    request
        With gait, frames and, where it was asked for in any way, speed.
    asked
        As it was asked, with gait, frames and lead; it names the files.
    animal
        As it goes in the gait.
    gait
        As the animal uses it.
    frames
        Length of a stride. [frames]
    notices
        What was chosen.
    usual_m_s
        The animal's usual speed in the gait, where the stride is its usual one in whole frames. [m/s]
    """

    request: Request
    asked: Request
    animal: Animal
    gait: Gait
    frames: int
    notices: tuple[Notice, ...]
    usual_m_s: float | None = None

    def with_style(self, style: Style) -> Settled:
        """Return the same in another style, without a word about it: what is found for it can be kept."""
        request = replace(self.request, style=style)
        return replace(self, request=request, asked=request, notices=())


def settle(request: Request) -> Settled:
    """Choose what a request leaves open.

    A speed alone chooses the gait that the animal takes at it, and the length of its stride; a gait alone the
    animal's usual speed in it, and the length of its stride there in whole frames. Frames and a gait leave
    the speed to the animal's tempo; as many as it takes anyway ask for nothing else.

    Raises
    ------
    GaitgenError
        If the gait or the animal is not usable, or frames are too few for the gait.
    """
    known = isinstance(request.animal, Animal)
    animal = request.animal if known else load_animal(str(request.animal), request.proportions)
    assert isinstance(animal, Animal)  # noqa: S101
    notices: list[Notice] = []
    speed = request.speed_m_s
    if request.froude is not None:
        speed = speed_of_froude(request.froude, animal.hip_height_m)
    gait = _gait(request, animal, speed)
    animal = animal.in_gait(gait.name, gait.like).with_head_lower(gait.head_lower_rad)
    _refuse_lead(request, gait)
    usual_m_s, times = usual_speed_m_s(request, gait, animal, speed), _longer_times(request, gait, speed)
    usual_m_s = usual_m_s if times == 1.0 else None  # a stride of another length has its own
    gait = gait if usual_m_s is not None else _at_its_speed(request, gait, animal, speed)
    frames = request.frames or own_frames(request, gait, animal, speed, times)
    if times != 1.0:
        plain = own_frames(request, gait, animal, speed)
        text = (
            f"in this style {gait.with_article} takes {frames} frames, not {plain}; --frames says how many."
        )
        notices.append(Notice("frames", text))
    notices += said_of_flight(request, gait, animal, frames)
    if request.frames is None:
        notices += _held_back(request, gait, animal, speed)
    if request.gait is None and speed is not None:
        froude = froude_number(speed, animal.hip_height_m)
        text = f"at {speed:.2f} m/s (Froude number {froude:.2f}) this animal takes {gait.with_article}."
        notices.append(Notice("gait", text))
    _refuse_impossible_speed(animal, gait, speed)
    if frames < gait.least_frames:
        raise RequestError(
            f"frames is {frames}; {gait.with_article} needs at least {gait.least_frames} frames "
            "to tell its contacts apart"
        )
    if request.contacts is not None and request.frames is None:
        notices.append(_length_of_contacts(request.contacts, frames))
    lead = (request.lead or "left") if gait.has_lead and request.contacts is None else None
    length = request.stride_length_m if request.frames or speed is None else None  # it is in the frames
    asked = replace(request, gait=request.gait or gait.name, frames=frames, lead=lead)
    made = replace(
        asked,
        speed_m_s=speed,
        froude=None,
        stride_length_m=length,
        style=_style(request, gait),
        named_style=None,
        legs=None,
    )
    made.refuse_endless()
    return Settled(made, asked, animal, gait, frames, tuple(notices), usual_m_s)


def _length_of_contacts(contacts: str, frames: int) -> Notice:
    """Say in how long a stride contacts are read, where nobody said it.

    Raises
    ------
    GaitError
        If they do not fit into it.
    """
    text = f"nobody said how long the stride of these contacts is, so {frames} frames are taken"
    try:
        parse_contacts(contacts, frames)
    except GaitError as error:
        is_of_length = str(frames) in str(error)
        raise GaitError(f"{error}; {text}: give --frames" if is_of_length else str(error)) from None
    return Notice("frames", f"{text}; --frames says it.")


def _style(request: Request, gait: Gait) -> Style:
    """Put together what is asked of the style: ready-made ones, factors beside, and those of single legs."""
    style = mixed(parse_names(request.named_style or ""), request.style, walks=gait.walks)
    return style if request.legs is None else style.times(Style(legs=parse_legs(request.legs)))


def _longer_times(request: Request, gait: Gait, speed_m_s: float | None) -> float:
    """Return how many times as long as usual a stride takes in its style, where nobody says how long."""
    asked = (request.frames, speed_m_s, request.stride_length_m, request.contacts, gait.usual_frames)
    is_free = gait.walks and asked == (None,) * len(asked)
    return walk_times(parse_names(request.named_style or "")) if is_free else 1.0


def _gait(request: Request, animal: Animal, speed_m_s: float | None) -> Gait:
    if request.gait is not None:
        return load_gait(request.gait).as_used_by(animal)
    if request.contacts is not None and request.frames is not None:
        return _gait_of_contacts(request, animal, parse_contacts(request.contacts, request.frames))
    if speed_m_s is None:
        return load_gait(WALK if WALK in animal.gaits else animal.gaits[0]).as_used_by(animal)
    return own_gait_at(animal, froude_number(speed_m_s, animal.hip_height_m))


def _gait_of_contacts(request: Request, animal: Animal, timing: CycleTiming) -> Gait:
    """Choose the gait of contacts: of those that are as near as whole frames tell, one that is so fast."""
    near = [load_gait(name).as_used_by(animal) for name, _ in near_gaits(timing)]
    period_s = timing.frames / request.frame_rate_hz
    duty = max(timing.down) / timing.frames  # of the foot that is down for longest, as the feet are put
    for gait in near:
        going = animal.in_gait(gait.name, gait.like)
        tempo, _ = choose_tempo(
            gait,
            period_s,
            going,
            stride_length_m=request.stride_length_m,
            duty_factor=duty,
            reach=request.style.reach,
        )
        speed = tempo.speed_m_s if request.speed_m_s is None else request.speed_m_s
        slowest, fastest = gait.froude_range
        if slowest <= froude_number(speed, animal.hip_height_m) <= fastest:
            return gait
    return near[0]


def _at_its_speed(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> Gait:
    """Take the numbers that the gait has at a speed that is asked for, or that its length comes to."""
    if speed_m_s is not None:
        return gait.at_froude(froude_number(speed_m_s, animal.hip_height_m))
    if (gait.fast is None and gait.slow is None) or request.frames is None:
        return gait
    found = gait
    for _ in range(SPEED_ROUNDS):
        tempo, _ = choose_tempo(
            found,
            request.frames / request.frame_rate_hz,
            animal,
            stride_length_m=request.stride_length_m,
            duty_factor=request.duty_factor,
            keeps_speed=True,
        )
        found = gait.at_froude(froude_number(tempo.speed_m_s, animal.hip_height_m))
    return found


def usual_frames(settled: Settled) -> int:
    """Length of the stride that the animal takes in the gait where nobody asks for another. [frames]"""
    request = replace(settled.request, stride_length_m=None)
    return own_frames(request, settled.gait, settled.animal, None)


def _refuse_impossible_speed(animal: Animal, gait: Gait, speed_m_s: float | None) -> None:
    """Refuse a run at a speed far beyond what the animal does in any of its gaits."""
    if speed_m_s is None or gait.walks:
        return
    own = (load_gait(name).as_used_by(animal).froude_range[1] for name in animal.gaits)
    fastest = speed_of_froude(max(gait.froude_range[1], *own), animal.hip_height_m)
    if speed_m_s > TOO_FAST * fastest:
        raise RequestError(
            f"speed is {speed_m_s:g} m/s; {animal.name} goes at up to {fastest:.1f} m/s, give at most "
            f"{TOO_FAST * fastest:.1f}"
        )


def _refuse_lead(request: Request, gait: Gait) -> None:
    if request.lead is not None and not gait.has_lead:
        raise RequestError(f"{gait.with_article} has no lead, left and right take turns; leave lead out")
    if request.lag is not None and gait.has_lead:
        raise RequestError(f"{gait.with_article} is not given by a lag; leave lag out")


def _held_back(request: Request, gait: Gait, animal: Animal, speed_m_s: float | None) -> list[Notice]:
    """Say that a stride is made longer in time than the animal takes it, since so few frames show none."""
    if not is_held_back(request, gait, animal, speed_m_s):
        return []
    count = own_count(request, gait, animal, speed_m_s)
    text = (
        f"{animal.name} takes {count:.1f} frames for {gait.with_article} at {request.frame_rate_hz:g} fps, "
        f"which do not show its contacts: it is made in {gait.least_frames}, slower than it goes. "
        "More frames a second show it at its own pace."
    )
    return [Notice("frames", text)]


def strange_gait(gait: Gait, animal: Animal) -> tuple[Notice, ...]:
    """Say that an animal does not go in a gait, where it does not."""
    if gait.name in animal.gaits or gait.is_backward:
        return ()
    own = ", ".join(each.replace("_", " ") for each in animal.gaits)
    text = f"{gait.with_article} is none of this animal's gaits ({own}); it is made all the same."
    return (Notice("gait", text),)
