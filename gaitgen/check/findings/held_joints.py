"""Joints that stand still for a while, and in no other stride, nor on the other side."""

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
Span = tuple[int, int]

LEAST = 4  # steps: a curve that turns round may stand still for fewer, in a file of few decimals
USUAL = 0.5  # of a span: where a joint or its mate stands so long elsewhere too, that is how it goes
STANDS_IN = 0.7  # of the steps: a joint that stands still in more is not held for a while
ABRUPT = 0.2  # of a usual step: so much at least a joint turns just before, or just after, it stands still
# In a step: a mate that turns by less rests too, where splines through keys let it sway by a fiftieth of what
# they may be off by (estimate).
RESTS_DEG = 0.01
BACK = "spine"  # told here where all of it stands still; of another part that is found as the part's
WIDE_DEG = 1.0  # a joint that turns less, as a toe may, stands still as it likes


def stuck_joints(seen: Seen) -> list[Finding]:
    """Find joints that stand still for a while: one finding for those of a part that do so together.

    Not joints within the neck: rigs have more of them than a nod needs, and some rest from gait to gait.
    """
    inner = set(map(seen.motion.joint, seen.motion.map.neck[1:]))
    steps = np.abs(np.diff(seen.motion.file.rows, axis=0))
    if not len(steps) or float(np.median(steps.max(axis=1))) < MOVES_DEG:
        return []
    found: list[Finding] = []
    for place, joints, mates in _chains(seen):
        still = _still(seen, steps, joints)
        usual = _longest(_still(seen, steps, mates, RESTS_DEG)) if mates else np.zeros(len(joints))
        whole = np.asarray((steps < SAME_DEG if place == BACK else still).all(axis=1))
        spans = {
            joint: _odd_spans(still[:, k], float(usual[k]), whole, steps[:, _widest(seen, joint)])
            for k, joint in enumerate(joints)
            if joint not in inner
            and float(np.quantile(steps[:, _widest(seen, joint)], STANDS_IN)) > MOVES_DEG
        }
        found += _findings(seen, place, {joint: own for joint, own in spans.items() if own})
    return found


def _chains(seen: Seen) -> list[tuple[str, list[int], list[int]]]:
    """Feet, with the joints of their legs and of their mates'; parts of the middle, which have no mates."""
    motion = seen.motion
    joints = {limb: motion.limb_joints(limb) for limb in LIMBS}
    found: list[tuple[str, list[int], list[int]]] = []
    for limb in LIMBS:
        mate = LIMBS[LIMBS.index(limb) ^ 1]
        if len(joints[limb]) == len(joints[mate]):
            turning = [
                (own, other)
                for own, other in zip(joints[limb], joints[mate], strict=True)
                if _widest(seen, own) >= 0 and _widest(seen, other) >= 0
            ]
            found.append((limb, [own for own, _ in turning], [other for _, other in turning]))
    neck = [*motion.map.neck, *([motion.map.head] if motion.map.head else [])]
    for place, names in ((BACK, motion.map.spine[1:]), ("neck and head", neck)):
        middle = [joint for joint in map(motion.joint, names) if _widest(seen, joint) >= 0]
        if middle:
            found.append((place, middle, []))
    return found


def _widest(seen: Seen, joint: int) -> int:
    """Column of the channel of a joint that turns most; -1 if it turns by less than a little."""
    columns = channel_columns(seen.motion.file, "rotation")[joint]
    wide = np.ptp(seen.motion.file.rows[:, columns], axis=0) if columns else np.zeros(0)
    return columns[int(wide.argmax())] if wide.size and float(wide.max()) > WIDE_DEG else -1


def _still(seen: Seen, steps: Array, joints: list[int], least_deg: float = SAME_DEG) -> npt.NDArray[np.bool_]:
    """Tell in which steps joints turn by less than so much, (frames - 1, joints)."""
    return np.asarray(steps[:, [_widest(seen, joint) for joint in joints]] < least_deg)


def _longest(still: npt.NDArray[np.bool_]) -> Array:
    """How long each of some joints stands still at most, (joints,). [steps]"""
    return np.array([max((b - a + 1 for a, b in runs(own)), default=0) for own in still.T], dtype=np.float64)


def _odd_spans(
    still: npt.NDArray[np.bool_], usual: float, whole: npt.NDArray[np.bool_], steps: Array
) -> list[Span]:
    """First and last steps of where a joint stands still for longer than it or its mate ever does elsewhere.

    Not where the whole leg does, nor where it comes to rest and goes on gently, as in a halt.
    """
    spans = sorted(runs(still), key=lambda span: span[0] - span[1])
    if not spans:
        return []
    first, last = spans[0]
    long = last - first + 1
    others = max((b - a + 1 for a, b in spans[1:]), default=0)
    beside = max(steps[first - 1] if first else 0.0, steps[last + 1] if last + 1 < len(steps) else 0.0)
    is_abrupt = beside > ABRUPT * float(np.quantile(steps, STANDS_IN))
    is_odd = (
        is_abrupt
        and long >= LEAST
        and max(usual, others) < USUAL * long
        and not whole[first : last + 1].all()
    )
    return [(first, last)] if is_odd else []


def _findings(seen: Seen, place: str, spans: dict[int, list[Span]]) -> list[Finding]:
    """Say it of a joint, or once of those of a leg that stand still together."""
    if not spans:
        return []
    names = [seen.motion.file.joint_names[joint] for joint in spans]
    first = min(span[0] for own in spans.values() for span in own)
    last = max(span[1] for own in spans.values() for span in own)
    long = max(b - a + 1 for own in spans.values() for a, b in own)
    one = len(names) == 1
    rest = (
        "the leg goes on, and the other side does not" if place in LIMBS else "the rest of the body goes on"
    )
    return seen.finding(
        "stuck",
        names[0] if one else place,
        (first, last + 1),
        float(long),
        f"let {', '.join(names)} go on moving through these frames: {'it stands' if one else 'they stand'} "
        f"still while {rest}",
        joint="" if one else names[0],
    )
