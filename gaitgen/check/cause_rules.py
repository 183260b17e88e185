"""Which finding explains which."""

from __future__ import annotations

from dataclasses import replace

from gaitgen.check import kinds
from gaitgen.check.finding import Finding
from gaitgen.check.findings.feet import is_far_off
from gaitgen.check.findings.tempo import is_squeezed
from gaitgen.check.seen import Seen
from gaitgen.check.touching import is_on_mate, limbs_under, near, same_joint, takes_head
from gaitgen.gait.gait import LIMBS

TO_AND_FRO = 2.0  # turns over its limit: it is no curve with a dent
SHARPER = 5.0  # times its limit: a pop of a joint that is played too fast, at the most; estimate
POP_OVER = 8.0  # deviations of its joint's jitter


def is_shudder(finding: Finding) -> bool:
    """Whether a joint turns back so often that it shakes."""
    return finding.kind == kinds.SHUDDERS and finding.amount >= finding.limit + TO_AND_FRO


def _frames_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Frames that are missing, repeated, swapped or held shake whatever moves, and shift what comes after."""
    whole = a.limb == "whole body"
    if a.kind == "stuck" and is_on_mate(seen, a, b):
        return True
    taken = _taken(seen, a)
    if b.kind in {"asymmetry", "duty factor", "lag", "no whole stride"}:
        return whole or b.limb == a.limb or (a.kind == "stuck" and len(taken) > 1)
    if b.kind == "impossible support force":
        return whole
    if b.kind == "frozen" and a.kind != "frozen":  # it turns in no frame, whatever is wrong with some
        return False
    if b.kind not in {
        *kinds.FILE,
        *kinds.BODY,
        *kinds.JOINT,
        *kinds.FOOT,
        *kinds.LEG,
        *kinds.CRAFT,
    } or not near(seen, a, b):
        return False
    takes_body = a.kind == "stuck" and len(taken) > 1 and b.kind in kinds.BODY
    return whole or takes_body or same_joint(seen, a, b) or b.limb in taken


def _taken(seen: Seen, a: Finding) -> set[str]:
    """Feet that a finding takes along: of joints of the back those that the first of them carries."""
    return limbs_under(seen, replace(a, limb=a.joint) if a.limb == "spine" and a.joint else a)


def _slipped_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a number that is many times too large in a frame shake its joint, and move feet as a pop does.

    Of a joint that carries the head it moves the nod too, which is seen over a whole stride.
    """
    if b.kind == "head with the wrong end":
        return takes_head(seen, a)
    if b.kind in {*kinds.SHAKE, *kinds.GAIT}:
        return same_joint(seen, a, b) or b.limb in {"whole body", *limbs_under(seen, a)}
    return _frames_rule(seen, a, b) or joint_rule(seen, a, b)


def _misread_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let what is read the wrong way explain all the rest, but for what stands still or is flipped."""
    if a.kind == "legs swapped" and a.unit == "frames":
        return _exchanged_rule(seen, a, b)
    if a.limb in LIMBS and b.kind not in kinds.GAIT:  # one leg, which takes no other along
        return b.limb in {a.limb, *seen.motion.map.limbs[a.limb].joints}
    return b.kind not in {"frozen", "flipped rotation", *kinds.RIG}


def _exchanged_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let legs that are exchanged for a while break off, stand elsewhere, and move contacts and body."""
    limbs = {limb for limb in LIMBS if a.limb == "all legs" or (limb[1] == "F") == (a.limb == "forelegs")}
    own = {*limbs, *(name for limb in limbs for name in seen.motion.map.limbs[limb].joints)}
    if b.kind in {*kinds.GAIT, *kinds.TEMPO, *kinds.BODY, *kinds.GROUND, *kinds.TRUNK}:
        return b.kind not in {"spine bending too much", "tail does not trail"}
    if b.limb in {"whole body", "all feet", "all joints"}:
        return near(seen, a, b)
    return b.limb in own and b.kind not in {"frozen", *kinds.RIG}


def _tempo_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a part at another tempo shift feet and body, seem to lack frames, and bend curves at its ends.

    Where it is too fast a joint leaves its line more sharply than its mate does, but not beyond all measure.
    """
    if b.kind in {*kinds.JOINT, *kinds.SHAKE}:
        is_mild = b.kind == "pop" and b.amount < SHARPER * b.limit and is_squeezed(seen, b.first_frame)
        return b.kind != "loop not closing" and (is_mild or _is_at_an_end(seen, a, b))
    return b.kind in {
        *kinds.GAIT,
        *kinds.TRUNK,
        *kinds.FOOT,
        *kinds.LEG,
        *kinds.CRAFT,
        *kinds.BODY,
        *kinds.GROUND,
        "frames missing",
        "root keys missing",
    }


def _is_at_an_end(seen: Seen, a: Finding, b: Finding) -> bool:
    """Whether a finding touches the first or the last frame of another, give or take some."""
    ends = {a.first_frame, a.last_frame}
    return any(near(seen, replace(a, first_frame=end, last_frame=end), b) for end in ends)


def _root_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a root without keys take feet and legs along, and jump where its keys begin again."""
    if b.kind == "speed jumps at the loop":  # which may be as sharp half a stride later, as it hides
        return near(seen, a, b)
    if b.kind in {*kinds.JOINT, "frames missing"}:
        return b.limb in {a.limb, "whole body"} and near(seen, a, b)
    return (
        b.kind
        in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT, *kinds.BODY, *kinds.GROUND, *kinds.GAIT, *kinds.TRUNK}
        and b.kind != "tail does not trail"
    )


def _rig_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a bone of another length put its foot elsewhere."""
    del seen
    return b.limb == a.limb and b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT, *kinds.GAIT}


def _frozen_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a part that stands still not do what it should, and its feet, if it has any, stand elsewhere."""
    if a.limb == "neck and head":
        return b.limb in {"head", "neck and head"}
    takes_all = (
        b.kind not in kinds.GROUND or len(limbs_under(seen, a)) != 1
    )  # a leg does not take the others along
    if b.limb == a.limb or (takes_all and same_joint(seen, a, b)) or is_on_mate(seen, a, b):
        return True
    if a.limb == "spine" or a.limb in seen.motion.map.spine:
        return b.kind in {
            *kinds.BODY,
            *kinds.TRUNK,
            *kinds.GAIT,
            *kinds.FOOT,
            *kinds.LEG,
            *kinds.CRAFT,
            *kinds.JOINT,
            *kinds.GROUND,
        }
    limbs = seen.motion.map.limbs
    own = next((limb for limb in LIMBS if a.limb == limb or a.limb in limbs[limb].joints), None)
    if own is None:
        return False
    if b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT, *kinds.JOINT}:
        return b.limb in {own, *limbs[own].joints} or (
            b.kind in kinds.POPS and b.limb not in _joints_of_others(seen, own)
        )
    return b.kind in {*kinds.GAIT, "body moves over planted feet", "body leans", "head with the wrong end"}


def _joints_of_others(seen: Seen, limb: str) -> set[str]:
    """Joints of the other limbs."""
    limbs = seen.motion.map.limbs
    return {name for each in LIMBS if each != limb for name in limbs[each].joints}


def _shake_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Jitter makes small slips, floats and pops of whatever hangs on the joint.

    A pop far greater than its joint's jitter is none of it: it may be what was taken for jitter.
    """
    if b.kind in kinds.POPS and a.limb == b.limb and a.unit == b.unit and b.amount > POP_OVER * a.amount:
        return False
    is_back = a.limb == "spine"  # which is between all legs, and carries neck and head
    if b.kind == "no stance":  # no foot keeps its place on a joint that shakes
        return is_back or b.limb in limbs_under(seen, a)
    if is_back and b.kind in {*kinds.GAIT, *kinds.TRUNK}:
        return b.kind != "tail does not trail"
    if b.kind not in {
        *kinds.SHAKE,
        *kinds.BODY,
        *kinds.JOINT,
        *kinds.FOOT,
        *kinds.LEG,
        *kinds.CRAFT,
        "impossible support force",
    }:
        return False
    everywhere = is_back or len(limbs_under(seen, a)) == 4
    return everywhere or b.limb in limbs_under(seen, a) or same_joint(seen, a, b)


def _ground_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a body at a wrong height float or sink with all its feet; far off, its root is wrong in all."""
    del a
    if is_far_off(seen) and b.kind in {*kinds.BODY, *kinds.FOOT, *kinds.TRUNK}:
        return True
    return b.kind in {"sole floating", "sole under ground", "no stance"}


def _body_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a root that is off take feet, legs and the timing of both ends along."""
    del seen, a
    if b.kind in {*kinds.TRUNK, *kinds.GAIT}:
        return b.kind not in {"spine bending too much", "tail does not trail", "contact order"}
    return b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT, *kinds.BODY, *kinds.GROUND}


def joint_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a joint that jumps take along what hangs on it, and a body that does the forces of its stride."""
    if b.kind == "impossible support force" and len(limbs_under(seen, a)) == len(LIMBS):
        return True
    if not near(seen, a, b):
        return False
    if b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT, *kinds.GAIT}:
        return b.limb in limbs_under(seen, a) or (b.limb == "all feet" and bool(limbs_under(seen, a)))
    if b.kind in kinds.BODY or b.kind in {"impossible support force", "spine bending too much", "root drift"}:
        return len(limbs_under(seen, a)) >= 2
    return b.kind in kinds.JOINT and (same_joint(seen, a, b) or a.kind == "loop not closing")


def _unseen_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a foot that stands nowhere leave nobody to tell quick turns from pops and jitter."""
    return (
        a.limb in LIMBS
        and b.kind in {*kinds.SHAKE, *kinds.POPS}
        and a.limb not in {b.limb, *_own_feet(seen, b)}
    )


def _own_feet(seen: Seen, finding: Finding) -> set[str]:
    """Return the foot of the leg that a joint is of."""
    limbs = seen.motion.map.limbs
    return {limb for limb in LIMBS if finding.limb in limbs[limb].joints}


def _gait_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Feet that land at another moment change every number of the timing, and whom the body follows."""
    del seen
    if b.kind in {*kinds.GAIT, *kinds.RISE}:
        return True
    return b.limb == a.limb and b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT}


def _slide_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a foot that slides while it stands seem to land late or leave early, and bend its leg.

    Its mate, which does not half a stride later, goes another way than it then.
    """
    if b.kind in kinds.GAIT:
        return b.limb not in LIMBS or b.limb[1] == a.limb[1]
    if b.kind in kinds.POPS:
        return a.limb in _own_feet(seen, b) and near(seen, a, b)
    if b.kind == "swing unlike other side":
        return b.limb[1] == a.limb[1]
    return b.limb == a.limb and b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT}


def _trunk_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Hips that go the wrong way, or do not rise at all, take the nod and the forces along."""
    del seen
    legs = {*kinds.LEG, *kinds.CRAFT} if a.kind == "body on rails" else set[str]()
    return b.kind in {*kinds.RISE, *legs}


def _shudder_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a joint that goes to and fro go too far as well."""
    return b.kind in kinds.LEG and a.joint == b.joint and near(seen, a, b)


def _leg_rule(seen: Seen, a: Finding, b: Finding) -> bool:
    """Let a leg that is off, or a foot that does not stand, be off elsewhere, and its mate go another way."""
    is_off = a.kind in {*kinds.LEG, "sole under ground", "sole floating"}
    if is_off and a.kind != b.kind == "swing unlike other side" and b.limb in LIMBS:
        return b.limb[1] == a.limb[1]
    return b.limb == a.limb and b.kind in {*kinds.FOOT, *kinds.LEG, *kinds.CRAFT} and near(seen, a, b)


RULES = (
    (kinds.MISREAD, _misread_rule),
    (kinds.TEMPO, _tempo_rule),
    (("frozen",), _frozen_rule),
    (kinds.RIG, _rig_rule),
    (kinds.ROOT, _root_rule),
    (kinds.FILE, _frames_rule),
    (("slipped decimal point",), _slipped_rule),
    (kinds.SHAKE, _shake_rule),
    (kinds.GROUND, _ground_rule),
    (kinds.BODY, _body_rule),
    (kinds.JOINT, joint_rule),
    (("slide",), _slide_rule),
    (("no stance",), _unseen_rule),
    (kinds.GAIT, _gait_rule),
    (("body on rails", "hips and chest out of time"), _trunk_rule),
    ((kinds.SHUDDERS,), _shudder_rule),
    ((*kinds.FOOT, *kinds.LEG), _leg_rule),
)
