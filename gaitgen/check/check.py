"""All findings of a clip: causes first, each with what follows from it."""

from __future__ import annotations

from collections.abc import Callable

from gaitgen.check.causes import arranged
from gaitgen.check.finding import Finding
from gaitgen.check.findings import (
    carried,
    craft,
    feet,
    force,
    frames,
    jitter,
    legs,
    loops,
    overlap,
    timing,
    trunk,
)
from gaitgen.check.seen import Seen
from gaitgen.check.shot.judge import found_in_shot
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.turns import turn_between_rad

SAME_RAD = 0.02  # a goal that is turned farther from its foot is judged by itself

FINDERS: tuple[Callable[[Seen], list[Finding]], ...] = (
    frames.flips,
    frames.swapped,
    frames.missing,
    frames.repeated,
    frames.stuck_parts,
    frames.frozen,
    frames.pops,
    jitter.jitter,
    feet.off_ground,
    feet.no_stance,
    carried.hips_late,
    carried.body_over_feet,
    loops.position,
    loops.speed,
    loops.root_drift,
    timing.off_plan,
    timing.order,
    timing.lag,
    timing.duty,
    timing.asymmetry,
    trunk.opposing,
    trunk.head_phase,
    trunk.spine,
    force.support,
    overlap.tail_lag,
    feet.slips,
    feet.belt_drift,
    feet.under_ground,
    feet.floating,
    legs.foreleg_bending,
    legs.locked,
    legs.parting,
    legs.out_of_range,
    craft.gives,
    craft.turns_back,
    craft.locked_at_liftoff,
    craft.cocked,
    craft.head_on_rails,
)


def check(seen: Seen) -> list[Finding]:
    """Return everything that is wrong, in the order of mending; what is meant is left out.

    Of a clip on twos nothing else is judged: frames that are held hide the rest.
    """
    held = frames.on_twos(seen)
    if held:
        return [finding for finding in held if not seen.meant.covers(finding)]
    if seen.shot is None:
        found = [finding for finder in FINDERS for finding in finder(seen)]
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
        turned = motion.changes[:, [motion.joint(goal), motion.limb_joints(limb)[-1]]]
        apart = turn_between_rad(turned[:, 0], turned[:, 1])
        if float(apart.max()) < SAME_RAD:
            goals.add(goal)
    return goals
