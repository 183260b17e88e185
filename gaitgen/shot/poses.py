"""The named poses of a shot: contacts, both ends, jumps, and what lies between contacts far apart."""

from __future__ import annotations

import numpy as np

from gaitgen.animal.limb import LIMBS
from gaitgen.motion.key_poses import OVER, TAKE_OFF
from gaitgen.motion.motion import KeyPose
from gaitgen.shot.timeline import Timeline

# Named poses farther apart than this have one half-way between. [s]
FAR_S = 0.2


def shot_poses(timeline: Timeline) -> tuple[KeyPose, ...]:
    """Name the frames on which feet land, jumps, and the first and the last (common practice, no source)."""
    named: dict[int, str] = {0: "start", timeline.frames: "end"}
    laid = timeline.stances
    for limb, frame in sorted(zip(laid.limb.tolist(), laid.touchdown.tolist(), strict=True), key=_order):
        row = round(frame)
        if 0 <= row <= timeline.frames:
            before = named.get(row, "")
            feet = f"{before.removesuffix(' contact')} + " if before.endswith("contact") else ""
            named[row] = f"{feet}{LIMBS[limb]} contact"
    for jump in timeline.leaps:
        leaves, lands = jump.at_frame + jump.leap.leaves, jump.at_frame + jump.leap.lands
        named[leaves], named[(leaves + lands) // 2] = TAKE_OFF, OVER
    rows = np.array(sorted(named))
    far = np.flatnonzero(np.diff(rows) > FAR_S * timeline.frame_rate_hz)
    for k in far:
        named[int(rows[k] + rows[k + 1]) // 2] = "between"
    return tuple(KeyPose(row + 1.0, named[row]) for row in sorted(named))


def _order(event: tuple[int, float]) -> tuple[float, int]:
    """Sort by frame, hind feet first."""
    return event[1], -event[0]
