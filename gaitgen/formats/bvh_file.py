"""What a BVH file says, and where its joints are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.motion.kinematics import fixed_points, forward
from gaitgen.numerics.rotations import matrix_from_euler

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BvhFile:
    """What one BVH file says, in its own unit and axes.

    Attributes
    ----------
    joint_names
        In the order of the file: root first, parents before children.
    parents
        (joints,) index of the parent, -1 for the root.
    offsets
        (joints, 3) OFFSET of each joint.
    end_joints
        (ends,) joint that each End Site hangs from.
    end_offsets
        (ends, 3) OFFSET of each End Site.
    channels
        Channel words of each joint, such as ``("Zrotation", "Xrotation", "Yrotation")``.
    frame_time_s
        Time from one frame to the next. [s]
    rows
        (frames, channels of all joints) positions in the file's unit, angles in degrees.
    adds_positions
        Whether a position channel of a joint under the root is added to its OFFSET; it replaces the same
        component of it otherwise. Writers of files differ, so the first frame tells.
    """

    joint_names: tuple[str, ...]
    parents: npt.NDArray[np.int64]
    offsets: Array
    end_joints: npt.NDArray[np.int64]
    end_offsets: Array
    channels: tuple[tuple[str, ...], ...]
    frame_time_s: float
    rows: Array
    adds_positions: bool = False

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.parents, self.offsets, self.end_joints, self.end_offsets, self.rows):
            array.setflags(write=False)


def axis_of(file: BvhFile, column: int) -> int:
    """Return the axis of a channel by its column: 0, 1 or 2 for x, y, z."""
    words = [word for channels in file.channels for word in channels]
    return "XYZ".index(words[column][0])


def moves_under_root(file: BvhFile) -> bool:
    """Tell whether a joint under the root has position channels."""
    return any(word.endswith("position") for words in file.channels[1:] for word in words)


def local_offsets(file: BvhFile) -> Array:
    """Return each joint from the joint above, in that joint's frame, (frames, joints, 3); the root's too.

    A position channel of the root replaces the same component of its OFFSET, as most readers have it.
    """
    offsets = np.tile(file.offsets, (len(file.rows), 1, 1))
    for joint, columns in enumerate(channel_columns(file, "position")):
        kept = 1.0 if joint and file.adds_positions else 0.0
        for column in columns:
            axis = axis_of(file, column)
            offsets[:, joint, axis] = kept * offsets[:, joint, axis] + file.rows[:, column]
    return offsets


def rotation_letters(file: BvhFile, joint: int) -> str:
    """Return the axes of a joint's rotation channels in the order of the file, such as ``"ZXY"``."""
    return "".join(word[0] for word in file.channels[joint] if word.endswith("rotation"))


def channel_columns(file: BvhFile, kind: str) -> list[list[int]]:
    """Return the columns of each joint's channels of a kind, ``rotation`` or ``position``, in their order."""
    return [list(own) for own in _columns(file.channels, kind)]


@lru_cache(maxsize=64)  # a file is read again and again with other numbers
def _columns(channels: tuple[tuple[str, ...], ...], kind: str) -> tuple[tuple[int, ...], ...]:
    starts = np.cumsum([0, *(len(words) for words in channels)]).tolist()
    return tuple(
        tuple(start + k for k, word in enumerate(words) if word.endswith(kind))
        for start, words in zip(starts, channels, strict=False)
    )


def local_rotations(file: BvhFile) -> Array:
    """Turn the rotation channels into rotations in the parents' frames, (frames, joints, 3, 3).

    They apply in the order of the channel words, each about the moved axes.
    """
    local = np.empty((len(file.joint_names), len(file.rows), 3, 3))
    columns = channel_columns(file, "rotation")
    letters = [rotation_letters(file, joint) for joint in range(len(columns))]
    for order in set(letters):  # one or two in most files
        alike = [joint for joint, own in enumerate(letters) if own == order]
        own_columns = np.array([columns[joint] for joint in alike], dtype=np.int64)  # (joints, letters)
        made = matrix_from_euler(np.radians(file.rows[:, own_columns]), order)
        local[alike] = np.swapaxes(made, 0, 1)
    return np.swapaxes(local, 0, 1)


def placed(file: BvhFile) -> tuple[Array, Array, Array]:
    """Place every joint, in the file's unit and axes.

    Returns
    -------
    places
        (frames, joints, 3).
    world, local
        (frames, joints, 3, 3) rotations in the world, and in the parent's frame.
    """
    offsets = local_offsets(file)
    local = local_rotations(file)
    root = offsets[:, 0]
    moving = offsets if moves_under_root(file) else file.offsets
    places, world = forward(file.parents, moving, local, root)
    return places, world, local


def world_positions(file: BvhFile) -> Array:
    """Place every joint over time, (frames, joints, 3), in the file's unit and axes."""
    return np.ascontiguousarray(placed(file)[0])


def world_end_sites(file: BvhFile) -> Array:
    """Place every End Site over time, (frames, ends, 3), in the file's unit and axes."""
    places, world, _ = placed(file)
    return fixed_points(places, world, file.end_joints, file.end_offsets)
