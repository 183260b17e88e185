"""Frames in which left is right: a clip that goes on as its own mirror image from one frame to the next."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.seen import Seen
from gaitgen.check.shot.found import cut
from gaitgen.check.trial import MIRROR, taken_apart
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

# A step into the mirror is so many times the usual one, and without the mirror it were so much of what it is.
FAR, ORDINARY = 1.5, 0.5
MOVES = 1e-3  # of the cells of a joint's rotation: one that moves less stands
BACK = 0.75  # of the way to a pose: so near each other are those beside it, if it does not belong there
ROWS = 2000  # of a clip that are looked at at once
LEAST_DEG = 2.0  # of the mean joint: a body that hardly moves is its own mirror image


def mirrored(seen: Seen) -> list[Finding]:
    """Find frames in which left and right are exchanged."""
    first, last = _span(seen)
    if last < first:
        return []
    return seen.finding(
        "mirrored",
        "whole body",
        (first, last),
        float(last - first + 1),
        "exchange left and right in these frames: the clip goes on as its mirror image, and back",
    )


def _span(seen: Seen) -> tuple[int, int]:
    """First and last row of what is mirrored, the shorter part of a clip; (0, -1) if none is."""
    rows = seen.motion.frames
    plain, through = _steps_deg(seen)
    if not plain.size:
        return 0, -1
    usual = float(np.median(plain))
    is_flip = (plain > max(FAR * usual, LEAST_DEG)) & (through < ORDINARY * plain)
    flips = np.flatnonzero(is_flip)
    if not len(flips):
        return 0, -1
    after = int(flips[0]) + 1
    if after == rows - 1 and seen.loop.repeats_first:  # which is the first again, and that is not mirrored
        return 0, -1
    if len(flips) > 1:
        return after, int(flips[1])
    beside = plain[max(0, after - 2) : after + 1]
    if int((beside > FAR * usual).sum()) > 1 and _is_there_and_back(seen, after):
        return 0, -1
    return (after, rows - 1) if rows - after <= after + 1 else (0, after - 1)


def _is_there_and_back(seen: Seen, row: int) -> bool:
    """Whether a pose, or the one before it, is farther from both beside it than these are from each other."""
    first, last = max(0, row - 2), min(seen.motion.frames - 1, row + 1)
    turns = taken_apart(cut(seen.motion, first, last)).turns[:, 1:]
    steps = turn_between_rad(turns[:-1], turns[1:]).mean(axis=1)
    over = turn_between_rad(turns[:-2], turns[2:]).mean(axis=1)
    return bool((over < BACK * np.minimum(steps[:-1], steps[1:])).any())


def _steps_deg(seen: Seen) -> tuple[Array, Array]:
    """How far the mean moving joint turns in each step, and from each pose to the mirror image of the next.

    Both (frames - 1,), in degrees. A long clip is looked at some rows at a time, which keeps memory small.
    """
    motion, mates = seen.motion, mates_of_joints(seen)
    moving = np.ptp(motion.local.reshape(motion.frames, -1, 9), axis=0).max(axis=1) > MOVES
    moving[0] = False  # whose turn is the way it goes
    if not moving.any():
        return np.zeros(0), np.zeros(0)
    found: list[tuple[Array, Array]] = []
    for first in range(0, motion.frames - 1, ROWS):
        turns = taken_apart(cut(motion, first, min(first + ROWS, motion.frames - 1))).turns
        image = (MIRROR @ turns[1:, mates] @ MIRROR)[:, moving]
        here = turns[:, moving]
        found.append(
            (
                np.degrees(turn_between_rad(here[:-1], here[1:])).mean(axis=1),
                np.degrees(turn_between_rad(here[:-1], image)).mean(axis=1),
            )
        )
    plain, through = (np.concatenate(each) for each in zip(*found, strict=True))
    return plain, through
