"""Feet that slide from one place to another while they are down."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
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
BRIEF = 4  # still steps between two slides of a foot that stands elsewhere for as long: they are one
COMES_BACK = 0.5  # of how far it slid: a foot that ends nearer to where it stood has come back
FEWEST, ALIKE = 2, 0.2  # feet that are down, and of their movement that what they have not in common may be
OF_A_POP = 2  # steps, there and back: a foot that is elsewhere for one frame alone has popped


@dataclass(frozen=True)
class Slide:
    """A foot that slides while it is down.

    Attributes
    ----------
    limb
        Which, as a row of LIMBS.
    first, last
        Rows between which it moves; beyond the end where it goes over the end of a loop.
    far_m
        How far it is at the most from where it stood. [m]
    comes_back
        Whether it stands again where it did before.
    takes_all
        Whether all feet that are down go with it: it is the body that moves.
    """

    limb: int
    first: int
    last: int
    far_m: float
    comes_back: bool
    takes_all: bool


def slides(seen: Seen) -> list[Finding]:
    """Find feet that stand at one place, slide, and stand at another, or there again, before they lift.

    No stance is found across such a slide, so that the foot would seem to land late or to leave early.
    """
    found: list[Finding] = []
    for slide in every_slide(seen):
        if slide.takes_all:
            continue
        ends = "comes back" if slide.comes_back else "stands again"
        found += seen.finding(
            "slide",
            LIMBS[slide.limb],
            (slide.first, slide.last),
            1000.0 * slide.far_m,
            f"keep the foot in one place while it is down: it stands, slides, and {ends}",
            noise=1414.0 * _sigma_m(seen, slide.limb),
            limit_name="slip",
        )
    return found


@lru_cache(maxsize=1)  # asked for by several findings of one clip
def every_slide(seen: Seen) -> tuple[Slide, ...]:
    """Return where feet slide between two rows of frames in which they stand, however little."""
    if seen.shot is not None or not seen.feet.stances:
        return ()
    belt = np.append(seen.feet.belt_m_s, 0.0) * seen.motion.file.frame_time_s
    low, steps = _low_and_steps(seen, belt)  # (rows, feet), (rows, feet, 2)
    found: list[Slide] = []
    for limb in range(len(LIMBS)):
        still = np.linalg.norm(steps[:, limb], axis=1) < (
            STILL * seen.limits["slip"].top / 1000.0 + STANDS_OUT * _sigma_m(seen, limb)
        )
        down = low[:, limb] & np.roll(low[:, limb], -1)
        for first, last in _between(down, still, seen.loop.frames if seen.loop.closes else 0):
            rows = np.arange(first, last + 1) % len(steps)
            away = np.linalg.norm(np.cumsum(steps[rows, limb], axis=0), axis=1)
            comes_back = bool(away[-1] < COMES_BACK * away.max())
            is_low_swing = away.max() > FARTHEST * seen.motion.hip_height_m
            if not is_low_swing and not (comes_back and len(rows) <= OF_A_POP):
                takes_all = _is_of_all(low[rows] & np.roll(low, -1, axis=0)[rows], steps[rows])
                found.append(Slide(limb, first, last + 1, float(away.max()), comes_back, takes_all))
    return tuple(found)


def _is_of_all(down: Bools, steps: Array) -> bool:
    """Tell whether feet that are down (rows, 4) all make about the same steps (rows, 4, 2)."""
    told = down.sum(axis=1) >= FEWEST
    if not told.all():
        return False
    own = np.where(down[..., None], steps, np.nan)
    apart = np.nansum((own - np.nanmedian(own, axis=1, keepdims=True)) ** 2)
    return bool(apart < ALIKE * np.nansum(own**2))


def _sigma_m(seen: Seen, limb: int) -> float:
    """Deviation of a toe over the ground from the clip's own noise. [m]"""
    return float(np.hypot(*seen.noise.toe_m[limb, :2]))


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
    found: list[tuple[int, int]] = []
    for (_, before), (after, _) in pairwise(stands):
        if not down[before : after + 1].all():
            continue
        if found and before - found[-1][1] <= BRIEF and down[found[-1][1] : before + 1].all():
            found[-1] = (found[-1][0], int(after) - 1)
        else:
            found.append((int(before) + 1, int(after) - 1))
    return [each for each in found if not turn or each[0] < turn]
