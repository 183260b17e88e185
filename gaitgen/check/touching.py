"""Whether two findings touch: in their frames, or on the body."""

from __future__ import annotations

from gaitgen.check import kinds
from gaitgen.check.finding import Finding
from gaitgen.check.findings.opposite import below, mates_of
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

NEAR = 2  # frames


def near(seen: Seen, a: Finding, b: Finding) -> bool:
    """Whether two findings touch, give or take some frames; over the end of a loop too."""
    turn = seen.loop.frames if seen.loop.closes else 0
    return any(
        first - NEAR <= other_last + shift and other_first + shift <= last + NEAR
        for first, last in _spans(seen, a)
        for other_first, other_last in _spans(seen, b)
        for shift in ((-turn, 0, turn) if turn else (0,))
    )


def _spans(seen: Seen, finding: Finding) -> list[tuple[int, int]]:
    """First and last frames of a finding; two pairs if it goes round the end."""
    first, last = finding.first_frame, finding.last_frame
    return [(first, last)] if first <= last else [(first, seen.motion.frames), (1, last)]


def limbs_under(seen: Seen, finding: Finding) -> set[str]:
    """Feet that a joint, a part or a body takes along."""
    names = seen.motion.file.joint_names
    if finding.limb in LIMBS:
        return {finding.limb}
    if finding.limb in {"whole body", "all feet", "all joints", "hips"}:
        return set(LIMBS)
    if finding.limb not in names:
        return set()
    under = set(below(seen, names.index(finding.limb)))
    return {limb for limb in LIMBS if names.index(seen.motion.map.limbs[limb].joints[-1]) in under}


def takes_head(seen: Seen, finding: Finding) -> bool:
    """Whether a joint carries the head, or is the head itself."""
    names, head = seen.motion.file.joint_names, seen.motion.map.head
    if head is None or finding.limb not in names:
        return False
    joint = names.index(finding.limb)
    return names.index(head) in {joint, *below(seen, joint)}


def joints_of(seen: Seen, part: str) -> set[str]:
    """Joints of a part that is named in a finding."""
    rig = seen.motion.map
    if part in LIMBS:
        return set(rig.limbs[part].joints)
    if part == "neck and head":
        return {*rig.neck, *([rig.head] if rig.head else [])}
    if part == "tail":
        return set(rig.tail)
    if part in {"whole body", "all joints"}:
        return set(seen.motion.file.joint_names)
    return {part}


def same_joint(seen: Seen, a: Finding, b: Finding) -> bool:
    """Whether two findings are of a joint in common."""
    return bool(joints_of(seen, a.limb) & joints_of(seen, b.limb))


def is_on_mate(seen: Seen, a: Finding, b: Finding) -> bool:
    """Whether a finding is on the mate of joints that stand still, which cannot tell what is usual.

    Neither how sharp a turn is, nor how far a joint is from what its mate does; where these never turn, nor
    what is jitter.
    """
    shakes = kinds.SHAKE if a.kind == "frozen" else ()
    if b.kind not in {*kinds.POPS, *shakes, "unlike other side"}:
        return False
    names = seen.motion.file.joint_names
    mates = mates_of(seen)
    own = joints_of(seen, a.limb) & set(names)
    where = b.joint if b.kind == "unlike other side" else b.limb
    return where in {names[mates[joint]] for joint in map(names.index, own) if joint in mates}
