"""Single frames at which a joint, a leg, the whole pose or the root leaves the line of its neighbours."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.kicks import Kick, kicks
from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.opposite import below
from gaitgen.check.findings.sharp_turns import (
    MOVES_DEG,
    NEAR,
    STANDS_OVER,
    at_seam,
    coarse,
    off_line_deg,
    sharp_turns,
)
from gaitgen.check.findings.slides import every_slide
from gaitgen.check.findings.slipped import or_its_point
from gaitgen.check.findings.spikes import spikes
from gaitgen.check.findings.steps_that_stay import or_stays
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

WHOLE = 0.35  # share of the moving joints that pop at once when it is the whole body
STRAYED = 0.6  # of the moving joints: so many are worst at one frame when its pose is out of place
MOST_POPS = 12
# An ear goes there and back in this at the least; quicker it has a wrong key (estimate). [s]
FLICK_S = 0.1
FLICKS = "; if the ear is to flick, let it take three frames or more"
OFF_KEY = "take the key at this frame out, or put it on the curve of its neighbours"


def pops(seen: Seen) -> list[Finding]:
    """Find joints, legs and whole poses that leave the line of their neighbour frames for a frame."""
    names, flicking = seen.motion.file.joint_names, flicking_joints(seen)
    alone = {(row, joint) for row, joint, _ in spikes(seen)}
    moving = int((np.ptp(seen.motion.file.rows, axis=0) > MOVES_DEG).sum() / 3.0)
    hits = _with_spikes(seen, sharp_turns(seen))
    found = _strayed(seen)
    strays = {finding.first_frame - 1 - seen.first_row for finding in found}
    left: list[tuple[int, int, float]] = []
    for row, group in groupby(hits, key=lambda hit: hit[0]):
        members = list(group)
        if any(abs(row - stray) <= 1 for stray in strays):
            continue
        if len(members) > max(3.0, WHOLE * moving):
            strays.add(row)
            worst = max(size for _, _, size in members)
            found += seen.finding("pop", "whole body", (row, row), worst, OFF_KEY)
            continue
        left += sorted(members, key=lambda hit: -hit[2])[:MOST_POPS]
    for kick in kicks(seen):
        if any(abs(kick.row - stray) <= 1 for stray in strays) or _slides_or_turns(seen, kick):
            continue
        limb, at = LIMBS[kick.limb], (kick.row, kick.row)
        leg = below(seen, seen.motion.limb_joints(limb)[0])
        if _comes_from_above(seen, kick.row, leg, left):
            continue
        left = [hit for hit in left if hit[1] not in leg or abs(hit[0] - kick.row) > 1]
        name = names[kick.joint] if kick.joint >= 0 else ""
        do = OFF_KEY + or_its_point(seen, kick.row, kick.joint)
        found += seen.finding("pop", name or limb, at, kick.degrees, do, limit_name="kick", joint=name)
    for row, joint, size in left:
        do = OFF_KEY + or_its_point(seen, row, joint)
        if joint not in flicking:
            found += seen.finding("pop", names[joint], (row, row), size, do)
        elif (row, joint) in alone and 2.0 * seen.motion.file.frame_time_s < FLICK_S:
            found += seen.finding("pop", names[joint], (row, row), size, do + FLICKS)
    return found + root_pops(seen)


def _with_spikes(seen: Seen, hits: list[tuple[int, int, float]]) -> list[tuple[int, int, float]]:
    """Return sharp turns, and with them the joints that are off their curve in one frame alone, by row."""
    known = {(row, joint) for row, joint, _ in hits}
    return sorted([*hits, *(spike for spike in spikes(seen) if spike[:2] not in known)])


def _slides_or_turns(seen: Seen, kick: Kick) -> bool:
    """Whether a foot leaves its way because it slides there, or begins or ends to, or a loop begins anew."""
    turn = seen.loop.frames if seen.loop.closes else 0
    return at_seam(seen, kick.row) or any(
        slide.limb == kick.limb and slide.first - 1 <= at <= slide.last + 1
        for slide in every_slide(seen)
        for at in {kick.row, kick.row + turn}
    )


def _comes_from_above(seen: Seen, row: int, leg: list[int], hits: list[tuple[int, int, float]]) -> bool:
    """Whether a leg (its joints) kicks at a row because a joint that carries it pops, and none of its own."""
    near = {joint for at, joint, _ in hits if abs(at - row) <= 1}
    return not near & set(leg) and any(leg[0] in below(seen, joint) for joint in near)


def _strayed(seen: Seen) -> list[Finding]:
    """Find a frame at which most joints are farther off their line than at any other: a pose out of place."""
    off = off_line_deg(seen)
    moving = off.max(axis=0) > MOVES_DEG
    if not moving.any():
        return []
    off = off[:, moving]
    rows, count = np.unique(off.argmax(axis=0), return_counts=True)
    row = int(rows[count.argmax()])
    if at_seam(seen, row) or count.max() < STRAYED * moving.sum():
        return []
    return seen.finding(
        "pop",
        "whole body",
        (row, row),
        float(off[row].max()),
        "take the keys at this frame out: its pose is not on the way from the frame before to the one after",
    )


def flicking_joints(seen: Seen) -> set[int]:
    """Joints that may flick: ears, and whatever hangs on them."""
    ears = [name for name in (seen.motion.map.ear_left, seen.motion.map.ear_right) if name]
    return {joint for name in ears for joint in below(seen, seen.motion.joint(name))}


def ears_alone(seen: Seen) -> list[Finding]:
    """Find ears that leave their curve for one frame anywhere in a shot, between its gaits too."""
    if 2.0 * seen.motion.file.frame_time_s >= FLICK_S:
        return []
    flicking, found = flicking_joints(seen), []
    for row, joint, size in spikes(seen):
        if joint in flicking:
            name = seen.motion.file.joint_names[joint]
            found += seen.finding("pop", name, (row, row), size, OFF_KEY + FLICKS)
    return found


def root_pops(seen: Seen) -> list[Finding]:
    """Find a root that leaves the line of its neighbour frames for a frame."""
    path = seen.motion.root_m
    rows = np.arange(len(path))[:, None]
    steady = (path[-1] - path[0]) / (len(path) - 1)
    off = np.linalg.norm(off_line(padded(seen, path - rows * steady)), axis=1)
    inner = off.copy()
    inner[:2] = inner[-2:] = 0.0
    row = int(inner.argmax())
    size = float(inner[row])
    far = np.abs(np.arange(len(off)) - row)
    if seen.loop.closes:  # a stride of few frames turns as sharply half a stride later
        far, other = np.minimum(far, len(off) - far), off
    else:
        other = inner
    other = np.where(far > NEAR, other, 0.0)
    near, share = coarse(seen, row)
    few = share * float(np.linalg.norm(np.ptp((path - rows * steady)[near], axis=0))) if near.size else 0.0
    if size < max(STANDS_OVER * float(other.max()), few):
        return []
    popped = seen.finding(
        "pop",
        seen.motion.file.joint_names[0],
        (row, row),
        1000.0 * size,
        OFF_KEY + or_its_point(seen, row, 0),
        noise=2.4 * 1000.0 * seen.noise.root_m,
        limit_name="root_pop",
    )
    return or_stays(seen, popped, row)
