"""Steps that no animal uses: order, lag, duty factor, left against right."""

from __future__ import annotations

import cmath
import math

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.gait import Gait
from gaitgen.check.meant import Timing
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

NOISY_DEG = 0.05  # noise from which contacts are a frame or two unsure
# A leg does what its mate does where its angles are so near the mate's at another moment, and so much farther
# from them half a stride later.
SAME_DEG, OTHER = 1.0, 3.0
TOGETHER = 0.04  # of a stride: feet that land so near each other have no order


def _unsure(seen: Seen, gait: Gait) -> float:
    """Deviation of a share of the stride, from whole frames and noise."""
    return (0.5 if seen.noise.angle_deg > NOISY_DEG else 0.1) / gait.period


def _meant(seen: Seen) -> Timing | None:
    if seen.gait is None:
        return None
    return seen.meant.timing(round(seen.gait.period), seen.gait.summary.lead or "left")


def off_plan(seen: Seen) -> list[Finding]:
    """Find feet that land elsewhere, or stay down longer or shorter, than they are meant to."""
    gait, plan = seen.gait, _meant(seen)
    if gait is None or plan is None:
        return []
    contact = np.array(gait.contact) / gait.period - np.array(plan.contact)
    common = np.angle(np.exp(2j * np.pi * contact).sum()) / (2.0 * np.pi)
    away = (contact - common + 0.5) % 1.0 - 0.5
    sigma = _unsure(seen, gait)
    found: list[Finding] = []
    for row, foot in enumerate(LIMBS):
        first = round(float(gait.contact[row]))
        last = first + round(gait.summary.duty_factor[row] * gait.period)
        found += seen.finding(
            "contact off plan",
            foot,
            (first, first),
            abs(float(away[row])),
            f"let the foot land {abs(float(away[row])) * gait.period:.1f} frames "
            f"{'earlier' if away[row] > 0.0 else 'later'} against the others, as the plan has it",
            noise=sigma,
            limit_name="off_plan",
        )
        if plan.duty_factor is not None:
            longer = gait.summary.duty_factor[row] - plan.duty_factor[row]
            found += seen.finding(
                "stance off plan",
                foot,
                (first, last),
                abs(longer),
                f"let the foot stay down {abs(longer) * gait.period:.1f} frames "
                f"{'shorter' if longer > 0.0 else 'longer'}, as the plan has it",
                noise=sigma,
                limit_name="off_plan",
            )
    return found


def order(seen: Seen) -> list[Finding]:
    """Find fore feet that land on the wrong side of the hind feet; backwards any order will do."""
    gait = seen.gait
    if gait is None or seen.is_backward or not gait.symmetrical or _meant(seen) is not None:
        return []
    found: list[Finding] = []
    for foot, lag in zip(LIMBS[:2], gait.summary.lag, strict=True):
        sigma = _unsure(seen, gait)
        if lag < 0.5 + 3.0 * sigma + TOGETHER or lag > 1.0 - TOGETHER - 3.0 * sigma or not gait.walks:
            continue
        first = round(float(gait.contact[LIMBS.index(foot)]))
        found += seen.finding(
            "contact order",
            foot,
            (first, first),
            1.0,
            f"the feet land in the order {', '.join(gait.order)}; let each fore foot land between the hind "
            "foot of its side and the other one",
            limit_name="contact_order",
        )
    return found


def lag(seen: Seen) -> list[Finding]:
    """Find a lag of the fore feet that no horse uses, unless it goes backwards."""
    gait = seen.gait
    if gait is None or seen.is_backward or not gait.symmetrical or _meant(seen) is not None:
        return []
    found: list[Finding] = []
    name = "walk_lag" if gait.walks else "run_lag"
    for foot, value in zip(LIMBS[:2], gait.summary.lag, strict=True):
        share = value - 1.0 if not gait.walks and value > 0.9 else value
        first = round(float(gait.contact[LIMBS.index(foot)]))
        for below in (True, False):
            found += seen.finding(
                "lag",
                foot,
                (first, first),
                share,
                "let the fore foot land about a quarter of a stride after the hind foot of its side"
                if gait.walks
                else "let the fore foot land with a hind foot",
                below=below,
                noise=_unsure(seen, gait),
                limit_name=name,
            )
    return found


def duty(seen: Seen) -> list[Finding]:
    """Find feet that are down for too short or too long."""
    gait = seen.gait
    if gait is None:
        return []
    found: list[Finding] = []
    sigma = _unsure(seen, gait)
    for row, foot in enumerate(LIMBS):
        first = round(float(gait.contact[row]))
        last = first + round(gait.summary.duty_factor[row] * gait.period)
        for below in (True, False):
            found += seen.finding(
                "duty factor",
                foot,
                (first, last),
                gait.summary.duty_factor[row],
                "let the foot stay down longer" if below else "let the foot lift earlier",
                below=below,
                noise=sigma,
                limit_name="duty_factor",
            )
    if _meant(seen) is not None:
        return found
    four = gait.summary.duty_factor
    fore, hind = (four[0] + four[1]) / 2.0, (four[2] + four[3]) / 2.0
    return found + seen.finding(
        "duty factor",
        "fore against hind",
        (0, seen.motion.frames - 1),
        abs(fore - hind),
        f"fore feet are down for {100 * fore:.0f} % of the stride, hind feet for "
        f"{100 * hind:.0f} %; bring them nearer",
        noise=sigma,
        limit_name="fore_hind_duty",
    )


def asymmetry(seen: Seen) -> list[Finding]:
    """Find left and right feet that do not take equal turns."""
    gait = seen.gait
    plan = _meant(seen)
    if gait is None or not (gait.walks or gait.symmetrical) or (plan is not None and plan.duty_factor):
        return []
    summary, found = gait.summary, []
    sigma = _unsure(seen, gait)
    other = {"fore": summary.hind_step, "hind": summary.fore_step}
    steps = {"fore": summary.fore_step, "hind": summary.hind_step}
    for end, (left, right) in (("fore", (0, 1)), ("hind", (2, 3))):
        uneven = abs(steps[end] - 0.5)
        longer = summary.duty_factor[left] - summary.duty_factor[right]
        if whole := _late_leg(seen, gait, (left, right), max(uneven, abs(longer))):
            found += whole
            continue
        foot = _odd_one(gait, left, right)
        first = round(float(gait.contact[LIMBS.index(foot)]))
        found += seen.finding(
            "asymmetry",
            foot,
            (first, first),
            uneven,
            f"the left {end} foot lands {100 * steps[end]:.0f} % of a stride after the right one "
            f"(the other pair: {100 * other[end]:.0f} %); an even gait has 50 %",
            noise=sigma,
        )
        foot = LIMBS[left if _odder_duty(summary.duty_factor, left, right) else right]
        row = LIMBS.index(foot)
        first = round(float(gait.contact[row]))
        found += seen.finding(
            "asymmetry",
            foot,
            (first, first + round(summary.duty_factor[row] * gait.period)),
            abs(longer),
            f"the {'left' if longer > 0 else 'right'} {end} foot is down longer; give both the same stance",
            noise=sigma,
        )
    return found


def _late_leg(seen: Seen, gait: Gait, pair: tuple[int, int], uneven: float) -> list[Finding]:
    """Find a leg that does what its mate does, at another moment than half a stride later.

    Its steps are then uneven by so much of a stride, and mending that moment mends them.
    """
    left, right = pair
    frames = seen.loop.frames
    if not seen.loop.closes or round(gait.strides) != 1:
        return []
    angles = seen.motion.angles_deg
    pairs = [
        (angles[LIMBS[left], word][:frames], angles[LIMBS[right], word][:frames])
        for limb, word in angles
        if limb == LIMBS[left] and (LIMBS[right], word) in angles
    ]
    if not pairs:
        return []
    off = np.array(
        [max(float(np.abs(np.roll(one, by) - other).max()) for one, other in pairs) for by in range(frames)]
    )
    best, even = int(off.argmin()), off[[frames // 2, (frames + 1) // 2]].min()
    late = best - frames / 2.0  # of the right leg against the left one
    if off[best] > SAME_DEG + 4.0 * seen.noise.angle_deg or even < OTHER * off[best] or abs(late) < 1.0:
        return []
    foot = _odd_one(gait, left, right)
    late = late if foot == LIMBS[right] else -late
    by = f"{abs(late):g} frame{'s' * (abs(late) != 1.0)}"
    first = round(float(gait.contact[LIMBS.index(foot)]))
    return seen.finding(
        "asymmetry",
        foot,
        (first, first + round(gait.summary.duty_factor[LIMBS.index(foot)] * gait.period)),
        max(abs(late) / frames, uneven),
        f"move all keys of this leg {by} {'earlier' if late > 0.0 else 'later'}: it does what its mate does, "
        f"but so much {'later' if late > 0.0 else 'earlier'} than half a stride after it",
        noise=_unsure(seen, gait),
    )


def _odder_duty(four: tuple[float, float, float, float], left: int, right: int) -> bool:
    """Whether the left foot of a pair is farther from the two feet of the other pair."""
    rest = [four[k] for k in range(4) if k not in (left, right)]
    middle = sum(rest) / 2.0
    return abs(four[left] - middle) > abs(four[right] - middle)


def _odd_one(gait: Gait, left: int, right: int) -> str:
    """Return the foot of a pair whose lag differs more from what the other pair makes even."""
    hind = [float(gait.contact[k]) / gait.period for k in (2, 3)]
    fore = [float(gait.contact[k]) / gait.period for k in (0, 1)]
    pair, rest = (fore, hind) if left == 0 else (hind, fore)
    turn = sum(cmath.exp(4j * math.pi * value) for value in rest)
    middle = (cmath.phase(turn) / (4.0 * math.pi)) % 0.5
    usual = 0.25 if left == 0 else -0.25
    away = [abs((value - middle - usual + 0.25) % 0.5 - 0.25) for value in pair]
    return LIMBS[left if away[0] > away[1] else right]
