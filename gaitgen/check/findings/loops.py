"""Loops that do not close, and roots that do not come back."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.pops import flicking_joints
from gaitgen.check.findings.sharp_turns import NEAR, off_line_deg, sharp_turns
from gaitgen.check.seen import Seen
from gaitgen.numerics.turns import turn_between_rad

REPEATS_DEG = 0.01  # that joints of a frame differ from those of another that was copied from it, rounded
BESIDE = 2 * NEAR  # frames on either side of the end of a loop in which a flick begins or ends


def position(seen: Seen) -> list[Finding]:
    """Find a loop whose last frame is not the first again."""
    if not seen.loop.closes:
        return []
    last = seen.motion.frames - 1
    found: list[Finding] = []
    if seen.loop.repeats_first:
        turns = np.degrees(turn_between_rad(seen.motion.local[0], seen.motion.local[-1]))
        joint = int(turns.argmax())
        found += seen.finding(
            "loop not closing",
            seen.motion.file.joint_names[joint],
            (last, 0),
            float(turns[joint]),
            f"make frame {last + 1} equal to frame 1 (joints off: {(turns > 0.5 * turns.max()).sum()})",
            noise=1.5 * 1.73 * seen.noise.angle_deg,
            limit_name="loop_rotation",
        )
        rise = 1000.0 * abs(float(seen.motion.root_m[-1, 2] - seen.motion.root_m[0, 2]))
        found += seen.finding(
            "loop not closing",
            seen.motion.file.joint_names[0],
            (last, 0),
            rise,
            f"bring the root back to its height of frame 1 at frame {last + 1}",
            # Where all joints are as in frame 1, no noise is why the root is not.
            noise=0.0 if float(turns.max()) < REPEATS_DEG else 1414.0 * seen.noise.root_m,
            limit_name="loop_position",
        )
    return found


def speed(seen: Seen) -> list[Finding]:
    """Find a loop that starts at another speed than it ends."""
    if not seen.loop.closes:
        return []
    seam = [hit for hit in sharp_turns(seen, "loop_speed", at_the_seam=True) if not _is_a_flick(seen, hit)]
    if not seam:
        return []
    _, joint, size = max(seam, key=lambda hit: hit[2])
    return seen.finding(
        "speed jumps at the loop",
        seen.motion.file.joint_names[joint],
        (seen.loop.frames - 1, 0),
        size,
        "give the curves at both ends the same slope "
        f"(joints that change their speed there: {len({hit[1] for hit in seam})})",
        limit_name="loop_speed",
    )


def _is_a_flick(seen: Seen, hit: tuple[int, int, float]) -> bool:
    """Whether an ear flicks over the end of a loop: it turns more sharply beside the end than there."""
    _, joint, size = hit
    beside = np.concatenate([np.arange(1, BESIDE + 1), np.arange(-BESIDE - 1, -1)]) % seen.loop.frames
    return joint in flicking_joints(seen) and float(off_line_deg(seen)[beside, joint].max()) > size


def root_drift(seen: Seen) -> list[Finding]:
    """Find a body that creeps away in place, or goes another way than it faces."""
    motion = seen.motion
    if seen.feet.in_place:
        last = motion.frames - 1
        if not seen.loop.closes:
            if seen.gait is None or last < seen.gait.period:
                return []
            last = round(last // seen.gait.period * seen.gait.period)
        level = motion.root_m[:, :2]
        moved = level[last] - level[0]
        noise = 1414.0
        if seen.loop.closes and not seen.loop.repeats_first:
            # the step over the seam, which the clip does not have, is the mean of those beside it
            moved = moved + (level[1] - level[0] + level[-1] - level[-2]) / 2.0
            noise = 2236.0
        return seen.finding(
            "root drift",
            motion.file.joint_names[0],
            (0, last),
            1000.0 * float(np.linalg.norm(moved)),
            f"bring the root back: it moves {1000 * moved[0]:+.0f} mm along, {1000 * moved[1]:+.0f} mm aside",
            noise=noise * seen.noise.root_m,
        )
    if seen.gait is None:
        return []
    body = (motion.root_m[-1] - motion.root_m[0])[:2]
    way = float(np.arctan2(body[1], body[0]))
    facing = float(np.angle(np.exp(1j * motion.heading_rad).mean()))
    off = abs(float(np.degrees(np.angle(np.exp(1j * (way - facing))))))
    off = min(off, 180.0 - off)  # walking backwards is no crabbing
    return seen.finding(
        "crabbing",
        motion.file.joint_names[0],
        (0, motion.frames - 1),
        off,
        "turn the path of the root to the way the body faces, or the body to the way it goes",
    )
