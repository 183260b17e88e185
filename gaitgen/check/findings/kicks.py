"""Legs of a run that kick for a frame: the foot leaves the way on which all joints together lead it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import off_line, padded
from gaitgen.check.findings.sharp_turns import NOISE_GAIN, off_line_deg
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]

# A foot is this far off its way at the least, in hip heights, and so much farther than the others ever are:
# the feet of computed gallops are up to 0.17 off, and up to 1.46 times as far as the others.
LEAST, OVER = 0.1, 1.5
LEFT = 0.7  # of it may be left where the joint at fault is put on the line of its neighbours
LINE = np.array([-1.0, 4.0, 0.0, 4.0, -1.0]) / 6.0  # a cubic through the four frames around one


def kicks(seen: Seen) -> list[tuple[int, int, float]]:
    """Return (row, joint, degrees) of joints that throw a foot off its way for a frame, in a run.

    Running joints turn so sharply from frame to frame that a kick of one hides among them. The joint at fault
    is the one that brings the foot back when it is put on the line of its neighbour frames.
    """
    if seen.gait is None or seen.gait.walks:
        return []
    motion = seen.motion
    tops = [motion.limb_joints(limb)[0] for limb in LIMBS]
    ways = padded(seen, motion.toes_m - motion.places_m[:, tops])
    off = np.linalg.norm(off_line(ways), axis=2) / motion.hip_height_m  # (rows, 4)
    if not seen.loop.closes:
        off[:2] = off[-2:] = 0.0
    noise = STANDS_OUT * NOISE_GAIN * np.linalg.norm(seen.noise.toe_m, axis=1) / motion.hip_height_m
    found: list[tuple[int, int, float]] = []
    for limb, name in enumerate(LIMBS):
        row = int(off[:, limb].argmax())
        usual = OVER * float(np.delete(off, limb, axis=1).max())
        if off[row, limb] - noise[limb] <= max(LEAST, usual):
            continue
        line = LINE @ ways[row : row + 5, limb]
        left = [
            float(np.linalg.norm(_foot_m(seen, limb, joint, row) - line))
            for joint in motion.limb_joints(name)
        ]
        joint = motion.limb_joints(name)[int(np.argmin(left))]
        if min(left) < LEFT * off[row, limb] * motion.hip_height_m:
            found.append((row, joint, float(off_line_deg(seen)[row, joint])))
    return found


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
