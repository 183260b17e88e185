"""Contacts and lift-offs read off film, and the gait they amount to."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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
STANDS = 1.0 - 1e-6  # of the time: feet that are down for all of it do not go

_STANCE = re.compile(r"\s*([A-Za-z]{2})\s+(-?\d+(?:\.\d+)?)\s*-\s*(-?\d+(?:\.\d+)?)\s*")
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"))  # hyphens, dashes, minus
EXAMPLE = '"RH 1-23, RF 9-31, LH 17-39, LF 25-47"'

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


def parse_contacts(text: str, frames: int) -> CycleTiming:
    """Read contacts and lift-offs, in frames, of one stride of ``frames`` frames.

    Parameters
    ----------
    text
        One stance a foot, such as "RH 1-23, RF 9-31, LH 17-39, LF 25-47": the frame of contact and the
        frame of lift-off. Frame 1 is the first of the clip; a foot may lift after the stride has ended:
        frames past the end count on into the next stride, or begin again with 1, so that 17-39 and 17-7 are
        one stance in a stride of 32. A dash stands for a hyphen.
    frames
        Length of the stride. [frames]

    Raises
    ------
    GaitError
        If a foot is missing or given twice, or a stance is empty or as long as the stride.
    """
    stances: dict[str, tuple[float, float]] = {}
    for part in text.split(","):
        found = _STANCE.fullmatch(part.translate(_DASHES))
        if not found:
            raise GaitError(f"cannot read {part.strip()!r} in the contacts; write them like {EXAMPLE}")
        limb, contact, liftoff = found[1].upper(), float(found[2]), float(found[3])
        if limb not in LIMBS:
            raise GaitError(f"there is no foot {limb!r} in the contacts; use {', '.join(LIMBS)}")
        if limb in stances:
            raise GaitError(f"{limb} is given twice in the contacts; give each foot one stance")
        if 1.0 <= liftoff < contact <= frames + 1.0:  # the stance wraps round the loop
            liftoff += frames
        if not 0.0 < liftoff - contact < frames:
            raise GaitError(
                f"{limb} is down from {contact:g} to {liftoff:g}, {liftoff - contact:g} frames of a stride "
                f"of {frames}; give a lift-off after the contact and before the next one"
            )
        stances[limb] = (contact, liftoff)
    missing = [limb for limb in LIMBS if limb not in stances]
    if missing:
        raise GaitError(f"the contacts say nothing of {', '.join(missing)}; write them like {EXAMPLE}")
    contacts = tuple((stances[limb][0] - 1.0) % frames for limb in LIMBS)
    down = tuple(stances[limb][1] - stances[limb][0] for limb in LIMBS)
    return CycleTiming(contacts, down, frames)  # type: ignore[arg-type]


def refuse_stances(timing: CycleTiming, least: float, most: float, gait: str) -> None:
    """Refuse contacts that keep a foot down for a share of the stride that nothing can be made of.

    Raises
    ------
    GaitError
        If the foot that is down for longest is outside the limits; ``gait`` is what it is made as.
    """
    limb = max(range(len(LIMBS)), key=lambda row: timing.down[row])
    down, frames = timing.down[limb], timing.frames
    if not least <= down / frames <= most:
        first, last = math.ceil(least * frames - 1e-9), math.floor(most * frames + 1e-9)
        raise GaitError(
            f"{LIMBS[limb]} is down for {down:g} frames of a stride of {frames}, and no foot for longer; at "
            f"{gait} give the foot that is down for longest from {first} to {last} frames"
        )


def contacts_text(timing: CycleTiming) -> str:
    """Write contacts and lift-offs as `parse_contacts` reads them."""
    stances = zip(LIMBS, timing.contact, timing.down, strict=True)
    return ", ".join(f"{limb} {contact + 1:g}-{contact + down + 1:g}" for limb, contact, down in stances)


def stretched(timing: CycleTiming, frames: int, *, whole_frames: bool) -> CycleTiming:
    """Stretch contacts to another length of the stride, on whole frames where asked.

    Raises
    ------
    GaitError
        If the shorter stride leaves a pair of feet in the air.
    """
    factor = frames / timing.frames

    def placed(value: float) -> float:
        return float(np.floor(value * factor + 0.5 + 1e-9)) if whole_frames else value * factor

    contact = tuple(placed(value) % frames for value in timing.contact)
    down = tuple(placed(value) for value in timing.down)
    changed = CycleTiming(contact, down, frames)  # type: ignore[arg-type]
    before = pairs_in_air(timing)
    for pair in pairs_in_air(changed):
        if pair not in before:
            raise GaitError(
                f"in {frames} frames there would be a moment with no {pair} foot on the ground, which the "
                f"{timing.frames} frames of these contacts do not have; ask for more frames"
            )
    return changed


def pairs_in_air(timing: CycleTiming) -> tuple[str, ...]:
    """Name the pairs of feet, fore and hind, that are both in the air at some moment."""
    found = []
    for pair, (left, right) in (("fore", (0, 1)), ("hind", (2, 3))):
        step = (timing.contact[left] - timing.contact[right]) % timing.frames
        other = timing.frames - step
        if not (0.0 < step < timing.frames and timing.down[right] > step and timing.down[left] > other):
            found.append(pair)
    return tuple(found)


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


def summarise(steps: Steps) -> GaitSummary:
    """Say what a timeline with a period amounts to: its stride, or the mean of its strides.

    Hildebrand M. 1965, Science 150:701-708 (duty factor and lag name a symmetrical gait).

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
    pace = "walk" if float(duty.mean()) > 0.5 else "run"
    hildebrand = f"{pace}, {kind}" if "sequence" in kind or pace == "walk" else kind
    steps_apart = np.array([contact[2] - contact[3], contact[0] - contact[1]]) % 1.0  # hind, fore
    if float(np.abs(steps_apart - 0.5).max()) > FARTHEST_FROM_TURNS:
        hildebrand = NO_NAME
    led, lead = _led(contact, duty)
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


def backwards_name(name: str) -> str:
    """Name a gait that goes backwards by the name that its contacts have."""
    kind = name.removeprefix("walk, ").removeprefix("run, ")
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


def _led(contact: Array, duty: Array) -> tuple[str | None, str | None]:
    """Name a gait with a lead by the nearest beats of those that come with gaitgen, (4,) shares each."""
    steps = np.array([contact[0] - contact[1], contact[2] - contact[3]]) % 1.0
    if np.abs(steps - 0.5).max() < LEAST_ASYMMETRY or float(duty.mean()) > 0.5:
        return None, None
    nearest = FARTHEST_BEATS
    found: tuple[str | None, str | None] = (None, None)
    for name in gait_names():
        gait = load_gait(name)
        for lead in LEADS if gait.has_lead else ():
            away = _beats_apart(contact, gait, lead)
            if away < nearest:
                is_even = np.allclose(gait.touchdowns("left"), gait.touchdowns("right"))
                title = gait.title.lower()
                nearest, found = away, (title if is_even else f"{title}, {lead} lead", lead)
    return found
