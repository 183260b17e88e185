"""A back that shakes: all its joints at once, so that none stands out among them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jitter import (
    ALONE_OF_BODY,
    CHANGES_OF_BODY,
    OVER_REST,
    SMOOTH,
    SPREAD_OF_BODY,
    channels,
)
from gaitgen.check.findings.noise_bounds import alternating, gone_round
from gaitgen.check.seen import Seen

Array = npt.NDArray[np.float64]

LEAST_JOINTS, MOST_OF_THEM = 2, 0.5  # of the back, and the share of these that shakes
LEAST_A_STRIDE = 10  # frames: a back that gallops in fewer turns to and fro as fast as one that shakes
LEAST_ROWS = 20  # that tell noise from turns; of a loop, with those that it goes on for


def back(seen: Seen) -> list[Finding]:
    """Find a back of which most joints shake, by much more than neck, head and tail, which are as smooth."""
    motion = seen.motion
    joints = [motion.joint(name) for name in motion.map.spine if motion.joint(name) != 0]
    if len(joints) < LEAST_JOINTS or (seen.gait is not None and seen.gait.period < LEAST_A_STRIDE):
        return []
    values, whose = channels(seen)
    over = values[-1] - values[0]
    over = over if seen.loop.repeats_first else 360.0 * np.round(over / 360.0)
    long = gone_round(seen, values, over)
    if len(long) < LEAST_ROWS:
        return []
    noise, size = (
        _of_joints(seen, each, whose) for each in alternating(long, CHANGES_OF_BODY, SPREAD_OF_BODY)
    )
    names = [*motion.map.neck, *motion.map.tail, *([motion.map.head] if motion.map.head else [])]
    smooth = [motion.joint(name) for name in names if motion.joint(name) not in joints]
    usual = float(np.median(size[smooth])) if smooth else 0.0
    least = max(ALONE_OF_BODY * seen.limits["jitter"].top, OVER_REST * max(usual, seen.noise.angle_deg))
    shakes = noise[joints] > least
    if shakes.mean() < MOST_OF_THEM or shakes.sum() < LEAST_JOINTS:
        return []
    amount = float(np.median(noise[joints][shakes]))
    return seen.finding("jitter", "spine", (0, motion.frames - 1), amount, SMOOTH)


def _of_joints(seen: Seen, values: Array, whose: npt.NDArray[np.int64]) -> Array:
    """Return the largest of the channels of each joint, (joints,)."""
    found = np.zeros(len(seen.motion.file.joint_names))
    np.maximum.at(found, whose, values)
    return found
