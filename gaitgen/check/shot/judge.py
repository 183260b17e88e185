"""What is wrong with a clip without a period: seen in the whole of it, or in each stretch."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.check.cause_rules import CRAFT
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
from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.sharp_turns import (
    NEAR,
    NOISE_GAIN,
    STANDS_OVER,
    below,
    is_event,
    off_line_deg,
)
from gaitgen.check.seen import STANDS_OUT, Part, Seen
from gaitgen.check.shot.strides import CHANGES, GOES
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
STRIDES_NEAR = 2.0
HARDER = 2.0  # times: the landing of an animal that stops against those of its strides; estimate
Finder = Callable[[Seen], list[Finding]]

WHOLE: tuple[Finder, ...] = (
    frames.flips,
    frames.frozen,
    jitter.over_strides,
    feet.off_ground,
    feet.no_stance,
    carried.body_over_feet,
    feet.slips,
    feet.under_ground,
    feet.floating,
)
EVERYWHERE: tuple[Finder, ...] = (
    frames.swapped,
    jitter.jitter,
    legs.foreleg_bending,
    legs.locked,
    legs.parting,
    legs.out_of_range,
)
MOVING: tuple[Finder, ...] = (frames.missing, frames.repeated)
GOING: tuple[Finder, ...] = (
    frames.stuck_parts,
    frames.pops,
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
    craft.gives,
    craft.turns_back,
    craft.locked_at_liftoff,
    craft.cocked,
    craft.head_on_rails,
)


def found_in_shot(seen: Seen) -> list[Finding]:
    """Return everything that is wrong with a clip without a period, in no order."""
    found = [finding for finder in WHOLE for finding in finder(seen)]
    if jitter.is_everywhere(found):
        return found
    for part in seen.parts:
        here = [finding for finder in _finders(part) for finding in finder(part.seen)]
        found += [finding for finding in here if _is_in(part, finding)]
    return _once(found + _pops(seen) + _root_pops(seen))


def _finders(part: Part) -> tuple[Finder, ...]:
    if part.stretch.what == GOES:
        return (*EVERYWHERE, *MOVING, *GOING)
    return (*EVERYWHERE, *MOVING) if part.stretch.what == CHANGES else EVERYWHERE


def _is_in(part: Part, finding: Finding) -> bool:
    """Whether a finding touches a stretch, and not only the rows beside it; what a leg does begins in it."""
    first, last = finding.first_frame - 1, finding.last_frame - 1
    begins = first if finding.kind in CRAFT else last
    return first <= part.stretch.last and begins >= part.stretch.first


def _once(found: Sequence[Finding]) -> list[Finding]:
    """Leave out what two stretches both see, where they meet."""
    kept: dict[tuple[str, str, str, int], Finding] = {}
    for finding in found:
        key = (finding.kind, finding.limb, finding.joint, finding.first_frame)
        if key not in kept or finding.excess > kept[key].excess:
            kept[key] = finding
    return list(kept.values())


def _pops(seen: Seen) -> list[Finding]:
    """Find joints that leave the line of their neighbour frames, where no stride tells what is usual.

    A joint may do so by twice of what it, or its mate of the other side, does elsewhere within two strides.
    """
    off = off_line_deg(seen)
    noise = STANDS_OUT * NOISE_GAIN * seen.noise.angle_deg / 2.0
    least = seen.limits["pop"].top + noise
    mates, reach = _mates(seen), round(STRIDES_NEAR * seen.period)
    found: list[Finding] = []
    for part in seen.parts:
        if part.stretch.what == GOES:
            continue
        rows = slice(part.stretch.first, part.stretch.last + 1)
        for joint in np.flatnonzero(off[rows].max(axis=0) > least).tolist():
            row = part.stretch.first + int(off[rows, joint].argmax())
            near = np.arange(max(0, row - reach), min(len(off), row + reach + 1))
            own = off[near[np.abs(near - row) > NEAR], joint]
            usual = max(float(own.max(initial=0.0)), float(off[near, mates.get(joint, joint)].max()))
            usual = usual if joint in mates else float(own.max(initial=0.0))
            if is_event(seen, joint, row):  # a foot that lands or lifts may do it as sharply as it ever does
                far = np.abs(np.arange(len(off)) - row) > NEAR
                usual = max(
                    usual, float(off[far, joint].max()), float(off[:, mates.get(joint, joint)][far].max())
                )
            size = float(off[row, joint])
            if size - noise > STANDS_OVER * usual:
                found += seen.finding(
                    "pop", seen.motion.file.joint_names[joint], (row, row), size, frames.OFF_KEY
                )
    return found


def _root_pops(seen: Seen) -> list[Finding]:
    """Find a root that leaves its line for a frame more sharply than elsewhere within two strides.

    Where feet land, as those of an animal that brakes do, it may do so more sharply.
    """
    off = np.linalg.norm(off_line(padded(seen, seen.motion.root_m)), axis=1)
    off[:2] = off[-2:] = 0.0
    reach = round(STRIDES_NEAR * seen.period)
    found: list[Finding] = []
    for part in seen.parts:
        if part.stretch.what == GOES:
            continue
        row = part.stretch.first + int(off[part.stretch.first : part.stretch.last + 1].argmax())
        near = np.arange(max(0, row - reach), min(len(off), row + reach + 1))
        usual = float(off[near[np.abs(near - row) > NEAR]].max(initial=0.0))
        if off[row] > STANDS_OVER * (HARDER if _lands(seen, row) else 1.0) * usual:
            found += seen.finding(
                "pop",
                seen.motion.file.joint_names[0],
                (row, row),
                1000.0 * float(off[row]),
                frames.OFF_KEY,
                noise=2.4 * 1000.0 * seen.noise.root_m,
                limit_name="root_pop",
            )
    return found


def _lands(seen: Seen, row: int) -> bool:
    """Whether a foot lands at a row, give or take one."""
    return any(stance.begins and abs(stance.first - row) <= 1 for stance in seen.feet.stances)


def _mates(seen: Seen) -> dict[int, int]:
    """Return the joint of the other side of each joint of a leg."""
    mates: dict[int, int] = {}
    for left, right in (LIMBS[:2], LIMBS[2:]):
        a, b = (below(seen, seen.motion.limb_joints(limb)[0]) for limb in (left, right))
        if len(a) == len(b):
            mates |= dict(zip(a, b, strict=True)) | dict(zip(b, a, strict=True))
    return mates
