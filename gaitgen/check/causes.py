"""Causes before symptoms: one fault is one finding, and what follows from it is listed under it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from gaitgen.check import kinds
from gaitgen.check.cause_rules import RULES, is_shudder, joint_rule
from gaitgen.check.finding import Finding
from gaitgen.check.findings.feet import is_far_off
from gaitgen.check.findings.mates import Odd, other_side, unlike_deg
from gaitgen.check.findings.spikes import spikes
from gaitgen.check.odd_legs import odd_legs
from gaitgen.check.seen import Seen
from gaitgen.check.touching import limbs_under, near
from gaitgen.gait.gait import LIMBS

MOST_CAUSES = 200  # tried; a clip with more faults than that is not mended by a list
MOST_OF_A_POP = 2  # frames, from first to last: what a foot does for so few comes of the pop
SHORT = 2  # rows: a joint that is off for so few pops, and is no worse than that

# Levels of the order of mending: what stands at a lower one may be why what stands at a higher one is there.
_LEVELS = {
    kind: level
    for level, own in enumerate(
        (
            kinds.MISREAD,
            kinds.TEMPO,
            kinds.ROOT,
            kinds.FILE,
            kinds.RIG,
            kinds.SHAKE,
            kinds.JOINT,
            kinds.BODY,
            kinds.GROUND,
            kinds.GAIT,
            kinds.TRUNK,
            (),
            kinds.FOOT,
            kinds.LEG,
            (),
            kinds.CRAFT,
        )
    )
    for kind in own
}
_AT_FAULT, _MOVED_BY_LEG = _LEVELS[kinds.FOOT[0]] - 1, _LEVELS[kinds.CRAFT[0]] - 1


@dataclass(frozen=True, eq=False)
class _Case:
    """A clip, its findings, and the one joint of each leg that is at fault where there is one.

    Attributes
    ----------
    seen, found
        The clip and everything that was found.
    even
        Feet of pairs that take equal turns for most of the stride.
    odd
        By foot.
    known
        Levels that have been worked out, by the finding's identity.
    """

    seen: Seen
    found: Sequence[Finding]
    even: frozenset[str]
    odd: Mapping[str, Odd]
    known: dict[int, tuple[float, int]] = field(default_factory=dict)

    def level(self, finding: Finding) -> tuple[float, int]:
        """Place of a finding in the order of mending."""
        if id(finding) not in self.known:
            self.known[id(finding)] = self._level(finding)
        return self.known[id(finding)]

    def _level(self, finding: Finding) -> tuple[float, int]:
        level = float(_LEVELS.get(finding.kind, len(_LEVELS)))
        within = _within(finding)
        limb = self.limb_of(finding)
        if finding.kind == "unlike other side" or (finding.kind in kinds.LEG and self.is_at_fault(finding)):
            return _AT_FAULT, within
        is_contact = finding.kind in set(kinds.GAIT) - set(kinds.UNSEEN)
        if (is_contact and self._is_moved_contact(finding.limb)) or self.mate_was_smoothed(finding, limb):
            return _MOVED_BY_LEG, within
        before = self._stands_before(finding)
        if before:
            return _LEVELS[before] - 0.5, within
        is_pose = finding.kind == "pop" and finding.limb == "whole body"
        if is_pose or (finding.kind in kinds.GROUND and is_far_off(self.seen)):
            return float(_LEVELS[kinds.FILE[0]]), len(kinds.FILE)
        # A kick of a foot for one frame, which no other fault of its leg makes.
        is_kick = finding.limb in LIMBS or finding.limb == finding.joint
        if (
            finding.kind in kinds.POPS
            and not is_kick
            and limb is not None
            and self._is_moved_by_leg(finding, limb)
        ):
            return _MOVED_BY_LEG, within
        return level, within

    def _stands_before(self, finding: Finding) -> str:
        """Return a kind before all of whose level a finding stands, against its own; none for most."""
        if _misses_a_foot(self.seen, finding, self.found):
            return kinds.SHAKE[0]
        if is_shudder(finding):
            return kinds.LEG[0]
        if finding.kind == "body on rails":  # what rises by nothing to speak of is at no time
            return kinds.TRUNK[0]
        return kinds.GAIT[0] if finding.kind == "slide" else ""

    def limb_of(self, finding: Finding) -> str | None:
        """Return the foot of the limb that a finding is on."""
        if finding.limb in LIMBS:
            return finding.limb
        limbs = self.seen.motion.map.limbs
        return next((limb for limb in LIMBS if finding.limb in limbs[limb].joints), None)

    def is_at_fault(self, finding: Finding) -> bool:
        """Whether a finding is at the joint that is at fault."""
        odd = self.odd.get(finding.limb)
        return odd is not None and odd.joint == finding.joint

    def mate_was_smoothed(self, finding: Finding, limb: str | None) -> bool:
        """Whether a joint of a limb seems to pop or shake because its mate no longer turns as sharply."""
        if limb is None:
            return False
        mate = other_side(limb)
        odd = self.odd.get(mate)
        if odd is None or not odd.is_smoother or finding.kind not in {*kinds.POPS, *kinds.SHAKE}:
            return False
        limbs = self.seen.motion.map.limbs
        return finding.limb == limbs[limb].joints[limbs[mate].joints.index(odd.joint)]

    def _is_moved_contact(self, place: str) -> bool:
        """Whether a contact is off because of what a leg does, and not the leg because it is late."""
        off = {f.limb for f in self.found if f.kind in {*kinds.FOOT, *kinds.LEG}}
        if place not in LIMBS:
            return bool(off)
        return place in self.even and bool(off)

    def _is_moved_by_leg(self, pop: Finding, limb: str) -> bool:
        """Whether a pop comes of what the whole leg does, or of another joint of it."""
        odd = self.odd.get(limb)
        if odd is not None:
            is_its_own = odd.joint == pop.limb and (odd.last - odd.first) % self.seen.motion.frames <= SHORT
            return not is_its_own
        long = [
            f for f in self.found if self.seen.shot is None or f.last_frame - f.first_frame > MOST_OF_A_POP
        ]
        if any(
            f.limb == limb and f.kind in {*kinds.FOOT, "unlike other side"} and near(self.seen, f, pop)
            for f in long
        ):
            return True
        pair = {each for each in LIMBS if each[1] == limb[1]} - self.even
        as_well = {"asymmetry", "contact off plan", *(kinds.FOOT if self.seen.shot is None else ())}
        return any(f.limb in pair and f.kind in as_well for f in long)


def _misses_a_foot(seen: Seen, finding: Finding, found: Sequence[Finding]) -> bool:
    """Whether one foot stands nowhere, and not because something above it shakes.

    Without it no gait is seen, and then quick turns of other legs pass for pops and jitter.
    """
    if finding.kind != "no stance" or finding.limb not in LIMBS:
        return False
    own = {finding.limb, "all joints", "spine", *seen.motion.map.limbs[finding.limb].joints}
    alone = {seen.motion.file.joint_names[joint] for _, joint, _ in spikes(seen)}
    for other in found:
        carries = other.kind in kinds.SHAKE or (other.kind in kinds.POPS and other.limb in alone)
        if carries and finding.limb in limbs_under(seen, other):
            return False
    return not any(other.kind in {*kinds.SHAKE, *kinds.POPS} and other.limb in own for other in found)


def _within(finding: Finding) -> int:
    """Place of a finding among those of its level: by its kind, and a back that shakes before its joints."""
    if finding.kind in kinds.SHAKE:
        return int(finding.limb != "spine")
    every = (kinds.MISREAD, kinds.FILE, kinds.JOINT, kinds.BODY, kinds.GAIT)
    return next((own.index(finding.kind) for own in every if finding.kind in own), 0)


def arranged(seen: Seen, found: Sequence[Finding]) -> list[Finding]:
    """Put findings under those that explain them; causes in the order of mending, worst first in each."""
    case = _case(seen, found)
    named = sorted(case.found, key=lambda f: (*case.level(f), -f.excess, f.limb, f.first_frame))
    causes = [k for k, finding in enumerate(named) if finding.kind not in kinds.CRAFT or is_shudder(finding)]
    causes = causes[:MOST_CAUSES]
    top: dict[int, int] = {}
    for place, finding in enumerate(named):
        cause = next((k for k in causes if k < place and _explains(case, named[k], finding)), None)
        if cause is not None:
            top[place] = top.get(cause, cause)
    follows: dict[int, list[Finding]] = {}
    for place, cause in top.items():
        follows.setdefault(cause, []).append(named[place])
    return [
        replace(finding, follows=tuple(follows.get(place, ())))
        for place, finding in enumerate(named)
        if place not in top
    ]


def _case(seen: Seen, found: Sequence[Finding]) -> _Case:
    """Find the joint of each leg that is at fault, and name it where no finding does."""
    away = unlike_deg(seen)
    odds, named = odd_legs(seen, away, found)
    return _Case(seen, [*found, *named], frozenset(away), odds)


def _explains(case: _Case, a: Finding, b: Finding) -> bool:
    """Tell whether a finding explains another that stands after it in the order of mending."""
    if case.level(a)[0] == case.level(b)[0] == _LEVELS["pop"]:
        return a.kind != b.kind and a.kind in kinds.JOINT and joint_rule(case.seen, a, b)
    if case.level(a)[0] == case.level(b)[0] == _LEVELS[kinds.BODY[0]]:
        return a.kind != b.kind
    if (
        a.kind in kinds.JOINT
        and a.limb != "whole body"
        and b.kind in kinds.GAIT
        and case.level(b)[0] == _LEVELS[b.kind]
    ):
        return False
    if a.kind == b.kind and a.limb == b.limb:
        return False
    if case.level(b)[0] == _MOVED_BY_LEG and _leg_moves(case, a, b):
        return True
    return any(a.kind in own and rule(case.seen, a, b) for own, rule in RULES)


def _leg_moves(case: _Case, a: Finding, b: Finding) -> bool:
    """Whether a fault of a leg or of its timing explains a pop on it, or a contact that it has moved."""
    limb = case.limb_of(b)
    if a.kind not in {*kinds.FOOT, *kinds.LEG, *kinds.GAIT}:
        return False
    if b.kind in kinds.GAIT:
        return a.kind not in kinds.GAIT
    if limb is None:
        return False
    if case.mate_was_smoothed(b, limb) and case.is_at_fault(a):
        return case.limb_of(a) == other_side(limb)
    return case.limb_of(a) == limb or (a.kind in kinds.GAIT and a.limb in LIMBS and a.limb[1] == limb[1])
