"""Legs that snap: between even strides of a shot a joint turns as it does in none of these."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.check.finding import Finding
from gaitgen.check.findings.opposite import mates_of
from gaitgen.check.seen import Seen
from gaitgen.check.shot.strides import CHANGES, GOES, Stretch
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

# The turn of a joint may change from frame to frame by so many times what it or its mate does in the calmest
# of even strides, or by so much at FILM_HZ: as the report of a shot has it (estimates).
# [degrees per frame^2]
MORE, LEAST_DEG, FILM_HZ = 2.0, 20.0, 24.0


def snaps(seen: Seen) -> list[Finding]:
    """Find the frame of each change in which a joint of a leg snaps most, if any does.

    Not in a noisy clip, in which other strides are seen to be even.
    """
    even = [part.stretch for part in seen.parts if part.stretch.what == GOES]
    if not even or seen.noise.angle_deg > 0.0:
        return []
    motion = seen.motion
    joints = [joint for limb in LIMBS for joint in motion.limb_joints(limb)]
    bends = _bends_deg(motion.local[:, joints])  # (frames, joints)
    own, mates = np.max([_of_strides(bends, each) for each in even], axis=0), mates_of(seen)
    both = [max(own[k], own[joints.index(mates.get(joint, joint))]) for k, joint in enumerate(joints)]
    smooth = np.maximum(MORE * np.array(both), LEAST_DEG * FILM_HZ / motion.frame_rate_hz)
    found: list[Finding] = []
    for part in seen.parts:
        if part.stretch.what != CHANGES:
            continue
        over = (bends / smooth)[part.stretch.first : part.stretch.last + 1]
        at, k = np.unravel_index(int(over.argmax()), over.shape)
        row, name = part.stretch.first + int(at), motion.file.joint_names[joints[k]]
        changes, most = bends[row, k], smooth[k]
        found += seen.finding(
            "pop",
            name,
            (row, row),
            float(over[at, k]),
            f"ease {name} over more frames: its turn changes by {changes:.0f} degrees from one frame to the "
            f"next, and {most:.0f} would look smooth",
            limit_name="snap",
        )
    return found


def _of_strides(bends_deg: Array, even: Stretch) -> Array:
    """Return the most each joint does in the calmest one of the strides of a stretch, (joints,). [degrees]"""
    wide = max(1, round(even.period))
    count = max(1, (even.last + 1 - even.first) // wide)
    rows = bends_deg[even.first : even.last + 1][: count * wide]
    return np.asarray(np.min([each.max(axis=0) for each in np.array_split(rows, count)], axis=0))


def _bends_deg(local: Array) -> Array:
    """By how much the turn of each joint changes at a frame: (frames, joints), 0 at both ends. [degrees]

    Parameters
    ----------
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's frame.
    """
    turn = np.swapaxes(local[:-1], -1, -2) @ local[1:]
    vectors = Rotation.from_matrix(turn.reshape(-1, 3, 3)).as_rotvec().reshape(*turn.shape[:-1])
    bends = np.degrees(np.linalg.norm(np.diff(vectors, axis=0), axis=-1))
    return np.pad(bends, ((1, 1), (0, 0)))
