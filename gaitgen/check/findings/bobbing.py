"""A root that goes up and down by more than its legs have it, so that nobody knows when its feet stand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.misread import MOST_FRAMES, RESTLESS, STILLER
from gaitgen.check.seen import Seen
from gaitgen.check.trial import unrest
from gaitgen.gait.gait import LIMBS


def bobbing(seen: Seen) -> list[Finding]:
    """Find a loop whose lowest sole goes up and down with its root: held on the ground, all feet stand.

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
