"""Joints that leave the line of their neighbour frames more sharply than they do in other steps."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.jumps import lost
from gaitgen.check.findings.neighbours import SAME_DEG, off_line, padded
from gaitgen.check.findings.opposite import Mates, below, mates_of, opposite
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

Shift = tuple[Mates, float, float]

MOVES_DEG = 1e-3
MOST_PEAKS = 12
NOISE_GAIN = 1.39 * 1.73  # of one channel's noise in off_line_deg: five frames, three channels
STANDS_OVER = 2.0  # a pop against the sharpest turn of the same joint elsewhere
NEAR = 3
UNSURE = 2.0  # times that where no stride tells what the joint does in other steps
MOST_SLACK = 3
UNEVEN = 0.75  # frames by which the stances of a pair differ where it limps
# What goes to and fro once in so many frames may be so far off its line by that alone, as a share of its way;
# with more frames by less, as their square; with more than the last number by no more than other limits let
# through (measured on the computed gallops of small animals).
COARSE_FRAMES, COARSE_SHARE, COARSE_MOST = 8.0, 0.55, 24.0
# Where frames are long and half a stride is on none, a joint's turns fall between frames that its mate has:
# it may be off its line by so much of the way that both of them go (measured on walks and trots of all
# animals, every second frame of 24 and 25 a second).
BETWEEN_SHARE, ON_FRAME = 1.4, 0.1
COARSE_UNEVEN = 0.6  # in a gait whose left and right are unlike: no mate tells what a leg does


def off_line_deg(seen: Seen) -> Array:
    """How far each joint is from the line of its neighbour frames, (rows, joints). [degrees]"""
    q = quaternion_from_matrix(padded(seen, seen.motion.local))
    off = off_line(continuous_sign(q))
    angle = np.degrees(2.0 * np.linalg.norm(off, axis=-1))
    if not seen.loop.closes:
        angle[:2] = angle[-2:] = 0.0
    return np.asarray(angle)


def _shifts(seen: Seen) -> dict[int, Shift]:
    """Joints that do the same at another moment: which, frames later in stance, frames later in swing."""
    if seen.gait is None:
        return {}
    half = seen.gait.period / 2.0
    shifts: dict[int, Shift] = {
        joint: ((joint,), half, half) for joint in range(len(seen.motion.file.joint_names))
    }
    contact, duty = seen.gait.contact, seen.gait.summary.duty_factor
    for joint, mates in opposite(seen).items():
        own, other = _limb_of(seen, joint), _limb_of(seen, mates[0])
        if own is None or other is None:
            continue
        left, right = min(own, other), max(own, other)
        later = float(contact[right] - contact[left])
        leaves = later + float(duty[right] - duty[left]) * seen.gait.period
        sign = 1.0 if own == left else -1.0
        shifts[joint] = (mates, sign * later, sign * leaves)
    return shifts


def _elsewhere(seen: Seen, off: Array, joint: int, row: int, shifts: dict[int, Shift], slack: int) -> float:
    """How sharply a joint, or its mirror image, turns at the same moment of other steps. [degrees]"""
    if joint not in shifts or seen.gait is None:
        mates = mates_of(seen)
        own = off[:, joint].copy()
        for _ in range(2):
            peak = int(own.argmax())
            own[max(0, peak - NEAR) : peak + NEAR + 1] = 0.0
        usual = max(float(own.max()), float(off[:, mates[joint]].max()) if joint in mates else 0.0)
        if joint in mates and is_event(seen, joint, row):  # legs land and lift about as sharply as each other
            others = sorted(set(mates) - set(_leg_of(seen, joint)))
            usual = max(usual, float(off[:, others].max(initial=0.0)) / UNSURE)
        return UNSURE * usual
    same, later, leaves = shifts[joint]
    has_mate = same != (joint,)
    period, rows = seen.gait.period, len(off)
    turns = range(-2, 3) if rows > 1.5 * period else (0,)
    places = [(same, row + shift + turn * period) for turn in turns for shift in (later, leaves)]
    if has_mate:  # a foot whose contact is off leaves its mate where an even gait has it
        places += [(same, row + period / 2.0 + turn * period) for turn in (*turns, -1)]
    places += [((joint,), row + turn * period) for turn in turns if turn]
    by = 1 + min(2, seen.unsure_frames) + slack
    found = (
        float(off[_far_rows(len(off), row), joint].max(initial=0.0)) if is_event(seen, joint, row) else 0.0
    )
    if has_mate:
        found = max(found, _in_an_uneven_swing(seen, off, joint, same, row))
    if rows < 1.5 * period and not seen.gait.symmetrical:
        found = max(found, _in_an_uneven_stride(seen, off, joint, row, shifts))
    for which, moment in places:
        near = np.arange(int(np.floor(moment)) - by, int(np.ceil(moment)) + by + 1)
        near = near % rows if seen.loop.closes else near[(near >= 0) & (near < rows)]
        near = near[np.abs(near - row) > NEAR] if which == (joint,) else near
        if near.size:
            found = max(found, float(off[near][:, list(which)].max()))
    return found


def _in_an_uneven_swing(seen: Seen, off: Array, joint: int, mates: Mates, row: int) -> float:
    """How sharply the mates of a joint turn in a swing, where the swings of the pair are of unlike lengths.

    The legs of a limp go through their swings at unlike speeds, so no moment of one is that of the other, and
    the quicker one turns the more sharply: by the square at the least.
    """
    own, other = (_limb_of(seen, each) for each in (joint, mates[0]))
    if own is None or other is None or seen.gait is None:
        return 0.0
    duty = seen.gait.summary.duty_factor
    rows = len(off)
    if abs(duty[own] - duty[other]) * seen.gait.period < UNEVEN or seen.feet.planted[row % rows, own]:
        return 0.0
    air = ~seen.feet.planted[:rows, other]
    quicker = max(1.0, (1.0 - duty[other]) / max(1.0 - duty[own], 1e-6)) ** 2
    return quicker * float(off[: len(air)][air][:, list(mates)].max()) if air.any() else 0.0


def _in_an_uneven_stride(seen: Seen, off: Array, joint: int, row: int, shifts: dict[int, Shift]) -> float:
    """How sharply a leg turns in the rest of a single stride in which its mate goes another way.

    What lands or lifts is held against all other legs: one of them does it as sharply.
    """
    if _limb_of(seen, joint) is None:
        return 0.0
    found = float(off[_far_rows(len(off), row), joint].max(initial=0.0))
    if not is_event(seen, joint, row):
        return found
    own = _leg_of(seen, joint)
    others = [each for each in shifts if each not in own and _limb_of(seen, each) is not None]
    return max(found, float(off[:, others].max(initial=0.0)))


@lru_cache(maxsize=1)  # asked for of many joints of one clip
def _legs(seen: Seen) -> tuple[tuple[int, ...], ...]:
    """Return the joints of each limb, and what hangs on them, in LIMBS order."""
    return tuple(tuple(below(seen, seen.motion.limb_joints(name)[0])) for name in LIMBS)


def _leg_of(seen: Seen, joint: int) -> tuple[int, ...]:
    """Return the joints of the leg that a joint belongs to."""
    limb = _limb_of(seen, joint)
    return () if limb is None else _legs(seen)[limb]


def _limb_of(seen: Seen, joint: int) -> int | None:
    """Return the limb that a joint belongs to, as a row of LIMBS."""
    return next((limb for limb, leg in enumerate(_legs(seen)) if joint in leg), None)


def _far_rows(rows: int, row: int) -> npt.NDArray[np.int64]:
    """Rows that are not near one."""
    every = np.arange(rows)
    return every[np.abs(every - row) > NEAR]


def is_event(seen: Seen, joint: int, row: int) -> bool:
    """Tell whether a joint belongs to a foot that lands or lifts at a row: it may turn sharply there."""
    limb = _limb_of(seen, joint)
    if limb is None:
        return False
    for stance in seen.feet.of(limb):
        for event in (stance.first, stance.last):
            apart = abs(event - row)
            if seen.loop.closes:
                apart = min(apart % seen.loop.frames, -apart % seen.loop.frames)
            if apart <= 1 + seen.unsure_frames:
                return True
    return False


def _slack(seen: Seen) -> int:
    """Frames by which steps are unlike because frames are missing or held."""
    steps = np.abs(np.diff(seen.motion.file.rows, axis=0)).max(axis=1)
    held = int((steps < SAME_DEG).sum()) if float(np.median(steps)) > MOVES_DEG else 0
    return min(MOST_SLACK, held + sum(most for _, _, most in lost(seen)))


def sharp_turns(
    seen: Seen, limit_name: str = "pop", *, at_the_seam: bool = False
) -> list[tuple[int, int, float]]:
    """Return (row, joint, degrees) of every joint that leaves its line more sharply than in other steps.

    Either where a loop closes, or everywhere else.
    """
    off = off_line_deg(seen)
    shifts, slack = _shifts(seen), _slack(seen)
    noise = STANDS_OUT * NOISE_GAIN * seen.noise.angle_deg / 2.0
    least = seen.limits[limit_name].top + noise
    found: list[tuple[int, int, float]] = []
    for joint in np.flatnonzero(off.max(axis=0) > least).tolist():
        own = off[:, joint].copy()
        for _ in range(MOST_PEAKS):
            row = int(own.argmax())
            size = float(own[row])
            if size <= least:
                break
            if at_seam(seen, row) == at_the_seam:
                usual = STANDS_OVER * _elsewhere(seen, off, joint, row, shifts, slack)
                if at_the_seam and _limb_of(seen, joint) is not None:  # a leg that turns as sharply anyway
                    usual = max(usual, float(off[_far_rows(len(off), row), joint].max(initial=0.0)))
                if size - noise > max(usual, coarse_deg(seen, joint, row)):
                    found.append((row, joint, size))
            own[max(0, row - NEAR) : row + NEAR + 1] = 0.0
    return found


def coarse(seen: Seen, row: int) -> tuple[npt.NDArray[np.int64], float]:
    """How far anything may leave its line because a running stride has few frames, or frames are long.

    Returns
    -------
    rows
        The other rows of a stride around a row; none where that is no reason.
    share
        Of the way that it goes in these rows.
    """
    between = falls_between(seen)
    if seen.gait is None or not (between or (not seen.gait.walks and seen.gait.period <= COARSE_MOST)):
        return np.zeros(0, dtype=np.int64), 0.0
    period = round(seen.gait.period)
    rows = np.arange(row - period // 2, row + period - period // 2)
    rows = rows % seen.loop.frames if seen.loop.closes else rows[(rows >= 0) & (rows < seen.motion.frames)]
    share = COARSE_SHARE if seen.gait.symmetrical else COARSE_UNEVEN
    share *= (COARSE_FRAMES / seen.gait.period) ** 2
    return rows[rows != row], BETWEEN_SHARE if between else share


def falls_between(seen: Seen) -> bool:
    """Whether frames are long and half a stride is on none: no mate is seen at the moments of a joint."""
    half = 0.0 if seen.gait is None else seen.gait.period / 2.0
    return seen.is_coarse and abs(half - round(half)) > ON_FRAME


def coarse_deg(seen: Seen, joint: int, row: int) -> float:
    """How far a joint may be off its line at a row because a stride has few frames. [degrees]"""
    rows, share = coarse(seen, row)
    if not rows.size:
        return 0.0
    ways = [seen.motion.local[rows, joint]]
    if falls_between(seen):
        ways += [seen.motion.local[:, mate] for mate in opposite(seen).get(joint, ())]
    return share * max(float(np.degrees(turn_between_rad(way[:, None], way[None]).max())) for way in ways)


def at_seam(seen: Seen, row: int) -> bool:
    """Tell whether a row is the first or last of a loop."""
    return seen.loop.closes and row in {0, seen.loop.frames - 1}
