"""A clip in radians, and one leg out of time in a gait whose sides differ: put right, their feet stand."""

from __future__ import annotations

import math

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.misread import BETTER, MOST_FRAMES, RESTLESS, STILLER
from gaitgen.check.seen import Seen
from gaitgen.check.shot.found import cut
from gaitgen.check.trial import scaled, taken_apart, unrest, with_legs_later
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import unrest as feet_unrest

MOST_RAD = 2.5 * math.pi  # no number of a file in radians is larger, give or take what was unwrapped
# Of the hip height: so far feet go as they are at most, and so far at least with the angles in degrees.
GO_NOWHERE, GO = 0.04, 0.2
MOST_LATE = 4  # frames
TURNS_APART = 0.1  # of a stride


def in_radians(seen: Seen) -> list[Finding]:
    """Find a clip whose angles are so small that legs hardly turn, and walk if they are taken for radians."""
    motion = seen.motion
    columns = [k for own in channel_columns(motion.file, "rotation") for k in own]
    if not columns or float(np.abs(motion.file.rows[:, columns]).max()) > MOST_RAD:
        return []
    motion = cut(motion, 0, MOST_FRAMES - 1) if motion.frames > MOST_FRAMES else motion
    before = motion.toes_m - motion.root_m[:, None]
    if float(np.ptp(before, axis=0).max()) > GO_NOWHERE * motion.hip_height_m:
        return []
    body = taken_apart(motion)
    toes = body.toes(scaled(body, list(range(len(motion.file.joint_names))), math.degrees(1.0)))
    goes = np.linalg.norm(np.ptp(toes - motion.root_m[:, None], axis=0), axis=1)
    if float(goes.min()) < GO * motion.hip_height_m or float(unrest(motion, toes).max()) > RESTLESS:
        return []
    return seen.finding(
        "angles in radians",
        "all joints",
        (0, seen.motion.frames - 1),
        100.0 * float(goes.mean()) / motion.hip_height_m,
        f"multiply all rotations by {math.degrees(1.0):.4f}: they seem to be in radians, and a BVH has them "
        "in degrees; then the feet stand",
        limit_name="misread",
    )


def _takes_turns(seen: Seen) -> bool:
    """Whether a pair of legs at least takes turns, half a stride apart."""
    if seen.gait is None:
        return False
    steps = seen.gait.summary.hind_step, seen.gait.summary.fore_step
    return min(abs(step - 0.5) for step in steps) < TURNS_APART


def late_leg(seen: Seen) -> list[Finding]:
    """Find the one leg of a loop that is some frames early or late, in a gait whose sides differ anyway.

    Where a pair does the same half a stride apart, its asymmetry tells it.
    """
    motion, loop = seen.motion, seen.loop
    if not loop.closes or _takes_turns(seen) or motion.frames > MOST_FRAMES:
        return []
    if not (feet_unrest(seen.feet, motion.hip_height_m) > RESTLESS).any():
        return []
    now = unrest(motion, motion.toes_m)
    foot = int(now.argmax())
    others = np.delete(now, foot)
    if now[foot] < RESTLESS or float(others.max()) > RESTLESS:
        return []
    body = taken_apart(motion)
    by = [rows for rows in range(-MOST_LATE, MOST_LATE + 1) if rows]
    moved = [with_legs_later(body, LIMBS[foot], rows, loop.frames) for rows in by]
    left = [float(unrest(motion, body.toes(turns))[foot]) for turns in moved]
    order = np.argsort(left)
    best, second = left[order[0]], left[order[1]]
    if best > min(STILLER * now[foot], RESTLESS) or best > BETTER * second:
        return []
    rows = by[int(order[0])]
    return seen.finding(
        "leg out of time",
        LIMBS[foot],
        (0, motion.frames - 1),
        100.0 * float(now[foot]),
        f"move all keys of this leg {abs(rows)} frame{'s' if abs(rows) > 1 else ''} "
        f"{'later' if rows > 0 else 'earlier'}: then its foot stands",
        limit_name="misread",
    )
