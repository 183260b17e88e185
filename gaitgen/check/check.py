"""All findings of a clip, worst first."""

from __future__ import annotations

from collections.abc import Callable

from gaitgen.check.finding import Finding
from gaitgen.check.findings import feet, force, frames, legs, loops, overlap, timing, trunk
from gaitgen.check.seen import Seen

FINDERS: tuple[Callable[[Seen], list[Finding]], ...] = (
    feet.slips,
    feet.belt_drift,
    feet.under_ground,
    feet.floating,
    legs.foreleg_bending,
    legs.locked,
    legs.parting,
    legs.out_of_range,
    trunk.opposing,
    trunk.head_phase,
    trunk.spine,
    frames.pops,
    frames.missing,
    frames.doubled_and_stuck,
    frames.flips,
    loops.position,
    loops.speed,
    loops.root_drift,
    timing.order,
    timing.lag,
    timing.duty,
    timing.asymmetry,
    force.support,
    overlap.tail_lag,
)


# What shakes all joints at one moment, and what it makes them do there.
CAUSES = {"frames missing", "doubled frame", "stuck", "pop", "rotation jump"}
CONSEQUENCES = {"pop", "slip"}
NEAR = 2


def check(seen: Seen) -> list[Finding]:
    """Return everything that is wrong, worst first."""
    found = _causes_only([finding for finder in FINDERS for finding in finder(seen)])
    return sorted(found, key=lambda f: (-f.excess, f.kind, f.limb, f.first_frame))


def _causes_only(found: list[Finding]) -> list[Finding]:
    """Leave out pops and slips that a fault of the whole body, or a jump of that joint, explains."""
    causes = [f for f in found if f.kind in CAUSES and f.limb == "whole body"]
    jumps = {(f.limb, f.first_frame) for f in found if f.kind == "rotation jump"}

    def explained(finding: Finding) -> bool:
        if finding.kind not in CONSEQUENCES or finding.limb == "whole body":
            return False
        if any((finding.limb, finding.first_frame + k) in jumps for k in (-1, 0, 1)):
            return True
        return any(
            cause.first_frame - NEAR <= finding.first_frame <= cause.last_frame + NEAR for cause in causes
        )

    return [finding for finding in found if not explained(finding)]
