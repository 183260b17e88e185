"""Frames and parts that stand still, and numbers that go in steps, while the rest moves."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.neighbours import SAME_DEG
from gaitgen.check.findings.sharp_turns import MOVES_DEG
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

# On twos every second step is held: of the steps in turn, so much more move at one place than at any other.
LEAST_ON_TWOS, ON_TWOS = 7, 0.8
WORDS = {2: "on twos", 3: "on threes", 4: "on fours"}
MATE_MOVES_DEG = 1.5  # a joint whose mate turns by more is forgotten if it does not turn at all
# Mean square of a curve's steps against its deviation from its mean: 2 for noise or a frame that pops, less
# for what turns. And the steps in which it has to.
GOES_ON, LEAST_STEPS = 1.2, 3
# In a short stride a curve may turn as sharply as noise; one that goes so far in most steps is none.
SHORT_STRIDE, FAR_DEG, IN_MOST = 16, 8.0, 0.6
STEPS_DEG, LEAST_ROUNDED = (5.0, 2.0, 1.0), 6  # channels
MOST_ROUNDED = 0.9  # of the channels: a root, or a control, may be written with more decimals
MOST_OVER, PART_OVER, SAME_OVER = 6, 5, 6.0  # frames past a loop's end, of so many; deviations of the noise
MOST_PASTED = 4  # frames that come twice, one after the other


def frozen(seen: Seen) -> list[Finding]:
    """Find parts that turn in no frame while the rest moves, and single joints whose mates move."""
    steps = np.ptp(seen.motion.file.rows, axis=0)
    if float(np.median(steps)) < MOVES_DEG:
        return []
    frames = (0, seen.motion.frames - 1)
    found: list[Finding] = []
    parts = {**_parts(seen), **_back(seen)}
    for part, columns in parts.items():
        if columns and float(steps[columns].max()) < MOVES_DEG:
            found += seen.finding("frozen", part, frames, 1.0, "animate this part: it turns in no frame")
    still = {finding.limb for finding in found}
    for name, own, mate in with_mates(seen, still):
        if own and float(steps[own].max()) < MOVES_DEG and _turns(seen, mate):
            do = "animate this joint: it turns in no frame, and its mate of the other side does"
            found += seen.finding("frozen", name, frames, 1.0, do)
    return found


def _turns(seen: Seen, columns: list[int]) -> bool:
    """Whether the curve in any of some columns turns: not by noise, nor in a frame or two."""
    curves = seen.motion.file.rows[:, columns]
    wide = curves[:, np.ptp(curves, axis=0) > MATE_MOVES_DEG]
    steps = np.diff(wide, axis=0)
    moves = (np.abs(steps) > MOVES_DEG).sum(axis=0) >= LEAST_STEPS
    rough = (steps**2).mean(axis=0) / np.maximum(wide.var(axis=0), 1e-12)
    if seen.period < SHORT_STRIDE:
        most = (np.abs(steps) > MOVES_DEG).mean(axis=0) > IN_MOST
        moves &= (rough < GOES_ON) | (most & (np.ptp(wide, axis=0) > FAR_DEG))
    else:
        moves &= rough < GOES_ON
    return bool(moves.any())


def _back(seen: Seen) -> dict[str, list[int]]:
    """Columns of the back above the joint of the hips, where it has several."""
    columns = channel_columns(seen.motion.file, "rotation")
    own = [columns[seen.motion.joint(name)] for name in seen.motion.map.spine[1:]]
    return {"spine": [column for joint in own for column in joint]} if len(own) > 1 else {}


def with_mates(seen: Seen, still: set[str]) -> list[tuple[str, list[int], list[int]]]:
    """Joints of limbs and ears: name, its columns, those of its mate; not of limbs that are still."""
    motion, columns = seen.motion, channel_columns(seen.motion.file, "rotation")
    found = []
    for pair in (LIMBS[:2], LIMBS[2:]):
        one, other = (motion.map.limbs[limb].joints for limb in pair)
        for limb, own, mates in ((pair[0], one, other), (pair[1], other, one)):
            if limb not in still and len(own) == len(mates):
                found += list(zip(own, mates, strict=True))
    ears = motion.map.ear_left, motion.map.ear_right
    if ears[0] and ears[1]:
        found += [(ears[0], ears[1]), (ears[1], ears[0])]
    return [(name, columns[motion.joint(name)], columns[motion.joint(mate)]) for name, mate in found]


def _parts(seen: Seen) -> dict[str, list[int]]:
    """Columns of the rotation channels of each part."""
    motion, columns = seen.motion, channel_columns(seen.motion.file, "rotation")
    joints = {limb: motion.limb_joints(limb) for limb in LIMBS}
    neck = [*motion.map.neck, *([motion.map.head] if motion.map.head else [])]
    joints["neck and head"] = [motion.joint(name) for name in neck]
    joints["tail"] = [motion.joint(name) for name in motion.map.tail]
    return {part: [column for j in members for column in columns[j]] for part, members in joints.items()}


def held_every(rows: Array) -> int:
    """Of how many frames in turn a moving clip, (frames, channels), holds all but one; 1 if of none."""
    steps = np.abs(np.diff(rows, axis=0)).max(axis=1)
    held = steps < SAME_DEG
    if len(held) < LEAST_ON_TWOS or held.all() or float(np.median(steps[~held])) < MOVES_DEG:
        return 1
    for turn in WORDS:
        at = np.arange(len(held)) % turn
        moves = np.array([1.0 - held[at == k].mean() for k in range(turn)])
        best = int(moves.argmax())
        if moves[best] - np.delete(moves, best).max() > ON_TWOS:
            return turn
    return 1


def on_twos(seen: Seen) -> list[Finding]:
    """Find a clip on twos, threes or fours: one finding for all frames that are held."""
    rows = seen.motion.file.rows
    turn = held_every(rows)
    if turn == 1:
        return []
    held = np.abs(np.diff(rows, axis=0)).max(axis=1) < SAME_DEG
    kind = WORDS[turn]
    return seen.finding(
        kind,
        "whole body",
        (0, seen.motion.frames - 1),
        float(held.sum()),
        f"check the clip with one frame a pose, before it goes {kind}: held frames hide contacts and slip; "
        f"if it is meant, say --meant '{kind}'",
        limit_name="repeated_frame",
    )


def rounded(seen: Seen) -> list[Finding]:
    """Find rotations whose numbers go in steps of a whole degree or more."""
    columns = [k for own in channel_columns(seen.motion.file, "rotation") for k in own]
    values = seen.motion.file.rows[:, columns]
    values = values[:, np.ptp(values, axis=0) > MOVES_DEG]
    if values.shape[1] < LEAST_ROUNDED:
        return []
    off = [np.abs(values / step - np.round(values / step)).max(axis=0) for step in STEPS_DEG]
    size = next(
        (step for step, own in zip(STEPS_DEG, off, strict=True) if np.mean(own < 1e-4) > MOST_ROUNDED), 0.0
    )
    return seen.finding(
        "rounded angles",
        "all joints",
        (0, seen.motion.frames - 1),
        size,
        "write the angles with more decimals: whole degrees shake the body and let planted feet slide",
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


def begun_again(seen: Seen) -> list[Finding]:
    """Find the first frames once more at the end of a clip: it was written out past the end of its loop."""
    turning = np.array([w.endswith("rotation") for words in seen.motion.file.channels for w in words])
    rows = seen.motion.file.rows[:, turning]
    if float(np.median(np.abs(np.diff(rows, axis=0)).max(axis=1))) < MOVES_DEG:
        return []
    same = SAME_DEG + SAME_OVER * seen.noise.angle_deg
    count = len(rows)
    for over in range(min(MOST_OVER, count // PART_OVER) + 1):
        if np.abs(rows[count - 1 - over :] - rows[: over + 1]).max() > same:
            continue
        first, last = seen.frame(count - over), seen.frame(count - 1)
        which = f"frames {first} to {last}" if over > 1 else f"frame {first}"
        return seen.finding(
            "repeated frame",
            "whole body",
            (count - over, count - 1),
            float(over),
            f"cut {which} off: the loop is closed in frame {first - 1}, and goes on as from frame 2",
            limit_name="repeated_frame",
        )
    return []


def pasted(seen: Seen) -> list[Finding]:
    """Find a few frames that come a second time, one after the other, in the midst of a clip."""
    rows = seen.motion.file.rows
    if float(np.median(np.abs(np.diff(rows, axis=0)).max(axis=1))) < MOVES_DEG:
        return []
    found: list[Finding] = []
    for count in range(2, min(MOST_PASTED, len(rows) // 3) + 1):
        same = np.abs(rows[count:] - rows[:-count]).max(axis=1) < SAME_DEG
        held = np.abs(rows[1:] - rows[:-1]).max(axis=1) < SAME_DEG
        for first, last in runs(same):
            if last - first + 1 != count or held[first : last + count].any():
                continue  # fewer come back by chance, more are a stride that does
            at = (first + count, last + count)
            found += seen.finding(
                "repeated frame",
                "whole body",
                at,
                float(count),
                f"take frames {seen.frame(at[0])} to {seen.frame(at[1])} out: they are the {count} "
                "before them once more",
                limit_name="repeated_frame",
            )
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
