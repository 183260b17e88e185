"""Left and right feet that do not take equal turns, and legs that are late as a whole."""

from __future__ import annotations

import cmath
import math

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.timing import meant_timing, unsure
from gaitgen.check.gait import Gait
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import unrest

# A leg does what its mate does where its angles are so near the mate's at another moment, and so much farther
# from them half a stride later.
SAME_DEG, OTHER = 1.0, 3.0
# Angles are seen from the side of the body, which turns: of a leg that is very late a little more is left,
# but hardly anything of what half a stride leaves.
LEFT_OF_HALF = 0.03
# The same of a stride of an odd number of frames, half of which is on no frame: mates are half a frame apart,
# which in the root mean square over all joints is 0.9 to 2.2 degrees in computed walks of four animals.
SAME_ODD_DEG, OTHER_ODD = 2.5, 2.5
RESTLESS_OVER, LEAST_RESTLESS = 2.0, 0.002  # times its mate, and hip heights: a foot that slides a little
UNEVEN = 0.15  # of a stride: where both pairs land so unevenly, the gait is no walk that limps
EVEN = 0.05  # of a stride: a pair that takes turns so evenly does not do so in a canter, gallop or bound


def asymmetry(seen: Seen) -> list[Finding]:
    """Find left and right feet that do not take equal turns."""
    gait = seen.gait
    plan = meant_timing(seen)
    if gait is None or (plan is not None and plan.duty_factor):
        return []
    summary, found = gait.summary, []
    is_even = gait.walks or gait.symmetrical
    sigma = unsure(seen, gait)
    other = {"fore": summary.hind_step, "hind": summary.fore_step}
    steps = {"fore": summary.fore_step, "hind": summary.hind_step}
    for end, (left, right) in (("fore", (0, 1)), ("hind", (2, 3))):
        if abs(other[end] - 0.5) > (UNEVEN if is_even else EVEN):
            continue  # both pairs take unequal turns, as in a canter, be it one of long stances
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

    Its steps and stances are then uneven by so much of a stride, and mending that moment mends them; how late
    the leg is is what is told.
    """
    left, right = pair
    frames, strides = seen.loop.frames, round(gait.strides)
    if not seen.loop.closes or strides < 1 or frames % strides:
        return []
    period = frames // strides
    angles = seen.motion.angles_deg
    pairs = [
        (angles[LIMBS[left], word][:frames], angles[LIMBS[right], word][:frames])
        for limb, word in angles
        if limb == LIMBS[left] and (LIMBS[right], word) in angles
    ]
    if not pairs:
        return []
    ones, others = np.array(pairs).swapaxes(0, 1)  # (joints, frames) each
    is_odd = period % 2 == 1
    off = np.array([_apart_deg(np.roll(ones, by, axis=1) - others, is_odd) for by in range(period)])
    same, other = (SAME_ODD_DEG, OTHER_ODD) if is_odd else (SAME_DEG, OTHER)
    best, even = int(off.argmin()), off[[period // 2, (period + 1) // 2]].min()
    late = best - period / 2.0  # of the right leg against the left one
    same = max(same, LEFT_OF_HALF * float(even))
    if off[best] > same + 4.0 * seen.noise.angle_deg or even < other * off[best] or abs(late) < 1.0:
        return []
    foot = _restless_one(seen, left, right) or _odd_one(gait, left, right)
    late = late if foot == LIMBS[right] else -late
    by = f"{abs(late):g} frame{'s' * (abs(late) != 1.0)}"
    by = f"{abs(late) - 0.5:g} or {abs(late) + 0.5:g} frames" if is_odd else by
    first = round(float(gait.contact[LIMBS.index(foot)]))
    for share in (abs(late) / period, uneven):  # the second where the first alone would pass
        found = seen.finding(
            "asymmetry",
            foot,
            (first, first + round(gait.summary.duty_factor[LIMBS.index(foot)] * gait.period)),
            share,
            f"move all keys of this leg {by} {'earlier' if late > 0.0 else 'later'}: it does what its mate "
            f"does, but so much {'later' if late > 0.0 else 'earlier'} than half a stride after it",
            noise=unsure(seen, gait),
        )
        if found:
            return found
    return []


def _apart_deg(apart: npt.NDArray[np.float64], is_odd: bool) -> float:
    """How far the joints of a leg, (joints, frames), are from those of its mate: at most, or on the whole."""
    return float(np.sqrt((apart**2).mean()) if is_odd else np.abs(apart).max())


def _restless_one(seen: Seen, left: int, right: int) -> str:
    """Return the foot of a pair that moves by far more while it stands; none if the two are about alike."""
    moves = unrest(seen.feet, seen.motion.hip_height_m)
    low, high = sorted((float(moves[left]), float(moves[right])))
    if high < LEAST_RESTLESS or high < RESTLESS_OVER * low:
        return ""
    return LIMBS[left if moves[left] > moves[right] else right]


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
    usual = (0.25 if left == 0 else -0.25) if gait.walks else 0.0  # running, feet land in pairs
    away = [abs((value - middle - usual + 0.25) % 0.5 - 0.25) for value in pair]
    return LIMBS[left if away[0] > away[1] else right]
