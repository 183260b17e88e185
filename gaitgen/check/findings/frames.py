"""Faults of single frames: pops, missing, doubled and stuck frames, flipped rotations."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jumps import jumps
from gaitgen.check.findings.sharp_turns import (
    MOVES_DEG,
    NEAR,
    SAME_DEG,
    STANDS_OVER,
    at_seam,
    off_line,
    padded,
    sharp_turns,
)
from gaitgen.check.seen import Seen
from gaitgen.formats.read_bvh import channel_columns
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

WHOLE = 0.35  # share of the moving joints that pop at once when it is the whole body
MOST_POPS = 12


def pops(seen: Seen) -> list[Finding]:
    """Find joints that leave the line of their neighbour frames for a frame."""
    found: list[Finding] = []
    do = "take the key at this frame out, or put it on the curve of its neighbours"
    moving = int((np.ptp(seen.motion.file.rows, axis=0) > MOVES_DEG).sum() / 3.0)
    hits = sorted(hit for hit in sharp_turns(seen) if not at_seam(seen, hit[0]))
    for row, group in groupby(hits, key=lambda hit: hit[0]):
        members = list(group)
        if len(members) > max(3.0, WHOLE * moving):
            worst = max(size for _, _, size in members)
            found += seen.finding("pop", "whole body", (row, row), worst, do)
            continue
        for _, joint, size in sorted(members, key=lambda hit: -hit[2])[:MOST_POPS]:
            found += seen.finding("pop", seen.motion.file.joint_names[joint], (row, row), size, do)
    return found + _root_pops(seen, do)


def _root_pops(seen: Seen, do: str) -> list[Finding]:
    path = seen.motion.root_m
    rows = np.arange(len(path))[:, None]
    steady = (path[-1] - path[0]) / (len(path) - 1)
    off = np.linalg.norm(off_line(padded(seen, path - rows * steady)), axis=1)
    off[:2] = off[-2:] = 0.0
    row = int(off.argmax())
    size = float(off[row])
    other = off.copy()
    other[max(0, row - NEAR) : row + NEAR + 1] = 0.0
    if size < STANDS_OVER * float(other.max()):
        return []
    return seen.finding(
        "pop",
        seen.motion.file.joint_names[0],
        (row, row),
        1000.0 * size,
        do,
        noise=2.4 * 1000.0 * seen.noise.root_m,
        limit_name="root_pop",
    )


def missing(seen: Seen) -> list[Finding]:
    """Find places where frames have been cut out."""
    found: list[Finding] = []
    for row, frames in jumps(seen):
        found += seen.finding(
            "frames missing",
            "whole body",
            (row, row + 1),
            frames,
            f"put {max(1, round(frames))} frame(s) back between these two",
            limit_name="jump",
        )
    return found


def _parts(seen: Seen) -> dict[str, list[int]]:
    """Columns of the rotation channels of each part."""
    motion, columns = seen.motion, channel_columns(seen.motion.file, "rotation")
    joints = {limb: motion.limb_joints(limb) for limb in LIMBS}
    neck = [*motion.map.neck, *([motion.map.head] if motion.map.head else [])]
    joints["neck and head"] = [motion.joint(name) for name in neck]
    joints["tail"] = [motion.joint(name) for name in motion.map.tail]
    return {part: [column for j in members for column in columns[j]] for part, members in joints.items()}


def doubled_and_stuck(seen: Seen) -> list[Finding]:
    """Find frames that repeat the one before, and parts that stand still while the rest moves."""
    steps = np.abs(np.diff(seen.motion.file.rows, axis=0))
    whole = steps.max(axis=1) < SAME_DEG
    if float(np.median(steps.max(axis=1))) < MOVES_DEG:
        return []
    found: list[Finding] = []
    for first, last in runs(whole):
        count = last - first + 1
        kind, name = ("doubled frame", "doubled_frame") if count == 1 else ("stuck", "stuck")
        do = (
            "take one of the two out, or put the pose between its neighbours there"
            if count == 1
            else "let the motion go on through these frames"
        )
        found += seen.finding(kind, "whole body", (first, last + 1), float(count), do, limit_name=name)
    for part, columns in _parts(seen).items():
        if not columns:
            continue
        own = steps[:, columns].max(axis=1)
        if float(np.median(own)) < MOVES_DEG:
            continue
        for first, last in runs((own < SAME_DEG) & ~whole):
            found += seen.finding(
                "stuck",
                part,
                (first, last + 1),
                float(last - first + 1),
                "let this part go on moving through these frames",
            )
    return found


def flips(seen: Seen) -> list[Finding]:
    """Find rotation channels that jump: without motion (a flip), or with it (a jump)."""
    file = seen.motion.file
    limit, real_limit = seen.limits["rotation_flip"].top, seen.limits["rotation_jump"].top
    found: list[Finding] = []
    for joint, columns in enumerate(channel_columns(file, "rotation")):
        if not columns:
            continue
        steps = np.abs(np.diff(file.rows[:, columns], axis=0)).max(axis=1)
        for row in np.flatnonzero(steps > min(limit, real_limit))[:MOST_POPS]:
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
                    "unroll the angles of this joint: the pose is right, its numbers jump",
                    limit_name="rotation_flip",
                )
    return found
