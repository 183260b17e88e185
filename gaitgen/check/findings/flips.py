"""Rotation channels that jump from one frame to the next."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.sharp_turns import COARSE_MOST, mates_of
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.numerics.turns import turn_between_rad

MOST_FLIPS = 12  # of a joint
ALIKE = 1.2  # times what its mate turns by in a frame elsewhere: no jump of one joint, but a quick gait


def flips(seen: Seen) -> list[Finding]:
    """Find rotation channels that jump: without motion (a flip), or with it (a jump)."""
    file = seen.motion.file
    limit, real_limit = seen.limits["rotation_flip"].top, seen.limits["rotation_jump"].top
    found: list[Finding] = []
    mates = mates_of(seen)
    for joint, columns in enumerate(channel_columns(file, "rotation")):
        if not columns:
            continue
        steps = np.abs(np.diff(file.rows[:, columns], axis=0)).max(axis=1)
        for row in np.flatnonzero(steps > min(limit, real_limit))[:MOST_FLIPS]:
            pair = seen.motion.local[row : row + 2, joint]
            real = float(np.degrees(turn_between_rad(*pair)))
            name, frames = file.joint_names[joint], (int(row), int(row) + 1)
            if real > 0.5 * float(steps[row]):
                if real < limit and real < ALIKE * _most_deg(seen, mates.get(joint, joint), joint):
                    continue  # so few frames of so quick a gait: its mate turns as far in one of its own
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


def _most_deg(seen: Seen, mate: int, joint: int) -> float:
    """Most that a joint's mate turns by in a frame of a running stride of few frames; else 0. [degrees]"""
    if mate == joint or seen.gait is None or seen.gait.walks or seen.gait.period > COARSE_MOST:
        return 0.0
    turns = seen.motion.local[:, mate]
    return float(np.degrees(turn_between_rad(turns[:-1], turns[1:]).max()))
