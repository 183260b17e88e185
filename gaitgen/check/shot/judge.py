"""What is wrong with a clip without a period: seen in the whole of it, or in each stretch."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.check.finders import Find, Where, made
from gaitgen.check.finding import Finding
from gaitgen.check.findings import jitter
from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.opposite import mates_of
from gaitgen.check.findings.pops import OFF_KEY, flicking_joints
from gaitgen.check.findings.sharp_turns import (
    NEAR,
    NOISE_GAIN,
    STANDS_OVER,
    is_event,
    off_line_deg,
)
from gaitgen.check.findings.steps_that_stay import or_stays
from gaitgen.check.kinds import CRAFT, FILE, GROUND, MISREAD, RIG, SHAKE
from gaitgen.check.seen import STANDS_OUT, Part, Seen
from gaitgen.check.shot.snaps import snaps
from gaitgen.check.shot.strides import CHANGES, GOES, JUMPS

Array = npt.NDArray[np.float64]
# What is judged of a jump: no stride tells what else its legs and its body should do.
IN_A_JUMP = frozenset({*MISREAD, *FILE, *RIG, *SHAKE, *GROUND, "sole under ground", "pop", "rotation jump"})
STRIDES_NEAR = 2.0
HARDER = 2.0  # times: the landing of an animal that stops against those of its strides; estimate


def found_in_shot(seen: Seen) -> list[Finding]:
    """Return everything that is wrong with a clip without a period, in no order."""
    found = [finding for find in made(Where.WHOLE) for finding in find(seen)]
    if jitter.is_everywhere(found):
        return found
    for part in seen.parts:
        here = [finding for find in _finders(part) for finding in find(part.seen)]
        found += [each for each in here if _is_in(part, each) and not _is_told_apart(seen, part, each)]
    return _once(
        [each for each in found + _pops(seen) + _root_pops(seen) + snaps(seen) if _is_judged(seen, each)]
    )


def _is_judged(seen: Seen, finding: Finding) -> bool:
    """Whether a finding is of a kind that is judged where it is: not every one is in a jump."""
    if finding.kind in IN_A_JUMP:
        return True
    first, last = finding.first_frame - 1, finding.last_frame - 1
    jumps = [part.stretch for part in seen.parts if part.stretch.what == JUMPS]
    return not any(jump.first <= first and last <= jump.last for jump in jumps)


def _has_no_usual_stride(seen: Seen, part: Part) -> bool:
    """Whether no stride tells what is usual in a stretch: in a change, and on steps and rocks."""
    return part.stretch.what != GOES or (seen.shot is not None and seen.shot.is_stepped(part.stretch))


def _is_told_apart(seen: Seen, part: Part, finding: Finding) -> bool:
    """Whether a joint or the root is off its line where no stride tells what is usual: `_pops` tell of it."""
    is_joint = finding.kind == "pop" and not finding.joint and finding.limb in seen.motion.file.joint_names
    return part.stretch.what == GOES and is_joint and _has_no_usual_stride(seen, part)


def _finders(part: Part) -> tuple[Find, ...]:
    if part.stretch.what == GOES:
        return made(Where.EVERYWHERE, Where.MOVING, Where.GOING)
    return made(Where.EVERYWHERE, Where.MOVING) if part.stretch.what == CHANGES else made(Where.EVERYWHERE)


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
    off[:, sorted(flicking_joints(seen))] = 0.0
    mates, reach = mates_of(seen), round(STRIDES_NEAR * seen.period)
    found: list[Finding] = []
    for part in seen.parts:
        if not _has_no_usual_stride(seen, part):
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
                found += seen.finding("pop", seen.motion.file.joint_names[joint], (row, row), size, OFF_KEY)
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
        if not _has_no_usual_stride(seen, part):
            continue
        row = part.stretch.first + int(off[part.stretch.first : part.stretch.last + 1].argmax())
        near = np.arange(max(0, row - reach), min(len(off), row + reach + 1))
        usual = float(off[near[np.abs(near - row) > NEAR]].max(initial=0.0))
        if off[row] > STANDS_OVER * (HARDER if _lands(seen, row) else 1.0) * usual:
            popped = seen.finding(
                "pop",
                seen.motion.file.joint_names[0],
                (row, row),
                1000.0 * float(off[row]),
                OFF_KEY,
                noise=2.4 * 1000.0 * seen.noise.root_m,
                limit_name="root_pop",
            )
            found += or_stays(seen, popped, row)
    return found


def _lands(seen: Seen, row: int) -> bool:
    """Whether a foot lands at a row, give or take one."""
    return any(stance.begins and abs(stance.first - row) <= 1 for stance in seen.feet.stances)
