"""Rotation channels that jump from one frame to the next."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.opposite import mates_of
from gaitgen.check.findings.sharp_turns import COARSE_MOST
from gaitgen.check.findings.slipped import or_its_point
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

MOST_FLIPS = 12  # of a joint
NEARER = 0.9  # a channel that jumps has other angles that are nearer than by this share of the jump
STRIDES_NEAR = 2.0
# A pose that turns by so many times what it does in nine of ten frames, and by more than that, jumps itself.
LEAPS, USUALLY, LEAST_DEG = 2.0, 0.9, 10.0
# Times what its mate turns by in a frame elsewhere: no jump of one joint, but a quick gait. Its mate may have
# been made smaller, as by a layer at three quarters of its weight.
ALIKE = 1.35
# Nor is it one where with the frame before or after it the joint goes on the same way, so many times as far:
# a pose that jumps is there at once, or comes back (estimate).
GOES_ON = 1.3


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
            its_point = or_its_point(seen, int(row), joint) or or_its_point(seen, int(row) + 1, joint)
            if real > 0.5 * float(steps[row]):
                if seen.is_coarse and real <= real_limit * seen.coarseness:
                    continue  # a longer frame has a longer step
                if real < limit and _is_quick(seen, mates.get(joint, joint), joint, int(row), real):
                    continue
                found += seen.finding(
                    "rotation jump",
                    name,
                    frames,
                    real,
                    f"turn this joint the short way{its_point}",
                    limit_name="rotation_jump",
                )
            elif _nearest_deg(*file.rows[row : row + 2, columns]) < NEARER * float(steps[row]):
                found += seen.finding(
                    "flipped rotation",
                    name,
                    frames,
                    float(steps[row]),
                    f"{_what_to_do(seen, joint, real)}{its_point}",
                    limit_name="rotation_flip",
                )
    return found


def _what_to_do(seen: Seen, joint: int, real_deg: float) -> str:
    """Say it of numbers that jump alone, or of a pose that jumps with them, if by less."""
    turns = np.degrees(turn_between_rad(seen.motion.local[:-1, joint], seen.motion.local[1:, joint]))
    if real_deg > max(LEAPS * float(np.quantile(turns, USUALLY)), LEAST_DEG):
        return "the pose jumps with these numbers, if by less; set them as they are in the frames beside"
    return "add or take away full turns until the curve is continuous; the pose is right, its numbers jump"


def _nearest_deg(first: Array, second: Array) -> float:
    """Least step from one row of angles to any that make the same rotation as the next. [degrees]

    Near its pole a joint's channels turn far for little motion, and no others are nearer, or only those
    beyond the pole, where a loop that stays on its side of it would not close.
    """
    tried = [second]
    if len(second) == 3 and np.cos(np.radians(first[1])) * np.cos(np.radians(second[1])) < 0.0:
        tried.append(second * np.array([1.0, -1.0, 1.0]) + 180.0)
    return min(float(np.abs((each - first + 180.0) % 360.0 - 180.0).max()) for each in tried)


def _is_quick(seen: Seen, mate: int, joint: int, row: int, real_deg: float) -> bool:
    """Whether a joint of a stride of few frames turns so far in a step of its own.

    Its mate turns as far in one, or it turns on the same way in the frame before or after.
    """
    turns, period = seen.motion.local[:, mate], 0.0
    if seen.gait is not None:
        period = seen.gait.period
    elif seen.shot is not None:
        here = (each.period for each in seen.shot.stretches if each.first <= row < each.last)
        period = next(here, 0.0)
        reach = round(STRIDES_NEAR * period)
        turns = turns[max(0, row - reach) : row + reach + 2]
    if mate == joint or not 0.0 < period <= COARSE_MOST:
        return False
    most = float(np.degrees(turn_between_rad(turns[:-1], turns[1:]).max()))
    return real_deg < ALIKE * most or _across_deg(seen, joint, row) > GOES_ON * real_deg


def _across_deg(seen: Seen, joint: int, row: int) -> float:
    """How far a joint turns from a row to the next together with the step before, or with that after."""
    own = seen.motion.local[:, joint]
    pairs = [(at, at + 2) for at in (row - 1, row) if at >= 0 and at + 2 < len(own)]
    return max((float(np.degrees(turn_between_rad(own[a], own[b]))) for a, b in pairs), default=0.0)
