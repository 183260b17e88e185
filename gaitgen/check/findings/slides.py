"""Feet that slide from one place to another while they are down."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LOW_SHARE = 0.004  # of the hip height: so near the ground a foot is down
STILL = 0.25  # of the slip that is let through: a foot that moves less in a frame stands
FARTHEST = 0.3  # hip heights
LEAST_STILL = 2  # steps before and after a slide in which the foot stands


def slides(seen: Seen) -> list[Finding]:
    """Find feet that stand at one place, slide, and stand at another before they lift.

    No stance is found across such a slide, so that the foot would seem to land late or to leave early.
    """
    if seen.shot is not None or not seen.feet.stances:
        return []
    motion, n = seen.motion, seen.loop.frames
    belt = np.append(seen.feet.belt_m_s, 0.0) * motion.file.frame_time_s
    low, steps = _low_and_steps(seen, belt)  # (rows, feet), (rows, feet, 2)
    found: list[Finding] = []
    for limb, name in enumerate(LIMBS):
        sigma = float(np.hypot(*seen.noise.toe_m[limb, :2]))
        still = np.linalg.norm(steps[:, limb], axis=1) < (
            STILL * seen.limits["slip"].top / 1000.0 + STANDS_OUT * sigma
        )
        down = low[:, limb] & np.roll(low[:, limb], -1)
        for first, last in _between(down, still, n if seen.loop.closes else 0):
            rows = np.arange(first, last + 1) % len(steps)
            far = 1000.0 * float(np.linalg.norm(steps[rows, limb].sum(axis=0)))
            if far > 1000.0 * FARTHEST * motion.hip_height_m:
                continue  # a low swing, not a slide
            found += seen.finding(
                "slide",
                name,
                (first, last + 1),
                far,
                "keep the foot in one place while it is down: it stands, slides, and stands again",
                noise=1414.0 * sigma,
                limit_name="slip",
            )
    return found


def _low_and_steps(seen: Seen, belt_m: Array) -> tuple[Bools, Array]:
    """Tell when feet are down, and how far they go over the ground to the next frame; a loop goes round."""
    motion, n = seen.motion, seen.loop.frames
    slack = LOW_SHARE * motion.hip_height_m + STANDS_OUT * seen.noise.toe_m[:, 2]
    toes = motion.toes_m[:n]
    low = np.abs(toes[..., 2] - seen.feet.ground_m) < slack
    after = np.concatenate([toes[1:], toes[:1] + seen.loop.advance_m])
    if not seen.loop.closes:
        after[-1] = toes[-1] + belt_m
        low[-1] = False
    return np.asarray(low), (after - toes - belt_m)[..., :2]


def _between(down: Bools, still: Bools, turn: int) -> list[tuple[int, int]]:
    """First and last step of each slide: steps of a foot that is down, with still ones on both sides."""
    twice = 2 if turn else 1
    down, still = np.tile(down, twice), np.tile(still, twice)
    stands = np.array(
        [run for run in runs(down & still) if run[1] - run[0] + 1 >= LEAST_STILL], dtype=np.int64
    ).reshape(-1, 2)
    found = []
    for (_, before), (after, _) in pairwise(stands):
        is_down = bool(down[before : after + 1].all())
        if is_down and (not turn or before + 1 < turn):
            found.append((int(before) + 1, int(after) - 1))
    return found
