"""A body that leaves the ground with all its feet for a moment, and puts them back on their prints."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

SAME_PRINT = 0.02  # hip heights: a foot that is put down so near where it was taken up stands in its print
ON_IT = 0.008  # hip heights: so near the height of its stance, a foot is on the ground
WITH_BODY = 0.5  # of what a foot goes up, the root goes up so much at least: it is not the leg that lifts it
FEWEST, MOST = 2, 0.4  # rows without any foot down; and the part of a stride that they are at the most


def body_lifted(seen: Seen) -> list[Finding]:
    """Find moments at which no foot is down, after which a foot is in its print again, and the root came too.

    A leap goes on to other prints, and a foot that marks time leaves others down.
    """
    down = _down(seen)
    toes = _on_the_ground_m(seen)
    most = MOST * (seen.gait.period if seen.gait is not None else seen.period)
    found: list[Finding] = []
    for first, last in runs(np.asarray(~down.any(axis=1), dtype=bool)):
        before, after = first - 1, last + 1
        if before < 0 or after >= len(down) or not FEWEST <= last - first + 1 <= most:
            continue
        feet = [limb for limb in range(4) if _is_in_its_print(seen, down, toes, limb, before, after)]
        if not feet:
            continue
        rows = np.arange(before, after + 1)
        up = max(float(_over_ends(toes[rows, limb, 2]).max()) for limb in feet)
        if float(_over_ends(seen.motion.root_m[rows, 2]).max()) < WITH_BODY * up:
            continue
        found += seen.finding(
            "body moves over planted feet",
            "whole body",
            (first, last),
            1000.0 * up,
            "the root goes up and takes all feet off the ground with it, and puts them back on their prints: "
            "mend the root's curve, or keep the feet where they are",
            noise=1000.0 * float(seen.noise.toe_m[:, 2].max()),
            limit_name="body_over_feet",
            joint=seen.motion.file.joint_names[0],
        )
    return found


def _down(seen: Seen) -> npt.NDArray[np.bool_]:
    """Whether feet (rows, 4) are planted, at the height of their stance."""
    slack = ON_IT * seen.motion.hip_height_m + STANDS_OUT * seen.noise.toe_m[:, 2]
    down = np.array(seen.feet.planted, dtype=bool)
    for stance in seen.feet.stances:
        rows = np.arange(stance.first, stance.last + 1) % len(down)
        up = stance.path_m[:, 2] - np.median(stance.path_m[:, 2])
        down[rows, stance.limb] &= up < slack[stance.limb]
    return down


def _on_the_ground_m(seen: Seen) -> Array:
    """Paths of the toes against the ground that may go under them, (rows, 4, 3). [m]"""
    gone = np.arange(seen.motion.frames)[:, None] * seen.feet.belt_m_s / seen.motion.frame_rate_hz
    return seen.motion.toes_m - np.pad(gone, ((0, 0), (0, 1)))[:, None]


def _is_in_its_print(
    seen: Seen, down: npt.NDArray[np.bool_], toes_m: Array, limb: int, before: int, after: int
) -> bool:
    """Whether a foot is down at one row and at a later one in the same place, give or take a row."""
    one = [row for row in (before, before - 1) if row >= 0 and down[row, limb]]
    other = [row for row in (after, after + 1) if row < len(down) and down[row, limb]]
    if not one or not other:
        return False
    apart = np.linalg.norm(toes_m[other[0], limb] - toes_m[one[0], limb])
    return bool(apart < SAME_PRINT * seen.motion.hip_height_m)


def _over_ends(values: Array) -> Array:
    """How far values (rows,) are over the line from the first to the last."""
    return values - np.linspace(values[0], values[-1], len(values))
