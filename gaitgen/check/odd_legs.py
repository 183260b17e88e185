"""Which leg of a pair is at fault, and at which joint: what is said of it where no finding names it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from gaitgen.check import kinds
from gaitgen.check.finding import Finding
from gaitgen.check.findings.mates import (
    WHOLE,
    Away,
    Odd,
    odd_joint,
    off_ground_m,
    roughness,
    that_shudders,
)
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

BOTH_ENDS = "fore against hind"
ROUGHER = 1.5  # times its mate: a leg that is, is the one that is off
CLEARLY, LEAST = 2.0, 1e-3  # times what the mate shows, and so much in any case: a sign that is sure

Own = Mapping[str, Sequence[Finding]]


def odd_legs(seen: Seen, away: Away, found: Sequence[Finding]) -> tuple[dict[str, Odd], list[Finding]]:
    """Find the joint of each leg that is at fault.

    Parameters
    ----------
    seen, away
        The clip; what `unlike_deg` says of it.
    found
        What was found in it.

    Returns
    -------
        By foot the one joint at fault, where there is one; findings of joints that ``found`` does not name.
    """
    odds, added = dict[str, Odd](), list[Finding]()
    for pair in (LIMBS[:2], LIMBS[2:]):
        own = {
            limb: [f for f in found if f.limb == limb and f.kind in {*kinds.FOOT, *kinds.LEG}]
            for limb in pair
        }
        timing = [f for f in found if f.limb in {*pair, BOTH_ENDS} and f.kind in kinds.GAIT]
        limb, is_sure = _odd_limb(seen, pair, own, timing)
        odd = odd_joint(seen, away, limb, own[limb])
        if odd is not None and odd.shudders:
            limb, odd = _shuddering(seen, away, pair, own, odd)
        if odd is None:
            continue
        told = bool(timing) or any(own.values())
        is_far = odd.is_alone and odd.degrees > WHOLE * seen.limits["unlike_other_side"].top
        if not told and not is_far and not odd.shudders:
            continue
        if odd.is_alone:
            odds[limb] = odd
        named = any(f.joint == odd.joint for f in own[limb])
        if (odd.is_alone and not named) or not own[limb]:
            added += _unlike(seen, limb, odd, is_sure=is_sure)
    return odds, added


def _shuddering(seen: Seen, away: Away, pair: Sequence[str], own: Own, odd: Odd) -> tuple[str, Odd | None]:
    """Return the leg of a pair that goes to and fro, or the one that does not as its mate does.

    A joint that was smoothed too much is as often apart from its mate as one that shakes, and its mate then
    turns more: where one foot alone does not keep to the ground, its leg is the one that was touched.
    """
    limb, shaken = that_shudders(seen, away, pair, own)
    touched = _off_the_ground(seen, pair, own)
    if touched in {None, limb}:
        return limb, shaken
    smooth = odd_joint(seen, away, str(touched), own[str(touched)]) or odd
    return str(touched), replace(smooth, peaks=1)


def _off_the_ground(seen: Seen, pair: Sequence[str], own: Own) -> str | None:
    """Return the foot of a pair that alone does not keep to the ground; None if that is not clear."""
    feet = {limb: [f for f in own[limb] if f.kind in kinds.FOOT] for limb in pair}
    return _clear(_worse(feet)) or _clear(_off_by(seen, pair))


def _odd_limb(seen: Seen, pair: Sequence[str], own: Own, timing: Sequence[Finding]) -> tuple[str, bool]:
    """Return the leg of a pair that is at fault, and whether that is sure.

    It is the one with the worse findings, off the ground where it should stand, with the worse contact, or
    the rougher.
    """
    late = {limb: [f for f in timing if f.limb == limb] for limb in pair}
    for sign in (_worse(own), _off_by(seen, pair), _worse(late)):
        limb = _clear(sign)
        if limb is not None:
            return limb, True
    rough = {limb: roughness(seen, limb) for limb in pair}
    low, high = sorted(rough.values())
    return max(pair, key=lambda limb: rough[limb]), high > ROUGHER * low


def _worse(own: Own) -> dict[str, float]:
    """By how much the findings of each leg are past their limits, together."""
    return {limb: sum(f.excess for f in found) for limb, found in own.items()}


def _off_by(seen: Seen, pair: Sequence[str]) -> dict[str, float]:
    """How far each foot is off the ground where it should stand, in hip heights."""
    return {limb: off_ground_m(seen, limb) / seen.motion.hip_height_m for limb in pair}


def _clear(sign: Mapping[str, float]) -> str | None:
    """Return the leg of a pair that shows clearly more of a sign; None if neither does."""
    low, high = sorted(sign.values())
    return max(sign, key=lambda limb: sign[limb]) if high > CLEARLY * low + LEAST else None


def _unlike(seen: Seen, limb: str, odd: Odd, *, is_sure: bool) -> list[Finding]:
    which = f"{odd.joint}: it alone of this leg" if odd.is_alone else f"the leg, {odd.joint} most of all: it"
    which += " goes to and fro, and" * odd.shudders
    turns = ", and turns less sharply: it may have been smoothed" * odd.is_smoother
    return seen.finding(
        "unlike other side",
        limb,
        (odd.first, odd.last),
        odd.degrees,
        f"look at {which} does not do what its mate does half a stride later{turns}"
        + ("" if is_sure else "; or its mate is off, which cannot be told"),
        limit_name="unlike_other_side",
        joint=odd.joint if odd.is_alone else "",
    )
