"""Steps that no animal uses, or that are off the plan: order, lag, duty factor; clips of no whole stride."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.gait import NO_STANCE, TOO_SHORT, Gait
from gaitgen.check.meant import Timing
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

NOISY_DEG = 0.05  # noise from which contacts are a frame or two unsure
TOGETHER = 0.04  # of a stride: feet that land so near each other have no order


def unsure(seen: Seen, gait: Gait) -> float:
    """Deviation of a share of the stride, from whole frames and noise.

    What is held against it passes by STANDS_OUT of these: by half a frame, and where frames are long, so that
    a contact and the next may both be seen one off, by a whole one.
    """
    frames = 0.2 if seen.is_coarse else 0.1
    return (0.5 if seen.noise.angle_deg > NOISY_DEG else frames) / gait.period


def meant_timing(seen: Seen) -> Timing | None:
    """Return when feet are meant to be down; None if nothing was said, or no gait is seen."""
    if seen.gait is None:
        return None
    return seen.meant.timing(round(seen.gait.period), seen.gait.summary.lead or "left")


def no_whole_stride(seen: Seen) -> list[Finding]:
    """Find a clip that is cut off before any foot is at the same point of its stride again."""
    if seen.gait is not None or not (seen.no_gait == TOO_SHORT or seen.no_gait.startswith(NO_STANCE)):
        return []
    return seen.finding(
        "no whole stride",
        "whole body",
        (0, seen.motion.frames - 1),
        0.0,
        "give the clip a whole stride, or let its last frame be the first again: it is cut off before any "
        "foot does the same a second time, so neither its gait nor its sides can be judged",
        below=True,
        limit_name="whole_strides",
    )


def off_plan(seen: Seen) -> list[Finding]:
    """Find feet that land elsewhere, or stay down longer or shorter, than they are meant to."""
    gait, plan = seen.gait, meant_timing(seen)
    if gait is None or plan is None:
        return []
    contact = np.array(gait.contact) / gait.period - np.array(plan.contact)
    common = np.angle(np.exp(2j * np.pi * contact).sum()) / (2.0 * np.pi)
    away = (contact - common + 0.5) % 1.0 - 0.5
    sigma = unsure(seen, gait)
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
    if gait is None or seen.is_backward or not gait.symmetrical or meant_timing(seen) is not None:
        return []
    found: list[Finding] = []
    for foot, lag in zip(LIMBS[:2], gait.summary.lag, strict=True):
        sigma = unsure(seen, gait)
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
    if gait is None or seen.is_backward or not gait.symmetrical or meant_timing(seen) is not None:
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
                noise=unsure(seen, gait),
                limit_name=name,
            )
    return found


def duty(seen: Seen) -> list[Finding]:
    """Find feet that are down for too short or too long."""
    gait = seen.gait
    if gait is None:
        return []
    found: list[Finding] = []
    sigma = unsure(seen, gait)
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
    if meant_timing(seen) is not None:
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
