"""Joints of the back and the head that turn in no frame, while what they are between goes on."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.mates import local_turns
from gaitgen.check.findings.sharp_turns import MOVES_DEG
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.numerics.turns import turn_between_rad

# What the joints beside it turn by at the least, for a joint to be missed; in the gaits of the animals here a
# joint of the back turns by 0.65 degrees and more. [degrees]
BESIDE_DEG = 0.5
# From its place in the standing rig: a joint nearer to it has never been keyed, as in many rigs. [degrees]
POSED_DEG = 0.05


def frozen(seen: Seen) -> list[Finding]:
    """Find joints of the back, or the head, that have been posed and turn in no frame.

    Of a back or a neck of which other joints turn: one that stands still altogether is found as a part. Not
    of joints of the neck: rigs have more of them than a nod needs.
    """
    motion = seen.motion
    back, head = list(motion.map.spine[1:]), [motion.map.head] if motion.map.head else []
    found = _told(seen, "spine", back, back, "the rest of the back")
    return found + _told(seen, "head", head, list(motion.map.neck), "the neck")


def _told(seen: Seen, part: str, names: list[str], beside: list[str], rest: str) -> list[Finding]:
    """Say it once of all joints of a part that turn in no frame, where others beside them do."""
    still = [
        name for name in names if _range_deg(seen, name) < MOVES_DEG and _posed_deg(seen, name) > POSED_DEG
    ]
    if not still or max((_range_deg(seen, name) for name in beside), default=0.0) < BESIDE_DEG:
        return []
    return seen.finding(
        "frozen",
        part if len(still) > 1 else still[0],
        (0, seen.motion.frames - 1),
        1.0,
        f"animate {', '.join(still)}: {'it turns' if len(still) == 1 else 'they turn'} in no frame, "
        f"and {rest} does",
    )


def _range_deg(seen: Seen, name: str) -> float:
    """How far the channel of a joint that turns most goes; infinite without one. [degrees]"""
    columns = channel_columns(seen.motion.file, "rotation")[seen.motion.joint(name)]
    return float(np.ptp(seen.motion.file.rows[:, columns], axis=0).max()) if columns else np.inf


def _posed_deg(seen: Seen, name: str) -> float:
    """How far a joint that stands still is turned from where the standing rig has it. [degrees]"""
    turn = local_turns(seen, [seen.motion.joint(name)])[0, 0]
    return float(np.degrees(turn_between_rad(turn, np.eye(3))))
