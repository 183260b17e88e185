"""Rotation channels that jump from one frame to the next."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.numerics.turns import turn_between_rad

MOST_FLIPS = 12  # of a joint


def flips(seen: Seen) -> list[Finding]:
    """Find rotation channels that jump: without motion (a flip), or with it (a jump)."""
    file = seen.motion.file
    limit, real_limit = seen.limits["rotation_flip"].top, seen.limits["rotation_jump"].top
    found: list[Finding] = []
    for joint, columns in enumerate(channel_columns(file, "rotation")):
        if not columns:
            continue
        steps = np.abs(np.diff(file.rows[:, columns], axis=0)).max(axis=1)
        for row in np.flatnonzero(steps > min(limit, real_limit))[:MOST_FLIPS]:
            pair = seen.motion.local[row : row + 2, joint]
            real = float(np.degrees(turn_between_rad(*pair)))
            name, frames = file.joint_names[joint], (int(row), int(row) + 1)
            if real > 0.5 * float(steps[row]):
                found += seen.finding(
                    "rotation jump",
                    name,
                    frames,
                    real,
                    "turn this joint the short way",
                    limit_name="rotation_jump",
                )
            else:
                found += seen.finding(
                    "flipped rotation",
                    name,
                    frames,
                    float(steps[row]),
                    "add or take away full turns until the curve is continuous; the pose is right, its "
                    "numbers jump",
                    limit_name="rotation_flip",
                )
    return found
