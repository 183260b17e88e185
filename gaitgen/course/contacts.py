"""Contacts and lift-offs read off film."""

from __future__ import annotations

import math
import re

import numpy as np

from gaitgen.course.cycle import CycleTiming
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS

_STANCE = re.compile(r"\s*([A-Za-z]{2})\s+(-?\d+(?:\.\d+)?)\s*-\s*(-?\d+(?:\.\d+)?)\s*")
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"))  # hyphens, dashes, minus
EXAMPLE = '"RH 1-23, RF 9-31, LH 17-39, LF 25-47"'


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
