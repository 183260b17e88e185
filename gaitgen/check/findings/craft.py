"""The craft of a walk: how legs give, break and fold, how the foot hangs, and a head that goes on rails."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.legs import STRAIGHT_DEG
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import Stance
from gaitgen.motion.extremes import turning_rows
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.rigs.rig_map import NO_BONES

Array = npt.NDArray[np.float64]

YIELD_SHARE = 0.3  # of a stance, from landing: where a leg gives under the weight
MOST_TURN_RAD = 0.5  # of the heading
HANGING_SHARE = 0.25  # of a swing, from lift-off: while the foot hangs


def _rows(seen: Seen, first: int, last: int) -> npt.NDArray[np.int64]:
    """Rows from one to another, that go round in a loop; those of the clip alone if it is none."""
    rows = np.arange(first, last + 1)
    return rows % seen.loop.frames if seen.loop.closes else rows[(rows >= 0) & (rows < seen.motion.frames)]


def _walks(seen: Seen) -> bool:
    return seen.gait is not None and seen.gait.walks


def gives(seen: Seen) -> list[Finding]:
    """Find legs that fold under the weight after they land, at a walk."""
    if not _walks(seen):
        return []
    found: list[Finding] = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        for stance in seen.feet.of(LIMBS.index(limb)):
            if not stance.whole:
                continue
            end = stance.first + max(2, round(YIELD_SHARE * (stance.last - stance.first)))
            part = angle[_rows(seen, stance.first, end)]
            low = int(part.argmin())
            found += seen.finding(
                "leg gives under weight",
                limb,
                (stance.first, stance.first + low),
                float(part[0] - part[low]),
                f"land with the {word.replace('_', ' ')} bent a little and let it give less; carry the body "
                "over the leg as on a strut",
                noise=1.8 * seen.noise.angle_deg,
                limit_name=f"{word}_yield",
                joint=seen.motion.angle_joints[limb, word],
            )
    return found


def turns_back(seen: Seen) -> list[Finding]:
    """Find limb joints that shudder: that turn back too often from mid-stance to landing.

    A joint that gives beyond the middle of a long stance turns once more: it is judged from there on.
    """
    found: list[Finding] = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        special = f"{word.split('_')[-1]}_turns_back"
        name = special if special in seen.limits else "turns_back"
        for first, leaves, last in _folds(seen, limb):
            rows = _rows(seen, first, last)
            turned = turning_rows(
                angle[rows], seen.limits["turn_that_counts"].top + 6.0 * seen.noise.angle_deg
            )
            if turned and first + turned[0] < leaves and angle[rows[turned[0]]] < angle[rows[0]]:
                turned = turned[1:]
            if len(turned) <= seen.limits[name].top:
                continue
            found += seen.finding(
                "joint turns back too often",
                limb,
                (first + turned[0], first + turned[-1]),
                float(len(turned)),
                f"let the {word.replace('_', ' ')} bend once and open once from mid-stance to landing, "
                "on one smooth curve",
                limit_name=name,
                joint=seen.motion.angle_joints[limb, word],
            )
    return found


def _folds(seen: Seen, limb: str) -> list[tuple[int, int, int]]:
    """Rows of the middle of a stance, its end and the next landing, or where a noisy clip is surely before.

    A leg gives as it lands: a landing seen a frame late would make that one turn more.
    """
    stances = [s for s in seen.feet.of(LIMBS.index(limb)) if s.whole]
    starts = [s.first for s in seen.feet.of(LIMBS.index(limb)) if s.begins]
    found = []
    for stance in stances:
        after = [row for row in starts if row > stance.last]
        if seen.loop.closes:
            after += [row + seen.loop.frames for row in starts]
        after = [row for row in after if row > stance.last]
        middle = (stance.first + stance.last) // 2
        # In a noisy clip a short stance may not be seen: no leg takes more than a stride to its next landing.
        if after and not (seen.noise.angle_deg > 0.0 and min(after) - middle > seen.period):
            found.append((middle, stance.last, min(after) - seen.unsure_frames))
    return found


def locked_at_liftoff(seen: Seen) -> list[Finding]:
    """Find forelegs whose carpus is still straight as the toe leaves, at a walk forwards.

    In a noisy clip it is straight for as many frames more as the lift-off is unsure, and where strides differ
    or frames are long the toe leaves between frames.
    """
    if not _walks(seen) or seen.is_backward:
        return []
    later = seen.unsure_frames + int(seen.is_coarse or _strides_differ(seen))
    found: list[Finding] = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        if f"{word}_at_liftoff" not in seen.limits:
            continue
        standing = seen.motion.standing_deg[limb, word]
        if not STRAIGHT_DEG[0] < standing < STRAIGHT_DEG[1]:
            continue
        for stance in seen.feet.of(LIMBS.index(limb)):
            rows = _rows(seen, stance.last, stance.last + later)
            if not stance.ends or not rows.size:
                continue
            found += seen.finding(
                "joint locked at lift-off",
                limb,
                (stance.last, stance.last),
                float(angle[rows].min()) + max(0.0, 180.0 - standing),
                f"break the {word} with the heel, so that it is bent by 8 to 15 degrees as the toe leaves",
                noise=1.2 * seen.noise.angle_deg,
                limit_name=f"{word}_at_liftoff",
                joint=seen.motion.angle_joints[limb, word],
            )
    return found


def _strides_differ(seen: Seen) -> bool:
    """Tell whether a foot is down for one time in one stride and for another in the next."""
    for limb in range(len(LIMBS)):
        whole = [stance.last - stance.first for stance in seen.feet.of(limb) if stance.whole]
        if len(set(whole)) > 1:
            return True
    return False


def cocked(seen: Seen) -> list[Finding]:
    """Find feet that turn toe up right after lift-off instead of hanging."""
    found: list[Finding] = []
    for row, limb in enumerate(LIMBS):
        own = seen.motion.map.limbs[limb]
        turning = zip(seen.motion.limb_joints(limb), own.bones, strict=True)
        joints = [joint for joint, bone in turning if bone not in NO_BONES]
        if "foot_cocked" not in seen.limits or len(joints) < 3:
            continue
        turn = _foot_turn_deg(seen, joints)
        for stance in seen.feet.of(row):
            swing = _swing(seen, stance)
            if swing < 4:
                continue
            rows = _rows(seen, stance.last, stance.last + max(2, round(HANGING_SHARE * swing)))
            part = turn[rows]
            top = int(part.argmax()) if part.size else 0
            found += seen.finding(
                "foot cocks up",
                limb,
                (stance.last, stance.last + top),
                float(part[top] - part[0]) if part.size else 0.0,
                "let the foot hang from the fetlock after lift-off: it goes on folding, and turns toe up "
                "late",
                noise=2.5 * seen.noise.angle_deg,
                limit_name="foot_cocked",
                joint=seen.motion.file.joint_names[joints[-1]],
            )
    return found


def _foot_turn_deg(seen: Seen, joints: list[int]) -> Array:
    """Turn of a foot against the bone two above it, nose up positive, from standing, (frames,). [degrees]"""
    changes = seen.motion.changes
    above = changes[:, joints[max(0, len(joints) - 3)]]
    turn = np.swapaxes(above, -1, -2) @ changes[:, joints[-1]]
    return np.degrees(np.unwrap(np.arctan2(turn[:, 2, 0], turn[:, 0, 0])))


def _swing(seen: Seen, stance: Stance) -> int:
    """Frames from a lift-off to the next landing, from the usual stride; 0 where nobody knows."""
    if seen.gait is None or not stance.ends:
        return 0
    return round(seen.gait.period * (1.0 - seen.gait.summary.duty_factor[stance.limb]))


def head_on_rails(seen: Seen) -> list[Finding]:
    """Find a head that goes from side to side without yaw or roll."""
    motion, gait = seen.motion, seen.gait
    if gait is None or not motion.map.head:
        return []
    head = motion.joint(motion.map.head)
    rows = slice(0, max(2, round(gait.period)))
    if float(np.ptp(np.unwrap(motion.heading_rad))) > MOST_TURN_RAD:
        return []  # a body that goes round a bend takes its head along
    facing = float(np.angle(np.exp(1j * motion.heading_rad).mean()))
    across = np.array([-np.sin(facing), np.cos(facing)])
    steady = np.linspace(0.0, 1.0, motion.frames)[:, None] * (motion.root_m[-1] - motion.root_m[0])[:2]
    path = ((motion.places_m[:, head, :2] - steady) @ across)[rows]
    wide = 1000.0 * float(np.ptp(path))
    if wide < seen.limits["head_sideways"].top + 6000.0 * seen.noise.ends_m[2]:
        return []
    turned = np.degrees(np.unwrap(pitch_roll_yaw_rad(motion.changes[rows, head])[:, 1:], axis=0))
    amount = float(np.ptp(turned, axis=0).max())
    return seen.finding(
        "head on rails",
        "head",
        (0, motion.frames - 1),
        amount,
        f"the head goes {wide:.0f} mm from side to side and turns by {amount:.1f} degrees; let it yaw and "
        "roll a little, late",
        below=True,
    )
