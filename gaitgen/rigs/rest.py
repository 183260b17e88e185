"""The standing pose of a rig: where its joints and ends are, and how each joint is turned."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import BvhFile, channel_columns, local_offsets, local_rotations
from gaitgen.motion.kinematics import fixed_points, forward
from gaitgen.rigs.rig_map import Rest

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class RestPose:
    """A rig standing, in its file's axes and unit, its root at its OFFSET.

    Attributes
    ----------
    local_offsets
        (joints, 3) each joint from the joint above, in that joint's frame.
    angles_deg
        One tuple a joint: the value of each of its rotation channels, in the order of the file. [deg]
    rotations
        (joints, 3, 3) world rotation of each joint.
    places
        (joints + ends, 3) joints, then End Sites.
    parents
        (joints + ends,) index of the joint above; -1 for the root.
    """

    local_offsets: Array
    angles_deg: tuple[tuple[float, ...], ...]
    rotations: Array
    places: Array
    parents: Ints


def rest_pose(file: BvhFile, rest: Rest) -> RestPose:
    """Stand a rig up, with zero rotations or as in the first frame of its file."""
    row = file.rows[:1] if rest == "first frame" and len(file.rows) else np.zeros((1, file.rows.shape[1]))
    local = local_rotations(replace(file, rows=row))
    offsets = file.offsets
    if rest == "first frame" and len(file.rows):
        offsets = local_offsets(replace(file, rows=row))[0]
        offsets[0] = file.offsets[0]
    places, world = forward(file.parents, offsets, local, file.offsets[:1])
    ends = fixed_points(places, world, file.end_joints, file.end_offsets)
    angles = (tuple(row[0, columns].tolist()) for columns in channel_columns(file, "rotation"))
    return RestPose(
        local_offsets=offsets,
        angles_deg=tuple(angles),
        rotations=world[0],
        places=np.concatenate([places[0], ends[0]]),
        parents=np.concatenate([file.parents, file.end_joints]),
    )
