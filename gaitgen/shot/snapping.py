"""Legs that snap: what turns from frame to frame as nothing does in the cycles of a shot, and is said."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# A turn may change from frame to frame by so many times what it does in the busiest cycle, or by so much at
# FILM_HZ (estimates: a horse's fetlock does in its gaits). [degrees per frame^2]
MORE, LEAST_DEG, FILM_HZ = 2.0, 20.0, 24.0
SNAP = "snap"  # topic of the notice


def snap_notices(clip: Motion, timeline: Timeline) -> tuple[Notice, ...]:
    """Say where joints of legs snap, if any do, jumps aside, whose strides are like those of no cycle.

    Parameters
    ----------
    clip, timeline
        The shot.
    """
    joints = np.array([joint for limb in clip.animal.limbs for joint in limb.joints])
    if clip.frames < 2:
        return ()
    least = LEAST_DEG * FILM_HZ / clip.frame_rate_hz
    busiest = np.max([_of_cycle(cycle, joints) for cycle in timeline.cycles], axis=0)
    most = np.maximum(MORE * busiest, least)
    found = bends_deg(matrix_from_quaternion(clip.rotations[:, joints]))
    over = found / most
    for laid in timeline.leaps:
        over[max(laid.at_frame, 0) : max(laid.at_frame + laid.leap.frames, 0)] = 0.0
    if over.max() <= 1.0:
        return ()
    row, column = np.unravel_index(int(over.argmax()), over.shape)
    frames = np.flatnonzero(over.max(axis=1) > 1.0) + 2
    where = (
        f"frame {frames[0]}" if frames.size == 1 else f"{frames.size} frames, most of all in frame {row + 2}"
    )
    text = (
        f"legs snap in {where}, where the turn of {clip.animal.joint_names[joints[column]]} changes by "
        f"{found[row, column]:.0f} degrees from one frame to the next, and {most[column]:.0f} would look "
        "smooth; slower gaits, lower steps or a wider turn there would help, or keys by hand."
    )
    return (Notice(SNAP, text),)


def bends_deg(local: Array) -> Array:
    """By how much the turn of each joint from frame to frame changes: (frames - 2, joints). [degrees]

    Parameters
    ----------
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's frame.
    """
    turn = np.swapaxes(local[:-1], -1, -2) @ local[1:]
    skew = np.stack([turn[..., 2, 1], turn[..., 0, 2], turn[..., 1, 0]], axis=-1) - np.stack(
        [turn[..., 1, 2], turn[..., 2, 0], turn[..., 0, 1]], axis=-1
    )
    sine = np.linalg.norm(skew, axis=-1) / 2.0
    angle = np.arctan2(sine, (np.trace(turn, axis1=-2, axis2=-1) - 1.0) / 2.0)
    vector = skew / 2.0 * (angle / np.maximum(sine, 1e-12))[..., None]
    return np.asarray(np.degrees(np.linalg.norm(np.diff(vector, axis=0), axis=-1)))


def _of_cycle(cycle: Cycle, joints: npt.NDArray[np.int64]) -> Array:
    """Return the greatest change of turn of each joint in a cycle, which repeats: (joints,). [degrees]"""
    count = cycle.solved.course.grid.count
    rows = np.round(np.arange(cycle.frames + 2) * count / cycle.frames).astype(np.int64) % count
    return np.asarray(bends_deg(cycle.solved.local_rotations(rows)[:, joints]).max(axis=0))
