"""Rotations of a leg, or of all joints, that have a fraction of their size: made whole, their feet stand."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.misread import MOST_FRAMES, RESTLESS, STILLER
from gaitgen.check.seen import Seen
from gaitgen.check.shot.found import cut
from gaitgen.check.trial import scaled, taken_apart, unrest
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import unrest as feet_unrest

Array = npt.NDArray[np.float64]

SIZES = (0.25, 1.0 / 3.0, 0.5, 2.0 / 3.0, 0.75, 1.5, 2.0)  # that a layer or a copied curve is given
BETTER = 0.5  # of the unrest that the next size leaves
UPPER = 2  # joints of a leg, from its top, that may be left out


def scaled_curves(seen: Seen) -> list[Finding]:
    """Find rotations of one leg, or of all joints, that have a part of their size, or too much."""
    motion = seen.motion
    if motion.frames > MOST_FRAMES:
        motion = cut(motion, 0, MOST_FRAMES - 1)
    if not (feet_unrest(seen.feet, motion.hip_height_m) > RESTLESS).any():
        return []
    now = unrest(motion, motion.toes_m)
    restless = np.flatnonzero(now > RESTLESS)
    if not len(restless):
        return []
    body = taken_apart(motion)
    if len(restless) > 1:
        joints = list(range(len(motion.file.joint_names)))
        left = [unrest(motion, body.toes(scaled(body, joints, 1.0 / size))) for size in SIZES]
        return _named(seen, "all joints", float(now.sum()), [float(each.sum()) for each in left], len(LIMBS))
    foot = int(restless[0])
    chain = motion.limb_joints(LIMBS[foot])
    for first in range(min(UPPER, len(chain))):
        left = [unrest(motion, body.toes(scaled(body, chain[first:], 1.0 / size))) for size in SIZES]
        found = _named(seen, LIMBS[foot], float(now[foot]), [float(each[foot]) for each in left], 1)
        if found:
            return found
    return []


def _named(seen: Seen, part: str, now: float, left: list[float], feet: int) -> list[Finding]:
    """Name the size at which feet are stillest, if they stand then and are not nearly as still at another."""
    order = np.argsort(left)
    best, second = left[order[0]], left[order[1]]
    if best > min(STILLER * now, feet * RESTLESS) or best > BETTER * second:
        return []
    size = SIZES[int(order[0])]
    whose = "all rotations" if part == "all joints" else "the rotations of this leg"
    return seen.finding(
        "scaled curves",
        part,
        (0, seen.motion.frames - 1),
        100.0 * size,
        f"multiply {whose} by {1.0 / size:.3g}, or give their layer its whole weight: then the feet stand",
        below=size < 1.0,
    )
