"""The standing pose of a rig: where its joints and ends are, and how each joint is turned."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.formats.read_bvh import BvhFile
from gaitgen.numerics.rotations import matrix_from_euler
from gaitgen.rigs.rig_map import Rest

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class RestPose:
    """A rig standing, in its file's axes and unit, its root at its OFFSET.

    Attributes
    ----------
    angles_deg
        One tuple a joint: the value of each of its rotation channels, in the order of the file. [deg]
    rotations
        (joints, 3, 3) world rotation of each joint.
    places
        (joints + ends, 3) joints, then End Sites.
    parents
        (joints + ends,) index of the joint above; -1 for the root.
    """

    angles_deg: tuple[tuple[float, ...], ...]
    rotations: Array
    places: Array
    parents: Ints


def rotation_letters(file: BvhFile, joint: int) -> str:
    """Return the axes of a joint's rotation channels in the order of the file, such as ``"ZXY"``."""
    return "".join(word[0] for word in file.channels[joint] if word.endswith("rotation"))


def rest_pose(file: BvhFile, rest: Rest) -> RestPose:
    """Stand a rig up, with zero rotations or as in the first frame of its file."""
    joints = len(file.joint_names)
    row = file.rows[0] if rest == "first frame" and len(file.rows) else np.zeros(file.rows.shape[1])
    places, rotations = np.zeros((joints, 3)), np.zeros((joints, 3, 3))
    angles, column = [], 0
    for joint, words in enumerate(file.channels):
        values = row[column : column + len(words)]
        column += len(words)
        own = tuple(float(v) for w, v in zip(words, values, strict=True) if w.endswith("rotation"))
        angles.append(own)
        local = matrix_from_euler(np.radians(np.array(own)), rotation_letters(file, joint))
        parent = int(file.parents[joint])
        above = np.eye(3) if parent < 0 else rotations[parent]
        places[joint] = file.offsets[joint] if parent < 0 else places[parent] + above @ file.offsets[joint]
        rotations[joint] = above @ local
    ends = places[file.end_joints] + np.einsum("eij,ej->ei", rotations[file.end_joints], file.end_offsets)
    return RestPose(
        angles_deg=tuple(angles),
        rotations=rotations,
        places=np.concatenate([places, ends]),
        parents=np.concatenate([file.parents, file.end_joints]),
    )
