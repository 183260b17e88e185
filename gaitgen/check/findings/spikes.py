"""Joints that leave their curve for one frame alone, whatever they do in other steps."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.neighbours import off_line
from gaitgen.check.findings.opposite import below
from gaitgen.check.findings.sharp_turns import (
    NOISE_GAIN,
    coarse_deg,
    off_line_deg,
)
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix

Array = npt.NDArray[np.float64]

LINE = np.array([-1.0, 4.0, 0.0, 4.0, -1.0]) / 6.0  # a cubic through the four frames around one
# With its one frame on the line of its neighbours, a joint is nowhere off its line by so much of what it was.
LEFT = 0.4
FEWEST = 7  # frames: in fewer, one frame is in the neighbours of all others


@lru_cache(maxsize=1)  # asked for by several findings of one clip
def spikes(seen: Seen) -> tuple[tuple[int, int, float], ...]:
    """Return (row, joint, degrees) of joints that are off their curve in one frame alone.

    Not of legs, which turn sharply where their feet land and lift.
    """
    if seen.motion.frames < FEWEST:
        return ()
    off = off_line_deg(seen)
    noise = STANDS_OUT * NOISE_GAIN * seen.noise.angle_deg / 2.0
    legs = {joint for limb in LIMBS for joint in below(seen, seen.motion.limb_joints(limb)[0])}
    found: list[tuple[int, int, float]] = []
    for joint in np.flatnonzero(off.max(axis=0) > seen.limits["pop"].top + noise).tolist():
        row = int(off[:, joint].argmax())
        size = float(off[row, joint])
        if joint in legs or size - noise <= coarse_deg(seen, joint, row):
            continue
        if _left_deg(seen, joint, row) < LEFT * (size - noise):
            found.append((row, joint, size))
    return tuple(found)


def _left_deg(seen: Seen, joint: int, row: int) -> float:
    """How far a joint is off its line at the worst when one row is put on the line of its neighbours."""
    turns = seen.motion.local[: seen.loop.frames if seen.loop.closes else None, joint]
    q = continuous_sign(quaternion_from_matrix(turns))
    ends = 2 if seen.loop.closes else 0
    wide = continuous_sign(np.concatenate([q[len(q) - ends :], q, q[:ends]]))
    at = row + ends
    if not 2 <= at < len(wide) - 2:
        return np.inf
    put = LINE @ wide[at - 2 : at + 3]
    put /= np.linalg.norm(put)
    for same in range(at % len(q), len(wide), len(q)) if ends else (at,):
        wide[same] = np.sign(float(wide[same] @ put)) * put
    return float(np.degrees(2.0 * np.linalg.norm(off_line(wide), axis=-1)).max())
