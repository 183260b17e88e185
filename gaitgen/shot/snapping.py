"""Legs that snap: what turns from frame to frame as nothing does in the cycles of a shot, and is said."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.errors import Notice
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# A turn may change from frame to frame by so many times what it does in the busiest cycle, or by so much at
# FILM_HZ (estimates: a horse's fetlock does in its gaits). [degrees per frame^2]
MORE, LEAST_DEG, FILM_HZ = 2.0, 20.0, 24.0
# And a joint may turn in a frame by so many times what it does in the busiest one of the cycles, or by so
# much at FILM_HZ (common practice, no source). [degrees per frame]
QUICKER, SLOW_DEG = 1.65, 30.0
SNAP = "snap"  # topic of the notice


class Turning(NamedTuple):
    """How legs turn in a shot, against what would look smooth.

    Attributes
    ----------
    joints
        (joints,) numbers of those of legs.
    bends_deg, most_bends_deg
        (frames - 2, joints) by how much their turns change from frame to frame, and (joints,) by how much
        they may. [degrees]
    turns_deg, most_turns_deg
        (frames - 1, joints) how far they turn in a frame, and (joints,) how far they may. [degrees]
    """

    joints: npt.NDArray[np.int64]
    bends_deg: Array
    most_bends_deg: Array
    turns_deg: Array
    most_turns_deg: Array

    @property
    def roughness(self) -> float:
        """The worst of both against what would look smooth; beyond 1 legs snap."""
        return float(
            max(
                (self.bends_deg / self.most_bends_deg).max(initial=0.0),
                (self.turns_deg / self.most_turns_deg).max(initial=0.0),
            )
        )


def turning(clip: Motion, timeline: Timeline) -> Turning:
    """Measure how legs turn in a shot.

    In jumps, whose strides are like those of no cycle, they fold and open as quickly as they must, but turn
    no farther in a frame.
    """
    joints = np.array([joint for limb in clip.animal.limbs for joint in limb.joints])
    most_bends, most_turns = most_deg(timeline, joints)
    local = matrix_from_quaternion(clip.rotations[:, joints])
    turn = turns_deg(local)
    bends = bends_deg(local)
    for laid in timeline.leaps:
        first, after = max(laid.at_frame, 0), max(laid.at_frame + laid.leap.frames, 0)
        bends[first:after] = 0.0
    return Turning(
        joints,
        bends,
        most_bends,
        turn,
        most_turns,
    )


def most_deg(timeline: Timeline, joints: npt.NDArray[np.int64]) -> tuple[Array, Array]:
    """Say by how much turns of joints (joints,) may change from frame to frame, and how far they may turn.

    (joints,) each. [degrees]
    """
    per_film = FILM_HZ / timeline.frame_rate_hz
    busiest = [_of_cycle(cycle, joints) for cycle in timeline.cycles]
    bent, turned = (np.max([each[way] for each in busiest], axis=0) for way in (0, 1))
    return np.maximum(MORE * bent, LEAST_DEG * per_film), QUICKER * np.maximum(turned, SLOW_DEG * per_film)


def snap_notices(clip: Motion, timeline: Timeline) -> tuple[Notice, ...]:
    """Say where joints of legs snap, if any do.

    Parameters
    ----------
    clip, timeline
        The shot.
    """
    found = turning(clip, timeline)
    if found.roughness <= 1.0:
        return ()
    ways = (
        (found.bends_deg, found.most_bends_deg, "the turn of {} changes by {}"),
        (found.turns_deg, found.most_turns_deg, "{} turns by {}"),
    )
    worst = max(ways, key=lambda way: float((way[0] / way[1]).max(initial=0.0)))
    return (Notice(SNAP, _said(clip, found.joints, *worst)),)


def _said(clip: Motion, joints: npt.NDArray[np.int64], found: Array, most: Array, what: str) -> str:
    """Say in which frames joints do more than looks smooth, and which does so most of all."""
    over = found / most
    row, column = np.unravel_index(int(over.argmax()), over.shape)
    frames = np.flatnonzero(over.max(axis=1) > 1.0) + 2
    where = (
        f"frame {frames[0]}" if frames.size == 1 else f"{frames.size} frames, most of all in frame {row + 2}"
    )
    does = what.format(clip.animal.joint_names[joints[column]], f"{found[row, column]:.0f} degrees")
    return (
        f"legs snap in {where}, where {does} from one frame to the next, and {most[column]:.0f} would look "
        "smooth; slower gaits, lower steps or a wider turn there would help, or keys by hand."
    )


def turns_deg(local: Array) -> Array:
    """How far each joint turns from frame to frame: (frames - 1, joints). [degrees]

    Parameters
    ----------
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's frame.
    """
    return np.asarray(np.degrees(np.linalg.norm(_turn_vectors(local), axis=-1)))


def bends_deg(local: Array) -> Array:
    """By how much the turn of each joint from frame to frame changes: (frames - 2, joints). [degrees]

    Parameters
    ----------
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's frame.
    """
    return np.asarray(np.degrees(np.linalg.norm(np.diff(_turn_vectors(local), axis=0), axis=-1)))


def _turn_vectors(local: Array) -> Array:
    """Find turns from frame to frame as vectors along their axes, (frames - 1, joints, 3). [rad]"""
    turn = np.swapaxes(local[:-1], -1, -2) @ local[1:]
    return np.asarray(Rotation.from_matrix(turn.reshape(-1, 3, 3)).as_rotvec()).reshape(turn.shape[:-1])


def _of_cycle(cycle: Cycle, joints: npt.NDArray[np.int64]) -> tuple[Array, Array]:
    """Return the greatest change of turn and turn of each joint in a cycle, (joints,) each. [degrees]"""
    count = cycle.solved.course.grid.count
    rows = np.round(np.arange(cycle.frames + 2) * count / cycle.frames).astype(np.int64) % count
    local = cycle.solved.local_rotations(rows)[:, joints]
    local = np.where(np.isfinite(local), local, np.eye(3))  # a leg that does not reach its foot tells nothing
    return np.asarray(bends_deg(local).max(axis=0)), np.asarray(turns_deg(local).max(axis=0))
