"""From a frame count to duty factor, stride length and speed, the way one animal does it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.gait import Gait, load_gait

GRAVITY_M_S2 = 9.80665
# Duty factors that may be asked for. A foot of a walk is down for more than half of a stride (Alexander
# R.McN. 1984, Int J Robotics Res 3:49-59, from memory); at less of a run, and at more of either, hardly a
# frame shows it down, or up (estimates).
LEAST_DUTY, LEAST_RUN_DUTY, MOST_DUTY = 0.52, 0.12, 0.9
# Speed and length of a stride contradict each other that differ by more than this share.
SAME_SPEED = 0.005
# A gait of a length of its own is no faster than at this share of the greatest Froude number that it has, so
# that it is not in whole frames either (estimate).
QUICK_SHARE = 0.7
FILM_HZ = 24.0  # for which the files of gaits give frames
# A stride takes at least so long, and at the most. [s]
SHORTEST_S, LONGEST_S = 0.02, 20.0


@dataclass(frozen=True)
class Tempo:
    """One stride in time and space.

    Attributes
    ----------
    period_s
        Time of one stride. [s]
    duty_factor
        Share of the stride each foot is down. [0 to 1]
    stride_length_m
        Travel in one stride. [m]
    """

    period_s: float
    duty_factor: float
    stride_length_m: float

    @property
    def speed_m_s(self) -> float:
        """Speed of travel. [m/s]"""
        return self.stride_length_m / self.period_s


def froude_number(speed_m_s: float, hip_height_m: float) -> float:
    """Return v^2 / (g h): the speed that animals of different size share. Standard gravity.

    Alexander R.McN. & Jayes A.S. 1983, J Zool 201:135-152 (definition).
    """
    return speed_m_s**2 / (GRAVITY_M_S2 * hip_height_m)


def choose_tempo(
    gait: Gait,
    period_s: float,
    animal: Animal,
    *,
    speed_m_s: float | None = None,
    stride_length_m: float | None = None,
    duty_factor: float | None = None,
    told_duty: float | None = None,
    reach: float = 1.0,
    usual_m_s: float | None = None,
    keeps_speed: bool = False,
) -> tuple[Tempo, tuple[Notice, ...]]:
    """Choose duty factor and stride length for a stride of ``period_s``.

    Free values follow the constancy of swing time and stance distance within one animal and gait (walk and
    trot: Back et al. 1996; gallop: Witte, Hirst & Wilson 2006, J Exp Biol 209:4389): duty factor = 1 - swing
    time / period, inside the gait's range; stride length = stance distance / duty factor. Where the stride is
    the animal's usual one, in whole frames, ``usual_m_s`` is its speed and not that of the rounded time: feet
    swing as long in a shorter stride, so that the speed would change by far more than the time. In strides
    slower than a free walk feet swing longer and cover less (estimate); with ``keeps_speed`` those of a gait
    with a lead cover no less than at the slowest speed at which the animal takes it, as far as its feet
    reach: for strides that are long because somebody wants so many frames. Values that the user fixed are
    kept. ``told_duty``, the mean of all feet where one of them gives the duty factor, is what is said of it.

    Raises
    ------
    RequestError
        For numbers that are not positive, or a speed and a stride length that contradict each other.
    """
    _refuse_contradictions(period_s, speed_m_s, stride_length_m)
    notices: list[Notice] = []
    if duty_factor is None:
        duty = _own_duty(gait, period_s, animal)
    else:
        duty = _asked_duty(gait, duty_factor, told_duty or duty_factor, notices)
    if speed_m_s is not None:
        stride = speed_m_s * period_s
    elif stride_length_m is not None:
        stride = stride_length_m
    elif usual_m_s is not None:
        stride = usual_m_s * reach * period_s
    else:
        stance = animal.tempo.stance_m(period_s)
        if keeps_speed and gait.has_lead:
            stance = max(stance, _kept_stance_m(gait, period_s, animal, duty))
        stride = stance * reach * gait.reach / duty
    return Tempo(period_s, duty, stride), tuple(notices)


def _kept_stance_m(gait: Gait, period_s: float, animal: Animal, duty: float) -> float:
    """How far feet go over the ground at the slowest speed at which the animal takes a gait, or can. [m]"""
    tempo = replace(animal.tempo, slow_stride_s=animal.tempo.kept_strides * animal.tempo.slow_stride_s)
    slowest_m_s = speed_of_froude(gait.froude_range[0], animal.hip_height_m)
    return min(tempo.stance_m(period_s), slowest_m_s * period_s * duty / gait.reach)


def _own_duty(gait: Gait, period_s: float, animal: Animal) -> float:
    least, greatest = gait.duty_factor_range
    return min(max(1.0 - animal.tempo.swing_s(period_s) / period_s, least), greatest)


def duty_limits(gait: Gait) -> tuple[float, float]:
    """Return the least and the greatest duty factor that may be asked for in a gait."""
    return (LEAST_DUTY if gait.walks else LEAST_RUN_DUTY, MOST_DUTY)


def _asked_duty(gait: Gait, duty: float, told: float, notices: list[Notice]) -> float:
    """Take a duty factor that is asked for, with a notice where the gait has none such."""
    least, greatest = gait.duty_factor_range
    lowest, highest = duty_limits(gait)
    if not (math.isfinite(duty) and lowest <= duty <= highest):
        raise RequestError(
            f"duty factor is {duty:g}; at {gait.with_article} give a number from {lowest:g} to {highest:g}"
        )
    if not least <= told <= greatest:
        span = f"{least:.2f} to {greatest:.2f}, which {gait.with_article} uses"
        text = f"duty factor {told:.2f} is outside {span}."
        notices.append(Notice("duty_factor", text))
    return duty


def _refuse_contradictions(period_s: float, speed_m_s: float | None, stride_length_m: float | None) -> None:
    for label, value in (("speed", speed_m_s), ("stride length", stride_length_m)):
        if value is not None and not (math.isfinite(value) and 0.0 < value < 100.0):
            raise RequestError(f"{label} is {value:g}; give a number above 0 and below 100")
    if speed_m_s is not None and stride_length_m is not None:
        implied = stride_length_m / period_s
        if abs(implied - speed_m_s) > SAME_SPEED * speed_m_s:
            message = (
                f"speed {speed_m_s:g} m/s and stride length {stride_length_m:g} m contradict each other in a "
                f"stride of {period_s:.4g} s, which makes {implied:.3g} m/s; give only one of them"
            )
            raise RequestError(message)


def speed_of_froude(froude: float, hip_height_m: float) -> float:
    """Return the speed of a Froude number. [m/s]"""
    return math.sqrt(froude * GRAVITY_M_S2 * hip_height_m)


@lru_cache(maxsize=256)
def own_period_s(gait: Gait, animal: Animal, speed_m_s: float) -> float:
    """Return how long a stride takes at a speed, the way the animal goes. [s]

    The period whose own stride covers the ground at that speed: longer strides are slower.
    """
    shortest_s, longest_s = SHORTEST_S, LONGEST_S
    for _ in range(40):
        middle_s = math.sqrt(shortest_s * longest_s)
        tempo, _ = choose_tempo(gait, middle_s, animal)
        if tempo.speed_m_s > speed_m_s:
            shortest_s = middle_s
        else:
            longest_s = middle_s
    return longest_s


def usual_period_s(gait: Gait, animal: Animal) -> float:
    """Return how long a stride takes where nothing is asked for. [s]

    As long as the animal takes at its usual speed; of a gait that has a length of its own, that length, as
    the root of the height of the hips against those that it is for (Alexander & Jayes 1983, J Zool
    201:135-152, doi 10.1111/j.1469-7998.1983.tb04266.x), or longer where it would be too fast for the gait.
    """
    if gait.usual_frames is None:
        return own_period_s(gait, animal, speed_of_froude(gait.usual_froude, animal.hip_height_m))
    if gait.usual_frames_hip_m is None:
        return gait.usual_frames / FILM_HZ
    own_s = gait.usual_frames / FILM_HZ * math.sqrt(animal.hip_height_m / gait.usual_frames_hip_m)
    quick_m_s = speed_of_froude(QUICK_SHARE * gait.froude_range[1], animal.hip_height_m)
    return max(own_s, own_period_s(gait, animal, quick_m_s))


def own_gait_at(animal: Animal, froude: float) -> Gait:
    """Return the gait that an animal takes at a Froude number: the fastest of its own that has begun."""
    own = [load_gait(name).as_used_by(animal) for name in animal.gaits]
    begun = [gait for gait in own if gait.froude_range[0] <= froude] or own
    return max(begun, key=lambda gait: gait.froude_range[0])
