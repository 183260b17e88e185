"""The gait that contacts amount to, by name."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.steps import Steps
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LEADS, LIMBS, Gait, gait_names, load_gait
from gaitgen.gait.request import STAND

Array = npt.NDArray[np.float64]

# Left and right that differ by less than this are meant to be even; beats that are farther than this from
# those of every gait have no name (shares of a stride, estimates).
LEAST_ASYMMETRY, FARTHEST_BEATS = 0.1, 0.075
# A lag names gaits whose left and right feet take turns; with feet of a pair that land nearer to one another
# than to half a stride apart (estimate) there is no name.
FARTHEST_FROM_TURNS, NO_NAME = 0.25, "no named gait"
# Contacts and lift-offs on whole frames are up to half a frame off: gaits so much farther off are as near.
NEAR_FRAMES = 1.0
# Four even beats, and what they are with feet that are down for half of a stride or less, but never all up.
FOUR_BEATS, AMBLES = "lateral sequence, single foot", "amble"
STANDS = 1.0 - 1e-6  # of the time: feet that are down for all of it do not go

# Upper ends, in per cent of a stride, of the lag of a fore foot behind the hind foot of its side, and the
# names of what is below: Hildebrand M. 1976 and 1989 (BioScience 39:766-775), from memory.
_NAMES = (
    (6.25, "pace"),
    (18.75, "lateral sequence, lateral couplets"),
    (31.25, "lateral sequence, single foot"),
    (43.75, "lateral sequence, diagonal couplets"),
    (56.25, "trot"),
    (68.75, "diagonal sequence, diagonal couplets"),
    (81.25, "diagonal sequence, single foot"),
    (93.75, "diagonal sequence, lateral couplets"),
    (100.01, "pace"),
)


@dataclass(frozen=True)
class GaitSummary:
    """What a timeline with a period amounts to.

    Attributes
    ----------
    duty_factor
        Share of the stride each foot is down, in LIMBS order.
    lag
        Share of a stride by which the fore foot lands after the hind foot, left side and right side.
    hind_step, fore_step
        Share of a stride from the right to the left contact of a pair; 0.5 is even.
    name
        The gait in the terms of Hildebrand; one with a lead by the beats of the gaits that come with gaitgen.
    lead
        The side that leads; None in a gait without a lead, or one that nobody has named.
    """

    duty_factor: tuple[float, float, float, float]
    lag: tuple[float, float]
    hind_step: float
    fore_step: float
    name: str
    lead: str | None = None

    @property
    def asymmetry(self) -> float:
        """Largest difference of left and right, as a share of the stride; 0 is a symmetrical gait."""
        duty = self.duty_factor
        if self.name == STAND:
            return 0.0
        return max(
            abs(self.hind_step - 0.5),
            abs(self.fore_step - 0.5),
            abs(duty[0] - duty[1]),
            abs(duty[2] - duty[3]),
        )


def nearest_gait(timing: CycleTiming) -> tuple[str, str | None]:
    """Name the gait that comes with gaitgen whose contacts are nearest, and its lead if it has one."""
    return near_gaits(timing)[0]


def near_gaits(timing: CycleTiming) -> tuple[tuple[str, str | None], ...]:
    """Name the gaits whose contacts are nearest, up to what whole frames make of them, the nearest first.

    With their leads, where they have some. Contacts that are down for more than half of a stride are those
    of a walk (Hildebrand M. 1965, Science 150:701-708), and feet that are down for longer or shorter than
    in a gait are away from it by so much.
    """
    contact = np.array(timing.contact) / timing.frames
    duty = sum(timing.down) / (4.0 * timing.frames)
    is_walk = duty > 0.5
    forward = [gait for gait in map(load_gait, gait_names()) if gait.goes_forward]
    gaits = [gait for gait in forward if gait.walks == is_walk]
    away = [
        (float(np.hypot(_beats_apart(contact, gait, lead), _beyond(duty, gait))), gait, lead)
        for gait in gaits
        for lead in LEADS
    ]
    away.sort(key=lambda each: each[0])
    most = away[0][0] + NEAR_FRAMES / timing.frames
    near = [(gait.name, lead if gait.has_lead else None) for apart, gait, lead in away if apart <= most]
    return tuple(dict.fromkeys(near))


def _beyond(duty: float, gait: Gait) -> float:
    """How far a duty factor is outside the range of a gait."""
    least, most = gait.duty_factor_range
    return max(least - duty, duty - most, 0.0)


def _beats_apart(contact: Array, gait: Gait, lead: str) -> float:
    """How far contacts (4,) are from those of a gait that starts at the best moment: root mean square."""
    apart = (contact - np.array(gait.touchdowns(lead)) + 0.5) % 1.0 - 0.5
    turn = float(np.angle(np.exp(2j * np.pi * apart).mean()) / (2.0 * np.pi))
    return float(np.sqrt(np.mean(((apart - turn + 0.5) % 1.0 - 0.5) ** 2)))


def summarise(steps: Steps, animal: Animal | None = None, meant: Gait | None = None) -> GaitSummary:
    """Say what a timeline with a period amounts to: its stride, or the mean of its strides.

    Hildebrand M. 1965, Science 150:701-708 (duty factor and lag name a symmetrical gait).

    Parameters
    ----------
    steps
        The timeline.
    animal
        Whose it is: the beats that it has of its own name its gaits as well.
    meant
        The gait that was asked for, as the animal uses it: with a lead, it names beats that are nearly its.

    Raises
    ------
    GaitError
        For a timeline without a period, or one whose feet do not stand equally often.
    """
    strides = np.bincount(steps.limb, minlength=len(LIMBS))
    if steps.period_s is None or np.ptp(strides):
        raise GaitError("only strides of a timeline with a period have a name; use one cycle of it")
    contact, duty = _mean_stride(steps, steps.period_s / int(strides[0]))
    lags = (float((contact[0] - contact[2]) % 1.0), float((contact[1] - contact[3]) % 1.0))
    turn = math.atan2(
        sum(math.sin(2.0 * math.pi * lag) for lag in lags), sum(math.cos(2.0 * math.pi * lag) for lag in lags)
    )
    percent = 100.0 * ((turn / (2.0 * math.pi)) % 1.0)
    kind = next(name for end, name in _NAMES if percent < end)
    pace = _pace(contact, duty, kind)
    hildebrand = f"{pace}, {kind}" if "sequence" in kind or pace == "walk" else kind
    steps_apart = np.array([contact[2] - contact[3], contact[0] - contact[1]]) % 1.0  # hind, fore
    if float(np.abs(steps_apart - 0.5).max()) > FARTHEST_FROM_TURNS:
        hildebrand = NO_NAME
    led, lead = _led(contact, duty, animal, meant)
    if float(duty.min()) > STANDS:
        led = STAND
    if float(steps.travel_m_s[0]) < -1e-9 * float(np.abs(steps.place_m).max() + 1.0):
        led = backwards_name(led or hildebrand)
    return GaitSummary(
        duty_factor=tuple(float(value) for value in duty),  # type: ignore[arg-type]
        lag=lags,
        hind_step=float(steps_apart[0]),
        fore_step=float(steps_apart[1]),
        name=led or hildebrand,
        lead=lead,
    )


def _pace(contact: Array, duty: Array, kind: str) -> str:
    """Say whether contacts (4,) and times down, as shares of a stride, are a walk's, an amble's or a run's.

    By how long feet are down (Hildebrand M. 1965). Four even beats without a moment in the air are an amble:
    elephants have no other quick gait, and do not leave the ground (Hutchinson et al. 2003, Nature 422:493).
    """
    if float(duty.mean()) > 0.5:
        return "walk"
    since = (contact[:, None] + duty[:, None] - contact) % 1.0  # of each foot, as another leaves
    leaves_none = bool((since >= duty).all(axis=1).any())
    return AMBLES if kind == FOUR_BEATS and not leaves_none else "run"


def backwards_name(name: str) -> str:
    """Name a gait that goes backwards by the name that its contacts have."""
    kind = name.removeprefix("walk, ").removeprefix("run, ").removeprefix(f"{AMBLES}, ")
    pairs = {"trot": "diagonal pairs", "pace": "lateral pairs"}
    return f"back, {pairs.get(kind, kind)}"


def _mean_stride(steps: Steps, stride_s: float) -> tuple[Array, Array]:
    """Contact of each foot and how long it is down, (4,) each, as shares of the mean stride."""
    share, down = steps.touchdown_s / stride_s, (steps.liftoff_s - steps.touchdown_s) / stride_s
    if steps.limb.size == len(LIMBS):
        order = np.argsort(steps.limb)
        return share[order], down[order]
    turn = np.exp(2j * np.pi * share)
    contact = [float(np.angle(turn[steps.limb == limb].mean()) / (2.0 * np.pi)) % 1.0 for limb in range(4)]
    return np.array(contact), np.array([float(down[steps.limb == limb].mean()) for limb in range(4)])


def _led(
    contact: Array, duty: Array, animal: Animal | None, meant: Gait | None
) -> tuple[str | None, str | None]:
    """Name a gait with a lead by the nearest beats, the meant ones before all others; (4,) shares each."""
    named = _nearest_led(contact, () if meant is None else (meant,))
    if named[0] is not None:
        return named
    steps = np.array([contact[0] - contact[1], contact[2] - contact[3]]) % 1.0
    if np.abs(steps - 0.5).max() < LEAST_ASYMMETRY or float(duty.mean()) > 0.5:
        return None, None
    gaits = tuple(map(load_gait, gait_names()))
    if animal is not None:
        beats = {name for name, own in animal.own_gaits.items() if own.beats is not None}
        gaits += tuple(gait.as_used_by(animal) for gait in gaits if gait.name in beats)
    return _nearest_led(contact, gaits)


def _nearest_led(contact: Array, gaits: tuple[Gait, ...]) -> tuple[str | None, str | None]:
    """Name the gait with a lead, and its lead, whose beats are nearest to (4,) shares of a stride."""
    nearest = FARTHEST_BEATS
    found: tuple[str | None, str | None] = (None, None)
    for gait in gaits:
        for lead in LEADS if gait.has_lead else ():
            away = _beats_apart(contact, gait, lead)
            if away < nearest:
                is_even = np.allclose(gait.touchdowns("left"), gait.touchdowns("right"))
                title = gait.title.lower()
                nearest, found = away, (title if is_even else f"{title}, {lead} lead", lead)
    return found
