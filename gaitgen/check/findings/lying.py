"""A clip that lies on its side: its motion is written with another axis up than its skeleton."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.rigs.rig import axes_of

Array = npt.NDArray[np.float64]

STEADY = 0.9  # length of the mean of a body's up: one that keeps it, however it goes
ALONG = math.cos(math.radians(25.0))  # so near an axis of the file it is that axis


def lying(seen: Seen) -> list[Finding]:
    """Find a body whose back is up along another axis of the file than its skeleton's, in all of a clip."""
    motion = seen.motion
    mean = motion.changes[:, motion.joint(motion.map.pelvis), :, 2].mean(axis=0)  # (3,) where its up points
    long = float(np.linalg.norm(mean))
    if long < STEADY:
        return []
    axes = axes_of(motion.map)
    is_up, should = axes.T @ (mean / long), axes.T @ np.array([0.0, 0.0, 1.0])
    axis = int(np.abs(is_up).argmax())
    if abs(float(is_up[axis])) < ALONG:
        return []
    off = math.degrees(math.acos(float(np.clip(mean[2] / long, -1.0, 1.0))))
    return seen.finding(
        "clip lies on its side",
        motion.file.joint_names[0],
        (0, motion.frames - 1),
        off,
        f"the motion has {_word(is_up)} up, its skeleton {_word(should)}: {_turn(is_up, should)}, or export "
        "motion and skeleton with one axis up",
    )


def _word(way: Array) -> str:
    """Name the axis of a direction, such as +Z."""
    axis = int(np.abs(way).argmax())
    return f"{'+' if way[axis] > 0.0 else '-'}{'XYZ'[axis]}"


def _turn(is_up: Array, should: Array) -> str:
    """Say what brings one direction to the other."""
    snapped, wanted = (np.round(way / np.abs(way).max()) for way in (is_up, should))
    about = np.cross(snapped, wanted)
    if not about.any():
        return "turn the root over, its places and its rotations"
    axis = int(np.abs(about).argmax())
    return f"turn the root's places and rotations by {90.0 * about[axis]:.0f} degrees about {'XYZ'[axis]}"
