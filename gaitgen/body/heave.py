"""Rise and fall of the two ends of the body at a walk, and the force that this takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.body.pair_phase import pair_phase
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import derivative, ramp

Array = npt.NDArray[np.float64]

# Share of a rigid strut's rise that is left after the leg has given. Estimates.
GIVE = {"hind": 0.55, "fore": 0.45}
# Least vertical force of an end of the body, as a share of its weight.
LEAST_FORCE_SHARE = 0.1
# Share of a stride after contact at which an end is lowest (common practice, no source).
SETTLE_STRIDES = 0.125


@dataclass(frozen=True, eq=False)
class Heave:
    """One end of the body, up and down.

    Attributes
    ----------
    height_m
        (samples,) over the standing height; highest near mid-stance, where it is 0. [m]
    acceleration_m_s2
        (samples,) its second derivative. [m/s^2]
    delay_s
        By how much the end is later than a rigid strut. [s]
    """

    height_m: Array
    acceleration_m_s2: Array
    delay_s: float


def strut_arc_m(travel_m: Array, length_m: float) -> Array:
    """Return how far the top of a rigid strut is below its highest point, l - sqrt(l^2 - x^2). [m]

    Cavagna G.A., Heglund N.C. & Taylor C.R. 1977, Am J Physiol 233:R243-R261 (walking as an inverted
    pendulum, from memory). Valid for -0.9 l < x < 0.9 l; beyond, x is held at 0.9 l.
    """
    held = np.clip(np.abs(travel_m), 0.0, 0.9 * length_m)
    return length_m - np.sqrt(length_m**2 - held**2)


def settle_delay_s(footfalls: Steps, pair: str, settle_strides: float) -> float:
    """Return the delay that puts the low ``settle_strides`` of a stride after a contact. [s]

    A rigid strut is lowest half-way through double support, (duty factor - 0.5) / 2 of a stride after
    contact. 0 strides means no delay.
    """
    limbs = (0, 1) if pair == "fore" else (2, 3)
    mine = np.isin(footfalls.limb, limbs)
    down_s = float(np.mean(footfalls.liftoff_s[mine] - footfalls.touchdown_s[mine]))
    if settle_strides <= 0.0:
        return 0.0
    if footfalls.period_s is not None:
        period_s = footfalls.period_s
    else:
        period_s = 2.0 * float(np.mean(np.diff(np.sort(footfalls.touchdown_s[mine]))))
    return settle_strides * period_s - (down_s - period_s / 2.0) / 2.0


def walking_heave(
    footfalls: Steps,
    pair: str,
    time_s: Array,
    *,
    strut_m: float,
    factor: float = 1.0,
    settle_strides: float = SETTLE_STRIDES,
) -> tuple[Heave, tuple[Notice, ...]]:
    """Carry one end of the body on its pair of legs as compliant struts over planted feet.

    From mid double support to mid-stance the end rises by the arc of a rigid strut, less what the leg
    gives, along a cosine; where steps differ, the arc passes from one to the next. Limited so that the
    force on the end never falls under a tenth of its weight. Valid for duty factors above 0.5.

    Parameters
    ----------
    footfalls, pair, time_s
        Timeline; ``fore`` or ``hind``; evenly spaced moments, (samples,), whole periods if it has one. [s]
    strut_m
        Length of the strut. [m]
    factor
        Style factor on the rise.
    settle_strides
        Share of a stride after contact at which the end is lowest.
    """
    periodic = footfalls.period_s is not None
    step_s = float(time_s[1] - time_s[0])
    delay_s = settle_delay_s(footfalls, pair, settle_strides)
    phase = pair_phase(footfalls, pair, time_s - delay_s)
    speed_m_s = float(np.linalg.norm(footfalls.travel_m_s))
    before, here, after = strut_arc_m(speed_m_s * phase.step_s / 2.0, strut_m).T
    share = phase.step_share
    first, second = ramp(share + 0.5), ramp(share - 0.5)
    arc = np.where(share < 0.5, before + first * (here - before), here + second * (after - here))
    height = -GIVE[pair] * factor * arc * (1.0 + phase.spread) / 2.0
    acceleration = derivative(height, step_s, 2, periodic=periodic)
    steepest = float(-acceleration.min())
    most = (1.0 - LEAST_FORCE_SHARE) * GRAVITY_M_S2
    notices: tuple[Notice, ...] = ()
    if steepest > most:
        scale = most / steepest
        height, acceleration = height * scale, acceleration * scale
        end = {"hind": "hips", "fore": "chest"}[pair]
        text = (
            f"the {end} rise and fall {scale:.0%} of what the stride would ask for: "
            "with more, the feet would have to pull on the ground."
        )
        notices = (Notice("heave", text),)
    return Heave(height, acceleration, delay_s), notices
