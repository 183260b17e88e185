"""Tails that do not drag."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.check.waves import apart_deg, wave

Array = npt.NDArray[np.float64]

LEAST_SWING_DEG = 0.8
BRISK_S = 1.4  # stride period up to which a drag must be seen; slower, a part has time to follow


def tail_lag(seen: Seen) -> list[Finding]:
    """Find a tail whose tip moves with its root, or before it."""
    motion, gait = seen.motion, seen.gait
    names = motion.map.tail
    if gait is None or len(names) < 2 or not seen.waves:
        return []
    rows = len(seen.waves["hips"].smooth)
    swings = [_pitch(seen, motion.joint(name), rows) for name in names]
    least = min(abs(swing) for swing in swings)
    if least < LEAST_SWING_DEG:
        return []
    lag = sum(-apart_deg(math.degrees(cmath.phase(b) - cmath.phase(a))) for a, b in pairwise(swings))
    joints = len(names) + 2.0
    sigma = math.degrees(seen.noise.angle_deg * math.sqrt(joints * 2.0 / rows) / least)
    frames = (0, motion.frames - 1)
    do = "let each joint of the tail follow the one before it a little later"
    found = seen.finding(
        "tail does not trail", "tail", frames, -lag, do, noise=sigma, limit_name="overlap_lead"
    )
    period_s = gait.period * motion.file.frame_time_s
    if found or period_s > BRISK_S:
        return found
    return seen.finding(
        "tail does not trail", "tail", frames, lag, do, below=True, noise=sigma, limit_name="overlap_lag"
    )


def _pitch(seen: Seen, joint: int, rows: int) -> complex:
    """Swing of a joint's pitch twice a stride. [degrees]"""
    assert seen.gait is not None  # noqa: S101
    turn = seen.motion.changes[:rows, joint]
    pitch = np.degrees(np.arctan2(turn[:, 2, 0], np.hypot(turn[:, 0, 0], turn[:, 1, 0])))
    return wave(pitch, seen.gait.period, seen.motion.file.frame_time_s).second
