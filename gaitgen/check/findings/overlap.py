"""Tails that do not drag."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.check.waves import apart_deg, wave

Array = npt.NDArray[np.float64]

LEAST_SWING_DEG = 0.8
# A tail whose root goes up and down with the hips while its end swings against them hardly swings between: in
# a standing wave no joint is before another. So it is where one swings by less than this share of the first.
NODE = 0.8
# A joint swings after the one above it by no more than so much: what follows is up to half a turn behind, and
# a long one in a brisk gait a little more; what is farther apart goes before it (estimate).
MOST_BEHIND_DEG = 210.0
BRISK_S = 1.4  # stride period up to which a drag must be seen; slower, a part has time to follow


def tail_lag(seen: Seen) -> list[Finding]:
    """Find a tail whose tip moves with its root or, unless it swings once a stride in a run, before it."""
    motion, gait = seen.motion, seen.gait
    names = motion.map.tail
    if gait is None or len(names) < 2 or not seen.waves:
        return []
    rows = len(seen.waves["hips"].smooth)
    swings, times = _pitches(seen, [motion.joint(name) for name in names], rows)
    least = min(abs(swing) for swing in swings)
    is_standing = not gait.symmetrical and min(abs(swing) for swing in swings[1:]) < NODE * abs(swings[0])
    if least < LEAST_SWING_DEG or is_standing:
        return []
    lag = times * sum(_behind_deg(a, b) for a, b in pairwise(swings))
    if times > 1.0:  # in a run the back bends under each joint, and one may be before the one above it
        lag = abs(lag)
    ends = [(names[0], swings[0]), (names[-1], swings[-1])]
    joints = len(names) + 2.0
    sigma = math.degrees(seen.noise.angle_deg * math.sqrt(joints * 2.0 / rows) / least)
    sideways = [_of_yaw(seen, motion.joint(name), rows) / abs(swing) for name, swing in ends]
    sigma = times * (sigma + math.degrees(sum(sideways)) / STANDS_OUT)
    frames = (0, motion.frames - 1)
    do = "let each joint of the tail follow the one before it a little later"
    found = seen.finding(
        "tail does not trail", "tail", frames, -lag, do, noise=sigma, limit_name="overlap_lead"
    )
    period_s = gait.period * motion.file.frame_time_s
    if found or period_s > BRISK_S or seen.is_backward:  # in short slow steps back a tail has time to follow
        return found
    return seen.finding(
        "tail does not trail", "tail", frames, lag, do, below=True, noise=sigma, limit_name="overlap_lag"
    )


def _pitches(seen: Seen, joints: list[int], rows: int) -> tuple[list[complex], float]:
    """Swings of joints twice a stride, or once where sides are unlike and they go farther so. [degrees]

    And by how much a lag is to be multiplied to be one of a swing that comes twice a stride.
    """
    assert seen.gait is not None  # noqa: S101
    period, frame_s = seen.gait.period, seen.motion.file.frame_time_s
    waves = [wave(np.degrees(_pitch_rad(seen, joint, rows)), period, frame_s) for joint in joints]
    is_once = not seen.gait.symmetrical and abs(waves[0].first) > abs(waves[0].second)
    return [each.first if is_once else each.second for each in waves], 2.0 if is_once else 1.0


def _behind_deg(above: complex, below: complex) -> float:
    """How far a joint swings after the one above it; before it, below 0. [degrees]"""
    lag = -apart_deg(math.degrees(cmath.phase(below) - cmath.phase(above)))
    return lag + 360.0 if lag < MOST_BEHIND_DEG - 360.0 else lag


def _of_yaw(seen: Seen, joint: int, rows: int) -> float:
    """How much of that may come of a joint that swings sideways, as in a flick, which brings it level.

    Of second order in the yaw. [degrees]
    """
    turn = seen.motion.changes[:rows, joint]
    yaw = np.unwrap(np.arctan2(turn[:, 1, 0], turn[:, 0, 0]))
    slope = np.tan(_pitch_rad(seen, joint, rows))
    return abs(_twice_a_stride(seen, slope * (yaw - yaw.mean()) ** 2 / 2.0))


def _pitch_rad(seen: Seen, joint: int, rows: int) -> Array:
    turn = seen.motion.changes[:rows, joint]
    return np.asarray(np.arctan2(turn[:, 2, 0], np.hypot(turn[:, 0, 0], turn[:, 1, 0])))


def _twice_a_stride(seen: Seen, angle_rad: Array) -> complex:
    """Second harmonic of an angle (frames,) over a stride. [degrees]"""
    assert seen.gait is not None  # noqa: S101
    return wave(np.degrees(angle_rad), seen.gait.period, seen.motion.file.frame_time_s).second
