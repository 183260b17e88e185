"""All findings of a clip: causes first, each with what follows from it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaitgen.check.causes import arranged
from gaitgen.check.finders import in_cycles
from gaitgen.check.finding import Finding
from gaitgen.check.findings import held
from gaitgen.check.seen import Seen
from gaitgen.check.shot.judge import found_in_shot
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.turns import turn_between_rad

SAME_RAD = 0.02  # a goal that is turned farther from its foot in a frame is judged by itself there


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
    goals = _apart_from_feet(seen)
    found = [finding for finding in found if _is_its_own(finding, goals)]
    return arranged(seen, [finding for finding in found if not seen.meant.covers(finding)])


def _is_its_own(finding: Finding, goals: Mapping[str, set[int]]) -> bool:
    """Tell whether a finding is no goal's, or of one in frames in which it turns unlike its foot."""
    if finding.limb not in goals:
        return True
    first, last = finding.first_frame, finding.last_frame
    wraps = last < first
    return any((first <= at) + (at <= last) >= (1 if wraps else 2) for at in goals[finding.limb])


def _apart_from_feet(seen: Seen) -> dict[str, set[int]]:
    """Frames in which goals turn another way than their feet; in all others it is said of the feet."""
    motion, goals = seen.motion, dict[str, set[int]]()
    for limb in LIMBS:
        goal = motion.map.limbs[limb].goal
        if goal is None:
            continue
        leg = motion.changes[:, list(motion.limb_joints(limb))]
        apart = turn_between_rad(motion.changes[:, [motion.joint(goal)]], leg) >= SAME_RAD
        foot = apart[:, int(apart.sum(axis=0).argmin())]
        goals[goal] = {seen.frame(int(row)) for row in np.flatnonzero(foot)}
    return goals
