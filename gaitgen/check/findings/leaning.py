"""A body that leans: the feet of one side are over the ground, those of the other under it."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

EXPLAINED = 0.35  # of the unevenness of the soles: what the lean may leave
LEAST_STANCES = 4


def leaning(seen: Seen) -> list[Finding]:
    """Find a root that is rolled to one side for the whole clip, and takes all feet with it."""
    motion, stances = seen.motion, seen.feet.stances
    if len(stances) < LEAST_STANCES or len({stance.limb for stance in stances}) < len(LIMBS):
        return []
    facing = float(np.angle(np.exp(1j * motion.heading_rad).mean()))
    left = np.array([-np.sin(facing), np.cos(facing)])
    is_left = np.array([LIMBS[stance.limb][0] == "L" for stance in stances])
    heights = np.array([np.median(stance.path_m[:, 2]) for stance in stances])
    up = float(heights[is_left].mean() - heights[~is_left].mean())
    left_over = heights - np.where(is_left, heights[is_left].mean(), heights[~is_left].mean())
    if float(np.linalg.norm(left_over)) > EXPLAINED * float(np.linalg.norm(heights - heights.mean())):
        return []
    aside = ((motion.toes_m[..., :2] - motion.root_m[:, None, :2]) @ left).mean(axis=0)  # (feet,)
    across = float(aside[[0, 2]].mean() - aside[[1, 3]].mean())
    if across <= 0.0:
        return []
    lean = float(np.degrees(np.arctan2(up, across)))
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
