"""A body that leans: the feet of one side, or of one end, are off the ground, those of the other are not."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.feet import is_far_off
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import Tracked
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]

EXPLAINED = 0.35  # of the unevenness of the soles: what the lean may leave
LEAST_STANCES = 4
STEADY = 0.5  # of how far the feet of an end are off: one that rises and falls by more is itself off
LEVER = 0.3  # of how far the feet of an end are off: a bend of the back that lifts them makes more of it
# Times how far soles are off from each other: feet that rise and fall by more within a stance are moved by
# the curve of the root, not by a lean (a root leant by 4 degrees: 0.84 at the most, a bent back 1.5, a
# pitched root 2.7; a root that was smoothed over 4.8 as a rule).
ROCKS = 3.0
ON_GROUND = 0.3  # of how far the feet of one end are off the ground, those of the other may be


def leaning(seen: Seen) -> list[Finding]:
    """Find a root that is rolled to one side for the whole clip, and takes all feet with it."""
    motion, stances = seen.motion, seen.feet.stances
    if len(stances) < LEAST_STANCES or len({stance.limb for stance in stances}) < len(LIMBS):
        return []
    facing = float(np.angle(np.exp(1j * motion.heading_rad).mean()))
    left = np.array([-np.sin(facing), np.cos(facing)])
    heights = np.array([np.median(stance.path_m[:, 2]) for stance in stances])
    aside = ((motion.toes_m[..., :2] - motion.root_m[:, None, :2]) @ left).mean(axis=0)  # (feet,)
    across = float(aside[[0, 2]].mean() - aside[[1, 3]].mean())
    if across <= 0.0:
        return []
    off = np.array([aside[stance.limb] for stance in stances])
    off, uneven = off - off.mean(), heights - heights.mean()
    if _rocks(seen, uneven):
        return []
    slope = float(off @ uneven / (off @ off))  # feet under the body rise less than those beside it
    if float(np.linalg.norm(uneven - slope * off)) > EXPLAINED * float(np.linalg.norm(uneven)):
        return []
    lean = float(np.degrees(np.arctan(slope)))
    sigma = float(np.degrees(seen.noise.toe_m[:, 2].max() / max(across, 1e-6)))
    return seen.finding(
        "body leans",
        "whole body",
        (0, motion.frames - 1),
        abs(lean),
        f"roll the root {'left' if lean > 0.0 else 'right'} side down by {abs(lean):.1f} "
        "degrees: the soles of one side are over the ground, those of the other under it",
        noise=sigma,
        joint=motion.file.joint_names[0],
    )


def pitched(seen: Seen) -> list[Finding]:
    """Find a trunk that is pitched for the whole clip: both soles of one end are off the ground."""
    motion, stances = seen.motion, seen.feet.stances
    if (
        len(stances) < LEAST_STANCES
        or len({stance.limb for stance in stances}) < len(LIMBS)
        or is_far_off(seen)
    ):
        return []
    is_fore = np.array([LIMBS[stance.limb][1] == "F" for stance in stances])
    heights = (
        np.array([np.median(stance.path_m[:, 2]) for stance in stances]) + seen.feet.ground_m - seen.plane_m
    )
    fore, hind = (float(heights[rows].mean()) for rows in (is_fore, ~is_fore))
    left_over = heights - np.where(is_fore, fore, hind)
    if float(np.linalg.norm(left_over)) > EXPLAINED * float(np.linalg.norm(heights - heights.mean())):
        return []
    if _rocks(seen, heights - heights.mean()):
        return []
    ends = (("fore", fore), ("hind", hind))
    word, off = max(ends, key=lambda end: abs(end[1]))
    other, on = min(ends, key=lambda end: abs(end[1]))
    stands = abs(on) < ON_GROUND * abs(off)
    rocks = [
        float(np.ptp(stance.path_m[:, 2]))
        for stance, is_front in zip(stances, is_fore, strict=True)
        if is_front == (word == "fore")
    ]
    if word == "hind" and float(np.median(rocks)) > STEADY * abs(off):  # a bent back rocks forefeet
        return []
    if stands and (not _is_bent(motion, abs(off)) or _are_feet_pitched(seen, word[0].upper(), off)):
        return []  # the trunk is straight, or soles alone are not level: feet are off, and say so
    where = "spine" if stands and word == "fore" else "hips" if stands else "whole body"
    mend = {
        "spine": "take off what bends the back (a layer that was left on?)",
        "hips": "take off what tips the hips against the back",
        "whole body": "pitch the root back",
    }[where]
    there = "on it" if stands else f"{1000.0 * abs(on):.0f} mm {'over' if on > 0.0 else 'under'} it"
    return seen.finding(
        "body leans",
        where,
        (0, motion.frames - 1),
        1000.0 * abs(fore - hind),
        f"{mend}: the soles of the {word} feet are {1000.0 * abs(off):.0f} mm "
        f"{'over' if off > 0.0 else 'under'} the ground, those of the {other} feet {there}",
        noise=1000.0 * float(seen.noise.toe_m[:, 2].max()),
        limit_name="body_off_ground",
        joint=motion.file.joint_names[0] if where == "whole body" else "",
    )


def _rocks(seen: Seen, uneven_m: Array) -> bool:
    """Whether feet rise and fall in their stances by more than these (stances,) are off from each other."""
    own = np.array([np.ptp(stance.path_m[:, 2]) for stance in seen.feet.stances])
    return float(np.median(own)) > ROCKS * float(np.sqrt((uneven_m**2).mean()))


def _are_feet_pitched(seen: Seen, end: str, off_m: float) -> bool:
    """Whether soles of an end, F or H, would be on the ground where they stand, were they but level."""
    motion, level = seen.motion, []
    for stance in seen.feet.stances:
        limb = LIMBS[stance.limb]
        if limb[1] != end:
            continue
        foot = motion.limb_joints(limb)[-1]
        rows = np.arange(stance.first, stance.last + 1)
        rows = rows % seen.loop.frames if seen.loop.closes else rows
        base = motion.places_m[rows, foot]
        sole = motion.toes_m[rows, stance.limb] - base
        standing = np.swapaxes(motion.changes[rows, foot], -1, -2) @ sole[..., None]
        level.append(float(np.median(base[:, 2] + standing[:, 2, 0])) - seen.plane_m)
    return abs(float(np.mean(level))) < ON_GROUND * abs(off_m)


def _is_bent(motion: Tracked, off_m: float) -> bool:
    """Whether chest and hips are pitched against each other by what lifts or sinks an end of the body so far.

    Over whole strides their mean pitch is the same, to some tenths of a degree in any gait.
    """
    hips, chest = (
        float(pitch_roll_yaw_rad(motion.changes[:, motion.joint(name)])[:, 0].mean())
        for name in (motion.map.pelvis, motion.map.chest)
    )
    tops = motion.places_m[:, [motion.top(limb) for limb in LIMBS]]
    long_m = float(np.linalg.norm(tops[:, :2].mean(axis=(0, 1)) - tops[:, 2:].mean(axis=(0, 1))))
    return abs(chest - hips) * long_m > LEVER * off_m
