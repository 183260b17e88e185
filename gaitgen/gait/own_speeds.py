"""At which speeds an animal goes in which gait, and with what strides."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from gaitgen.animal.animal import Animal
from gaitgen.gait.gait import gait_names, load_gait
from gaitgen.gait.tempo import choose_tempo, speed_of_froude, usual_period_s


@dataclass(frozen=True)
class OwnSpeeds:
    """One gait of one animal.

    Attributes
    ----------
    name, title, says
        The gait.
    is_own
        Whether the animal uses it.
    slowest_m_s, fastest_m_s
        Speeds between which an animal of this size uses it. [m/s]
    speed_m_s, period_s, stride_length_m, duty_factor
        Its usual speed, and the stride there. [m/s], [s], [m], [0 to 1]
    frequency_hz, duty_factor_fore, duty_factor_hind
        Strides a second there, and the share of a stride that a foot of each end is down. [Hz], [0 to 1]
    """

    name: str
    title: str
    says: str
    is_own: bool
    slowest_m_s: float
    fastest_m_s: float
    speed_m_s: float
    period_s: float
    stride_length_m: float
    duty_factor: float
    frequency_hz: float
    duty_factor_fore: float
    duty_factor_hind: float

    def as_values(self) -> dict[str, object]:
        """Return the numbers for programs."""
        return asdict(self)


def own_speeds(animal: Animal) -> tuple[OwnSpeeds, ...]:
    """List every gait for one animal, slow ones first, its own before the others."""
    found = []
    for name in gait_names():
        gait = load_gait(name).as_used_by(animal)
        going = animal.in_gait(name, gait.like)
        height = animal.hip_height_m
        period_s = usual_period_s(gait, going)
        tempo, _ = choose_tempo(gait, period_s, going)
        is_of_length = gait.usual_frames is not None
        speed = tempo.speed_m_s if is_of_length else speed_of_froude(gait.usual_froude, height)
        slowest, fastest = (speed_of_froude(froude, height) for froude in gait.froude_range)
        found.append(
            OwnSpeeds(
                name=gait.name,
                title=gait.title,
                says=gait.says,
                is_own=name in animal.gaits,
                slowest_m_s=slowest,
                fastest_m_s=fastest,
                speed_m_s=speed,
                period_s=period_s,
                stride_length_m=tempo.stride_length_m,
                duty_factor=tempo.duty_factor,
                frequency_hz=1.0 / period_s,
                duty_factor_fore=tempo.duty_factor + gait.fore_duty_more / 2.0,
                duty_factor_hind=tempo.duty_factor - gait.fore_duty_more / 2.0,
            )
        )
    return tuple(sorted(found, key=lambda each: (not each.is_own, each.speed_m_s)))
