"""All findings of a clip: causes first, each with what follows from it."""

from __future__ import annotations

from gaitgen.check.causes import arranged
from gaitgen.check.finders import in_cycles
from gaitgen.check.finding import Finding
from gaitgen.check.findings import held
from gaitgen.check.seen import Seen
from gaitgen.check.shot.judge import found_in_shot
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.turns import turn_between_rad

SAME_RAD = 0.02  # a goal that is turned farther from its foot is judged by itself


def check(seen: Seen) -> list[Finding]:
    """Return everything that is wrong, in the order of mending; what is meant is left out.

    Of a clip on twos, threes or fours nothing else is judged: frames that are held hide the rest.
    """
    on_twos = held.on_twos(seen)
    if on_twos:
        return [finding for finding in on_twos if not seen.meant.covers(finding)]
    if seen.shot is None:
        found = [finding for find in in_cycles() for finding in find(seen)]
    else:
        found = found_in_shot(seen)
    going = _going_with_feet(seen)
    found = [finding for finding in found if finding.limb not in going]
    return arranged(seen, [finding for finding in found if not seen.meant.covers(finding)])


def _going_with_feet(seen: Seen) -> set[str]:
    """Goals of feet that turn as their feet do: what is wrong with them is said of the feet."""
    motion, goals = seen.motion, set[str]()
    for limb in LIMBS:
        goal = motion.map.limbs[limb].goal
        if goal is None:
            continue
        leg = motion.changes[:, list(motion.limb_joints(limb))]
        apart = turn_between_rad(motion.changes[:, [motion.joint(goal)]], leg)
        if float(apart.max(axis=0).min()) < SAME_RAD:
            goals.add(goal)
    return goals
