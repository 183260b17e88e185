"""Legs that kick for a frame: the foot leaves the way on which all joints together lead it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.sharp_turns import NOISE_GAIN, falls_between, off_line_deg
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]

# A foot is this far off its way at the least, in hip heights, and so much farther than the others ever are:
# the feet of computed gallops are up to 0.17 off, and up to 1.46 times as far as the others.
LEAST, LEAST_WALKING, OVER, FAR_OVER = 0.1, 0.02, 1.5, 2.5
ALONE = 0.5  # of its unrest may be left where that frame alone is put on the line of its neighbours
LEFT = 0.5  # of it may be left where the joint at fault is put on the line of its neighbours
LINE = np.array([-1.0, 4.0, 0.0, 4.0, -1.0]) / 6.0  # a cubic through the four frames around one


@dataclass(frozen=True)
class Kick:
    """A foot that is off its way for a frame.

    Attributes
    ----------
    row, limb
        Where and which, as a row of LIMBS.
    joint
        The joint that brings it back, -1 if no single one does.
    degrees
        How far that joint, or the worst of the leg, is off its line. [degrees]
    """

    row: int
    limb: int
    joint: int
    degrees: float


def kicks(seen: Seen) -> list[Kick]:
    """Return where legs throw a foot off its way for a frame.

    Running joints turn so sharply from frame to frame that a kick of one hides among them; and where a foot
    jumps on the ground, its contact seems to be there. The joint at fault is the one that brings the foot
    back when it is put on the line of its neighbour frames.
    """
    if seen.gait is None:
        return []
    motion = seen.motion
    tops = [motion.limb_joints(limb)[0] for limb in LIMBS]
    ways = padded(seen, motion.toes_m - motion.places_m[:, tops])
    if seen.is_levelled:  # what is under a foot in the air, and then where it lands, breaks off
        ways = ways * np.array([1.0, 1.0, 0.0])
    off = np.linalg.norm(off_line(ways), axis=2) / motion.hip_height_m  # (rows, 4)
    if not seen.loop.closes:
        off[:2] = off[-2:] = 0.0
    noise = STANDS_OUT * NOISE_GAIN * np.linalg.norm(seen.noise.toe_m, axis=1) / motion.hip_height_m
    found: list[Kick] = []
    for limb, name in enumerate(LIMBS):
        row = int(off[:, limb].argmax())
        usual = float(np.delete(off, limb, axis=1).max())
        least = max(LEAST_WALKING if seen.gait.walks and not falls_between(seen) else LEAST, OVER * usual)
        if off[row, limb] - noise[limb] <= min(least, max(LEAST_WALKING, FAR_OVER * usual)):
            continue
        line, own = LINE @ ways[row : row + 5, limb], motion.limb_joints(name)
        if not _is_alone(ways[:, limb], row, line):
            continue
        left = [float(np.linalg.norm(_apart_m(seen, limb, joint, row, line))) for joint in own]
        degrees = off_line_deg(seen)[row, own]
        best = int(np.argmin(left))
        is_its_own = min(left) < LEFT * off[row, limb] * motion.hip_height_m
        size = float(degrees[best] if is_its_own else degrees.max())
        found.append(Kick(row, limb, own[best] if is_its_own else -1, size))
    return found


def _apart_m(seen: Seen, limb: int, joint: int, row: int, line: Array) -> Array:
    """How far a foot is off its line, (3,), with a joint on its neighbours' line. [m]

    On a ground that is not level only along it.
    """
    apart = _foot_m(seen, limb, joint, row) - line
    return np.asarray(apart * np.array([1.0, 1.0, float(not seen.is_levelled)]))


def _is_alone(way: Array, row: int, line: Array) -> bool:
    """Whether a foot's way, (rows + 4, 3), is smooth again where one row is put on its line."""
    put = way.copy()
    put[row + 2] = line
    rows = np.arange(max(2, row), min(len(way) - 3, row + 4) + 1)
    before, after = (np.linalg.norm(each[rows] - _line_of(each, rows), axis=1).max() for each in (way, put))
    return bool(after < ALONE * before)


def _line_of(way: Array, rows: npt.NDArray[np.int64]) -> Array:
    return (4.0 * (way[rows - 1] + way[rows + 1]) - way[rows - 2] - way[rows + 2]) / 6.0


def _foot_m(seen: Seen, limb: int, joint: int, row: int) -> Array:
    """Place of a toe against the top of its limb, (3,), with a joint on the line of its neighbours. [m]"""
    motion = seen.motion
    above = motion.changes[:, int(motion.file.parents[joint])]
    own = motion.changes[:, joint]
    turns = padded(seen, np.swapaxes(above, -1, -2) @ own)[row : row + 5]
    middle = LINE @ continuous_sign(quaternion_from_matrix(turns))
    put = above[row] @ matrix_from_quaternion(middle / np.linalg.norm(middle)) @ own[row].T
    place = motion.places_m[row, joint]
    top = motion.places_m[row, motion.limb_joints(LIMBS[limb])[0]]
    return np.asarray(place + put @ (motion.toes_m[row, limb] - place) - top)
