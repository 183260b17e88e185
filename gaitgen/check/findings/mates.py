"""Which single joint of a leg does what its mate of the other side does not: the joint that is at fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.in_step import apart_in_step_deg
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.extremes import turning_rows
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]
Away = Mapping[str, Array]

SINGLE = 2.5  # times the next joint's: a joint that differs so much more is the one that was touched
WHOLE = 2.0  # times the limit: where several joints differ, so much more says that the leg does
SMOOTHER = (
    3.0  # times a joint's: a mate that turns so much more sharply was not smoothed as it was (estimate)
)
FEW = 0.75  # of the frames of a stride: a pop is in the differences of five frames, of a stride of 20 or more
TO_AND_FRO = 3  # peaks of how far a joint is from its mate: a dent has one, a joint that is late two
STILL_DEG = 0.5  # a joint that turns less, as one of no length, tells nothing of the other side
MIRROR = np.diag([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Odd:
    """A leg, or one joint of it, that differs from its mate.

    Attributes
    ----------
    joint
        The joint that differs most.
    is_alone
        Whether it alone does; else the whole leg.
    first, last
        Rows between which it does.
    degrees
        By how much at the most. [degrees]
    peaks
        How often it comes that far, or nearly: a joint that goes to and fro does so again and again.
    is_smoother
        Whether the joint turns much less sharply than its mate does.
    """

    joint: str
    is_alone: bool
    first: int
    last: int
    degrees: float
    peaks: int = 1
    is_smoother: bool = False

    @property
    def shudders(self) -> bool:
        """Whether the joint goes to and fro, alone of its leg."""
        return self.is_alone and self.peaks >= TO_AND_FRO


def unlike_deg(seen: Seen) -> dict[str, Array]:
    """How far each joint of a limb is from its mate half a stride later, by foot: (frames, joints). [degrees]

    Only of pairs that take equal turns for most of the stride: their joints can be held against each other,
    and where contacts differ all the same, a fault of one leg has moved them.
    """
    gait, loop = seen.gait, seen.loop
    if gait is None:
        return {}
    room = seen.limits["unlike_other_side"].top / 2.0 + 3.0 * seen.noise.angle_deg
    half = round(gait.period / 2.0)
    found: dict[str, Array] = {}
    for pair in (LIMBS[:2], LIMBS[2:]):
        joints = [seen.motion.limb_joints(limb) for limb in pair]
        if len(joints[0]) != len(joints[1]):
            continue
        away, at = _half_later_deg(seen, joints, half)
        turns = local_turns(seen, joints[0])
        moves = np.degrees(turn_between_rad(turns, turns[:1]).max(axis=0)) > STILL_DEG
        if not moves.any() or float(np.median(away[:, moves])) > room:
            continue
        both = [_of_both(away, at, len(turns))]
        if loop.closes and round(gait.period) % 2:  # a half is no whole number of frames: it is one of two
            other = round(gait.period) - half
            both.append(_of_both(*_half_later_deg(seen, joints, other), len(turns)))
            own = [local_turns(seen, each)[: loop.frames] for each in joints]
            both = [each[:, : loop.frames] for each in both]
            both.append(apart_in_step_deg(gait, [LIMBS.index(limb) for limb in pair], own))
        found |= dict(zip(pair, np.min(both, axis=0)[:, : loop.frames], strict=True))
    return found


def _half_later_deg(
    seen: Seen, joints: Sequence[Sequence[int]], half: int
) -> tuple[Array, npt.NDArray[np.int64]]:
    """How far joints of a limb are from those of its mate so many frames later, and at which rows.

    (rows, joints) in degrees, and (rows,); ``joints`` are those of the limb and of its mate.
    """
    motion, loop = seen.motion, seen.loop
    rows = np.arange(loop.frames if loop.closes else max(1, motion.frames - half))
    at = (rows + half) % loop.frames if loop.closes else np.minimum(rows + half, motion.frames - 1)
    mirrored = MIRROR @ local_turns(seen, joints[1])[at] @ MIRROR
    return np.degrees(turn_between_rad(local_turns(seen, joints[0])[rows], mirrored)), at


def _of_both(away: Array, at: npt.NDArray[np.int64], rows: int) -> Array:
    """Return how far a limb is from its mate at its own rows, and at those of the mate, (2, rows, joints)."""
    both = np.zeros((2, rows, away.shape[1]))
    both[0, : len(away)], both[1, at] = away, away
    return both


def local_turns(seen: Seen, joints: Sequence[int]) -> Array:
    """Turn of joints in their parents, in the animal's axes, (frames, joints, 3, 3)."""
    changes, parents = seen.motion.changes, seen.motion.file.parents
    above = changes[:, [int(parents[joint]) for joint in joints]]
    return np.asarray(np.swapaxes(above, -1, -2) @ changes[:, joints])


def odd_joint(seen: Seen, away: Away, limb: str, findings: Sequence[Finding]) -> Odd | None:
    """Return where a leg with findings differs from its mate; None if it does not.

    Parameters
    ----------
    seen, away
        The clip; what `unlike_deg` says of it.
    limb
        The foot.
    findings
        What was found of it: its frames are those that count, all of them if nothing was.
    """
    if limb not in away:
        return None
    values = away[limb]
    frames = len(values)
    rows: set[int] = set()
    for finding in findings:
        first, last = finding.first_frame - 1, finding.last_frame - 1
        span = range(first, last + 1) if first <= last else [*range(first, frames), *range(last + 1)]
        rows |= {(row + by) % frames for row in span for by in (-1, 0, 1)}
    most = values[sorted(rows)].max(axis=0) if rows else values.max(axis=0)
    joint = int(most.argmax())
    rest = np.delete(most, joint)
    room = seen.limits["unlike_other_side"].top + 6.0 * seen.noise.angle_deg
    is_alone = not rest.size or bool(most[joint] > SINGLE * rest.max())
    if most[joint] < (room if is_alone else WHOLE * room):
        return None
    own = values[:, joint]
    busy = np.flatnonzero(own > max(0.3 * own.max(), room / 2.0))
    name = seen.motion.map.limbs[limb].joints[joint]
    first, last = _span(busy, frames) if seen.loop.closes else (int(busy[0]), int(busy[-1]))
    smoother = is_alone and _is_smoother(seen, limb, joint)
    return Odd(name, is_alone, first, last, float(most[joint]), _peaks(own, room / 2.0), smoother)


def other_side(limb: str) -> str:
    """Return the limb of the same end on the other side."""
    return LIMBS[LIMBS.index(limb) ^ 1]


def _is_smoother(seen: Seen, limb: str, joint: int) -> bool:
    """Whether a joint of a limb, counted from its first, turns much less sharply than its mate.

    Not in a few frames alone: there a mate that pops does so too.
    """
    own, other = (seen.motion.map.limbs[each].joints[joint] for each in (limb, other_side(limb)))
    sharp, mate_sharp = (float(np.quantile(_sharpness(seen, name), FEW)) for name in (own, other))
    return mate_sharp > SMOOTHER**2 * sharp


def _peaks(values: Array, least: float) -> int:
    """Count the peaks of a loop's curve (rows,) that stand out of it by more than so much."""
    low = int(values.argmin())
    turned = np.append(np.roll(values, -low), values[low])
    return (len(turning_rows(turned, least)) + 1) // 2


def roughness(seen: Seen, limb: str) -> float:
    """How unevenly the joints of a limb turn: mean squared second difference of their rotations."""
    turns = local_turns(seen, seen.motion.limb_joints(limb))
    return float(np.mean(np.diff(turns, n=2, axis=0) ** 2))


def that_shudders(
    seen: Seen, away: Away, pair: Sequence[str], own: Mapping[str, Sequence[Finding]]
) -> tuple[str, Odd | None]:
    """Return the leg of a pair and its joint that goes to and fro, more so than its mate.

    ``own`` are the findings of each leg.
    """
    both = {limb: odd_joint(seen, away, limb, own[limb]) for limb in pair}
    known = {limb: odd for limb, odd in both.items() if odd is not None}
    limb = max(known, key=lambda each: _shudder(seen, known[each].joint))
    return limb, known[limb]


def _shudder(seen: Seen, joint: str) -> float:
    """How much a joint goes to and fro: its mean sharpness."""
    return float(_sharpness(seen, joint).mean())


def _sharpness(seen: Seen, joint: str) -> Array:
    """Mean squared fourth difference of a joint's rotations, (frames,), round a loop too."""
    turns = local_turns(seen, [seen.motion.joint(joint)])
    if seen.loop.closes:
        turns = np.concatenate([turns[: seen.loop.frames], turns[:4]])
    return np.asarray((np.diff(turns, n=4, axis=0) ** 2).mean(axis=(1, 2, 3)))


def off_ground_m(seen: Seen, limb: str) -> float:
    """Mean distance of a toe from the ground while it would stand, were it like its mate. [m]"""
    if seen.gait is None:
        return 0.0
    row = LIMBS.index(limb)
    mate = row + 1 if row % 2 == 0 else row - 1
    n = seen.loop.frames if seen.loop.closes else seen.motion.frames
    half = round(seen.gait.period / 2.0)
    down = np.roll(seen.feet.planted[:n, mate], half)
    height = np.abs(seen.motion.toes_m[:n, row, 2] - seen.feet.ground_m)
    return float(height[down].mean()) if down.any() else 0.0


def _span(rows: npt.NDArray[np.int64], frames: int) -> tuple[int, int]:
    """First and last of rows of a loop: those on both sides of the widest gap."""
    gaps = np.diff(np.append(rows, rows[0] + frames))
    widest = int(gaps.argmax())
    return int(rows[(widest + 1) % len(rows)]), int(rows[widest])
