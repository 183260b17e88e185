"""A root that goes up and down by more than its legs have it, so that nobody knows when its feet stand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jitter import SMOOTH_ROOT, jitter
from gaitgen.check.findings.misread import MOST_FRAMES, RESTLESS, STILLER
from gaitgen.check.seen import Seen
from gaitgen.check.trial import unrest
from gaitgen.gait.gait import LIMBS

# Of the rows: second differences of noise change their sign in 73 of 100, and in most clips of 20 rows in
# more than this; those of a wave of five frames or more in fewer, and of a step or a jump at its place alone.
TO_AND_FRO = 0.45


def bobbing(seen: Seen) -> list[Finding]:
    """Find a loop whose lowest sole goes up and down with its root: held on the ground, all feet stand.

    One that goes to and fro from frame to frame shakes, be it for too few frames to tell by its path alone.
    Only where no walk is seen, for then the feet tell nothing of the body.
    """
    motion = seen.motion
    if not seen.loop.closes or motion.frames > MOST_FRAMES or (seen.gait is not None and seen.gait.walks):
        return []
    now = unrest(motion, motion.toes_m)
    if (now > RESTLESS).sum() < len(LIMBS) // 2:
        return []
    lowest = motion.toes_m[..., 2].min(axis=1)  # (frames,)
    up = np.zeros((motion.frames, 1, 3))
    up[:, 0, 2] = lowest - np.median(lowest)
    held = replace(motion, places_m=motion.places_m - up, toes_m=motion.toes_m - up)
    left = float(unrest(held, held.toes_m).sum())
    if left > min(STILLER * float(now.sum()), len(LIMBS) * RESTLESS):
        return []
    shakes_mm = _shakes_mm(seen, lowest)
    if shakes_mm:
        root, frames = motion.file.joint_names[0], (0, motion.frames - 1)
        if any(finding.limb == root for finding in jitter(seen)):
            return []
        return seen.finding("jitter", root, frames, shakes_mm, SMOOTH_ROOT, limit_name="root_jitter")
    low, high = int(lowest.argmin()), int(lowest.argmax())
    return seen.finding(
        "body moves over planted feet",
        "whole body",
        (0, motion.frames - 1),
        1000.0 * float(np.ptp(lowest)),
        "the root goes up and down by that more than the legs have it, and takes all feet off the ground and "
        f"under it: take it off the root's height (most at {seen.frame(high)}, least at {seen.frame(low)})",
        limit_name="body_over_feet",
        joint=motion.file.joint_names[0],
    )


def _shakes_mm(seen: Seen, height_m: npt.NDArray[np.float64]) -> float:
    """Return the deviation of a loop's height (frames,) if it goes to and fro in each frame; else 0. [mm]"""
    turn = 1000.0 * height_m[: seen.loop.frames]
    bend = np.roll(turn, 1) + np.roll(turn, -1) - 2.0 * turn
    least = seen.limits["root_jitter"].top
    sharp = np.abs(bend) > least
    turns_about = (bend * np.roll(bend, 1) < 0.0) & sharp & np.roll(sharp, 1)
    return float(np.sqrt((bend**2).mean() / 6.0)) if turns_about.mean() > TO_AND_FRO else 0.0
