"""Faults of single frames: pops, missing, repeated, swapped and stuck frames, flipped rotations."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jumps import lost
from gaitgen.check.findings.kicks import kicks
from gaitgen.check.findings.neighbours import SAME_DEG, off_line, padded
from gaitgen.check.findings.retimed import swaps
from gaitgen.check.findings.sharp_turns import (
    MOVES_DEG,
    NEAR,
    STANDS_OVER,
    at_seam,
    below,
    coarse,
    off_line_deg,
    sharp_turns,
)
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

WHOLE = 0.35  # share of the moving joints that pop at once when it is the whole body
STRAYED = 0.6  # of the moving joints: so many are worst at one frame when its pose is out of place
MOST_POPS = 12
OFF_KEY = "take the key at this frame out, or put it on the curve of its neighbours"
# On twos every second step is held: of the steps in turn, so much more are on one side than on the other.
LEAST_ON_TWOS, ON_TWOS = 7, 0.8


def pops(seen: Seen) -> list[Finding]:
    """Find joints that leave the line of their neighbour frames for a frame."""
    found: list[Finding] = []
    flicking = _flicking(seen)
    moving = int((np.ptp(seen.motion.file.rows, axis=0) > MOVES_DEG).sum() / 3.0)
    sharp = sharp_turns(seen)
    known = {(row, joint) for row, joint, _ in sharp}
    thrown = [kick for kick in kicks(seen) if kick[:2] not in known]
    hits = sorted(hit for hit in (*sharp, *thrown) if not at_seam(seen, hit[0]))
    found += _strayed(seen)
    strays = {finding.first_frame - 1 for finding in found}
    for row, group in groupby(hits, key=lambda hit: hit[0]):
        members = list(group)
        if any(abs(row - stray) <= 1 for stray in strays):
            continue
        if len(members) > max(3.0, WHOLE * moving):
            worst = max(size for _, _, size in members)
            found += seen.finding("pop", "whole body", (row, row), worst, OFF_KEY)
            continue
        for _, joint, size in sorted(members, key=lambda hit: -hit[2])[:MOST_POPS]:
            if joint in flicking:
                continue
            found += seen.finding("pop", seen.motion.file.joint_names[joint], (row, row), size, OFF_KEY)
    return found + root_pops(seen)


def _strayed(seen: Seen) -> list[Finding]:
    """Find a frame at which most joints are farther off their line than at any other: a pose out of place."""
    off = off_line_deg(seen)
    moving = off.max(axis=0) > MOVES_DEG
    if not moving.any():
        return []
    off = off[:, moving]
    rows, count = np.unique(off.argmax(axis=0), return_counts=True)
    row = int(rows[count.argmax()])
    if at_seam(seen, row) or count.max() < STRAYED * moving.sum():
        return []
    return seen.finding(
        "pop",
        "whole body",
        (row, row),
        float(off[row].max()),
        "take the keys at this frame out: its pose is not on the way from the frame before to the one after",
    )


def _flicking(seen: Seen) -> set[int]:
    """Joints that may flick: ears, and whatever hangs on them."""
    ears = [name for name in (seen.motion.map.ear_left, seen.motion.map.ear_right) if name]
    return {joint for name in ears for joint in below(seen, seen.motion.joint(name))}


def root_pops(seen: Seen) -> list[Finding]:
    """Find a root that leaves the line of its neighbour frames for a frame."""
    path = seen.motion.root_m
    rows = np.arange(len(path))[:, None]
    steady = (path[-1] - path[0]) / (len(path) - 1)
    off = np.linalg.norm(off_line(padded(seen, path - rows * steady)), axis=1)
    off[:2] = off[-2:] = 0.0
    row = int(off.argmax())
    size = float(off[row])
    other = off.copy()
    other[max(0, row - NEAR) : row + NEAR + 1] = 0.0
    near, share = coarse(seen, row)
    few = share * float(np.linalg.norm(np.ptp((path - rows * steady)[near], axis=0))) if near.size else 0.0
    if size < max(STANDS_OVER * float(other.max()), few):
        return []
    return seen.finding(
        "pop",
        seen.motion.file.joint_names[0],
        (row, row),
        1000.0 * size,
        OFF_KEY,
        noise=2.4 * 1000.0 * seen.noise.root_m,
        limit_name="root_pop",
    )


def missing(seen: Seen) -> list[Finding]:
    """Find places where frames have been cut out."""
    found: list[Finding] = []
    for row, frames in lost(seen):
        found += seen.finding(
            "frames missing",
            "whole body",
            (row, row + 1),
            frames,
            f"put {_counted(max(1, round(frames)))} back between these two",
            limit_name="jump",
        )
    return found


def _counted(frames: int) -> str:
    return "1 frame" if frames == 1 else f"{frames} frames"


def swapped(seen: Seen) -> list[Finding]:
    """Find two frames that have changed places."""
    found: list[Finding] = []
    for swap in swaps(seen):
        first, second = seen.frame(swap.row), seen.frame(swap.row + swap.frames)
        found += seen.finding(
            "frames swapped",
            "whole body",
            (swap.row, swap.row + swap.frames),
            float(swap.frames + 1),
            f"put frame {first} and frame {second} into each other's place",
            limit_name="frames_swapped",
        )
    return found


def frozen(seen: Seen) -> list[Finding]:
    """Find parts that turn in no frame while the rest moves."""
    steps = np.ptp(seen.motion.file.rows, axis=0)
    if float(np.median(steps)) < MOVES_DEG:
        return []
    found: list[Finding] = []
    for part, columns in _parts(seen).items():
        if columns and float(steps[columns].max()) < MOVES_DEG:
            found += seen.finding(
                "frozen",
                part,
                (0, seen.motion.frames - 1),
                1.0,
                "animate this part: it turns in no frame",
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


def is_on_twos(rows: Array) -> bool:
    """Whether a moving clip, (frames, channels), holds every second frame."""
    steps = np.abs(np.diff(rows, axis=0)).max(axis=1)
    held = steps < SAME_DEG
    if len(held) < LEAST_ON_TWOS or held.all() or float(np.median(steps[~held])) < MOVES_DEG:
        return False
    return bool(abs(held[::2].mean() - held[1::2].mean()) > ON_TWOS)


def on_twos(seen: Seen) -> list[Finding]:
    """Find a clip on twos: one finding for all frames that are held."""
    rows = seen.motion.file.rows
    if not is_on_twos(rows):
        return []
    held = np.abs(np.diff(rows, axis=0)).max(axis=1) < SAME_DEG
    return seen.finding(
        "on twos",
        "whole body",
        (0, seen.motion.frames - 1),
        float(held.sum()),
        "check the clip with one frame a pose, before it goes on twos: held frames hide contacts and slip; "
        "if it is meant, say --meant 'on twos'",
        limit_name="repeated_frame",
    )


def repeated(seen: Seen) -> list[Finding]:
    """Find frames that repeat the one before: the whole body stands still while it should move."""
    steps, whole = _steps(seen)
    found: list[Finding] = []
    for first, last in runs(whole) if steps.size else ():
        count = last - first + 1
        kind, name = ("repeated frame", "repeated_frame") if count == 1 else ("stuck", "stuck")
        do = (
            "take one of the two out, or put the pose between its neighbours there; if it is meant to "
            "repeat, say --meant 'repeated frame'"
            if count == 1
            else "let the motion go on through these frames"
        )
        found += seen.finding(kind, "whole body", (first, last + 1), float(count), do, limit_name=name)
    return found


def stuck_parts(seen: Seen) -> list[Finding]:
    """Find parts that stand still while the rest moves."""
    steps, whole = _steps(seen)
    found: list[Finding] = []
    for part, columns in _parts(seen).items() if steps.size else ():
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


def _steps(seen: Seen) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Return steps of channels, (frames - 1, channels), and where all make none; empty if the body stands."""
    steps = np.abs(np.diff(seen.motion.file.rows, axis=0))
    if float(np.median(steps.max(axis=1))) < MOVES_DEG:
        return np.zeros((0, 0)), np.zeros(0, dtype=bool)
    return steps, steps.max(axis=1) < SAME_DEG


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
                    "add or take away full turns until the curve is continuous; the pose is right, its "
                    "numbers jump",
                    limit_name="rotation_flip",
                )
    return found
