"""How strides and changes of gait go with size: one animal's numbers beside those of others."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from gaitgen.animal.animal import Animal
from gaitgen.gait.gait import Gait, load_gait
from gaitgen.gait.tempo import choose_tempo, froude_number, own_period_s, speed_of_froude


@dataclass(frozen=True)
class Pace:
    """A stride in a gait at one speed.

    Attributes
    ----------
    gait
        The gait.
    speed_m_s, froude
        The speed, and as a Froude number over the height of the hip joint. [m/s]
    frequency_hz, stride_length_m, duty_factor
        The stride there. [Hz], [m], [0 to 1]
    """

    gait: Gait
    speed_m_s: float
    froude: float
    frequency_hz: float
    stride_length_m: float
    duty_factor: float


@dataclass(frozen=True)
class Change:
    """Where an animal goes over to a faster gait.

    Attributes
    ----------
    slower
        The gait that it leaves.
    pace
        Its stride in the faster gait, at the speed of the change.
    """

    slower: Gait
    pace: Pace

    @property
    def to_run(self) -> bool:
        """Whether it leaves a walk, in which each foot is down for more than half of the stride."""
        return self.slower.walks and not self.pace.gait.walks

    @property
    def to_lead(self) -> bool:
        """Whether it leaves a symmetrical gait for one with a lead, such as a canter or a gallop."""
        return self.pace.gait.has_lead and not self.slower.has_lead


@dataclass(frozen=True, eq=False)
class Scaled:
    """One animal among others.

    Attributes
    ----------
    animal
        The animal.
    usual
        Its usual stride in each gait that it uses, slow ones first.
    changes
        Where it goes from each of them to the next.
    """

    animal: Animal
    usual: tuple[Pace, ...]
    changes: tuple[Change, ...]

    @property
    def walk(self) -> Pace | None:
        """Its usual walk, or None."""
        return next((pace for pace in self.usual if pace.gait.walks), None)


def scaled(animal: Animal) -> Scaled:
    """Return the strides of an animal, and the speeds at which it goes from one of its gaits to the next."""
    gaits = [load_gait(name).as_used_by(animal) for name in animal.gaits]
    gaits.sort(key=lambda gait: (gait.froude_range[0], gait.usual_froude))
    return Scaled(
        animal=animal,
        usual=tuple(_pace(animal, gait, gait.usual_froude) for gait in gaits),
        changes=tuple(
            Change(slower, _pace(animal, faster, faster.froude_range[0]))
            for slower, faster in pairwise(gaits)
        ),
    )


def _pace(animal: Animal, gait: Gait, froude: float) -> Pace:
    going = animal.in_gait(gait.name, gait.like)
    speed = speed_of_froude(froude, animal.hip_height_m)
    period_s = own_period_s(gait, going, speed)
    tempo, _ = choose_tempo(gait, period_s, going)
    return Pace(
        gait=gait,
        speed_m_s=speed,
        froude=froude_number(speed, animal.hip_height_m),
        frequency_hz=1.0 / period_s,
        stride_length_m=speed * period_s,
        duty_factor=tempo.duty_factor,
    )
