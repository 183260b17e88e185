"""Feet on spots: single stances are moved to where a mark has them, as far as a leg may step aside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import Path
from gaitgen.errors import Notice
from gaitgen.shot.timeline import Pin, Timeline
from gaitgen.shot.way import nearest_m

Array = npt.NDArray[np.float64]

# How far a single step may be from where it would be, along the path and aside, in hip heights (estimates).
FARTHEST_ALONG, FARTHEST_ASIDE = 0.15, 0.10
# Moved by less than this a stance is still that of its cycle. [m]
MOVED_M = 1e-3
# So long a foot stays down for its spot, and by such a share of its stance at the most (estimates). [frames]
LONGER, LONGER_SHARE = 1.0, 0.1


def pinned(timeline: Timeline, path: Path, pins: tuple[Pin, ...]) -> tuple[Timeline, tuple[Notice, ...]]:
    """Move stances to their spots; what is farther than a step comes as near as it can, with a notice."""
    laid = timeline.stances
    along, aside, moved = laid.along_m.copy(), laid.aside_m.copy(), laid.moved.copy()
    liftoff = laid.liftoff.copy()
    said = []
    for pin in pins:
        number, asked, taken = _move_m(timeline, along, aside, path, pin)
        liftoff[number] = max(liftoff[number], laid.liftoff[number] + longer_frames(timeline, pin))
        along[number] += taken[0]
        aside[number] += taken[1]
        moved[number] |= bool(np.abs(taken).max() > MOVED_M)
        far = float(np.hypot(*(asked - taken)))
        if far > MOVED_M:
            (x, y), _ = path.beside(along[number], aside[number])
            said.append(
                Notice(
                    "mark",
                    f"{pin.where}: {LIMBS[pin.limb]} lands {far:.2f} m from its spot, as far as it may step "
                    f"aside; put the spot at [{x:.2f}, {y:.2f}], where it lands, or lead the path there.",
                )
            )
    if not pins:
        return timeline, ()
    stances = replace(laid, along_m=along, aside_m=aside, moved=moved, liftoff=liftoff)
    return replace(timeline, stances=stances), tuple(said)


def longer_frames(timeline: Timeline, pin: Pin) -> float:
    """Say how much longer a foot stays down to stand on its spot; 0 where it does, or that is too long."""
    number, late = stance_at(timeline, pin.limb, pin.frame)
    length = timeline.stances.liftoff[number] - timeline.stances.touchdown[number]
    return late if 0.0 < late <= min(LONGER, LONGER_SHARE * float(length)) else 0.0


def lands(timeline: Timeline, path: Path, pin: Pin) -> tuple[float, tuple[float, float]]:
    """Return how far from its spot a foot lands that steps aside for it as far as it may, and where. [m]"""
    laid = timeline.stances
    number, asked, taken = _move_m(timeline, laid.along_m, laid.aside_m, path, pin)
    (x, y), _ = path.beside(laid.along_m[number] + taken[0], laid.aside_m[number] + taken[1])
    return float(np.hypot(*(asked - taken))), (float(x), float(y))


def _move_m(timeline: Timeline, along: Array, aside: Array, path: Path, pin: Pin) -> tuple[int, Array, Array]:
    """Say which stance stands on a spot, and how far it is moved along the path and aside, (2,). [m]

    Parameters
    ----------
    timeline, path
        The shot, and its way.
    along, aside
        (stances,) where its feet are along the path, and beside it to the left. [m]
    pin
        The spot.

    Returns
    -------
    The stance, what is asked of it, and what it may step of that.
    """
    number, _ = stance_at(timeline, pin.limb, pin.frame)
    turned = [spin.at_m for spin in path.spins if spin.at_m < along[number]]
    near = nearest_m(path, pin.place_m, max(turned, default=0.0))
    place, heading, _ = path.at(np.array(near))
    left = float((np.array(pin.place_m) - place) @ np.array([-np.sin(heading), np.cos(heading)]))
    asked = np.array([near - along[number], left - aside[number]])
    most = timeline.cycles[0].animal.hip_height_m * np.array([FARTHEST_ALONG, FARTHEST_ASIDE])
    return number, asked, np.clip(asked, -most, most)


def stance_at(timeline: Timeline, limb: int, row: int) -> tuple[int, float]:
    """Find the stance of a foot at a frame, or the nearest before it, and how much too late the frame is."""
    laid = timeline.stances
    mine = np.flatnonzero(laid.limb == limb)
    begun = mine[laid.touchdown[mine] <= row]
    number = int(begun[-1] if begun.size else mine[0])
    return number, float(max(row - laid.liftoff[number], 0.0) + min(row - laid.touchdown[number], 0.0))
