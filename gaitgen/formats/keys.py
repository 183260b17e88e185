"""Writes keys as a table: comma-separated values after RFC 4180, but with LF; and key poses as BVH."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.cells import cell
from gaitgen.formats.decimals import table_text
from gaitgen.formats.held_keys import held_keys
from gaitgen.formats.key_feet import feet_of
from gaitgen.motion.keys import Keys
from gaitgen.motion.motion import Motion
from gaitgen.motion.named_frames import named_frames
from gaitgen.motion.tolerance import Tolerance
from gaitgen.numerics.rotations import continuous_sign, matrix_from_euler, quaternion_from_matrix

Array = npt.NDArray[np.float64]

COLUMNS = ("channel", "frame", "value", "tangent_in", "tangent_out", "pose")


def tolerances(
    names: tuple[str, ...],
    space: FileSpace,
    tolerance: Tolerance,
    hip_height_m: float,
    scale: float = 1.0,
) -> Array:
    """Tolerance of each channel in the unit of the file, (channels,), told by the channel's word.

    ``hip_height_m`` is the animal's. [m] ``scale`` is the size of the rig against it: lengths on a rig of
    half the size are kept twice as closely.
    """
    length = tolerance.length_m(hip_height_m) / space.metres_per_unit * scale

    def of(name: str) -> float:
        if name.endswith("position"):
            return length
        return tolerance.share if name.endswith(("breath", "planted")) else tolerance.angle_deg

    return np.array([of(name) for name in names])


def channel_keys(
    clip: Motion,
    space: FileSpace,
    tolerance: Tolerance | None = None,
    table: bvh.ChannelTable | None = None,
    *,
    is_sparse: bool = False,
) -> Keys:
    """Choose the keys of every channel of the BVH file.

    Where planted toes would drift more than the tolerance for lengths when the splines turn the joints,
    back and legs are kept more closely.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.
    tolerance
        How far the splines may be from the motion; half a degree and 3 mm, or less of a small animal, if not
        given.
    table
        The channels of the clip, if they are at hand.
    is_sparse
        As few keys as the tolerance allows, not one on every named pose.

    Raises
    ------
    FileFormatError
        If a joint's name cannot be written, or a number is not finite.
    """
    table = table or bvh.channel_table(clip, space)
    tolerance = tolerance or Tolerance()
    hip_m = clip.animal.hip_height_m
    most = tolerance.length_m(hip_m) / space.metres_per_unit
    allowed = tolerances(table.names, space, tolerance, hip_m)
    return held_keys(clip, table, allowed, feet_of(clip.animal, space), most, is_sparse=is_sparse)


def played_clip(clip: Motion, keys: Keys, space: FileSpace) -> Motion:
    """Return the clip as the splines through its channels' keys play it."""
    table = keys.played()
    order = list(bvh.depth_first(clip.animal))
    angles_rad = np.radians(table[:, 3:]).reshape(clip.frames, len(order), 3)
    matrices = space.rotations_from_file(matrix_from_euler(angles_rad, space.rotation_order))
    rotations = np.empty_like(clip.rotations)
    rotations[:, order] = continuous_sign(quaternion_from_matrix(matrices))
    return replace(clip, root_path_m=space.positions_from_file(table[:, :3]), rotations=rotations)


def quoted(name: str) -> str:
    """Quote a name that holds a comma or a quotation mark, as joints of somebody's rig may."""
    return name if "," not in name and '"' not in name else '"' + name.replace('"', '""') + '"'


def encode(keys: Keys) -> bytes:
    """Write one row a key: ``channel,frame,value,tangent_in,tangent_out,pose``.

    Frames count from 1; tangents are in units per frame. ``pose`` is the name of the pose that the key
    belongs to, empty for a key that only the curve needs.

    Returns
    -------
    bytes
        The whole file; the same keys always give the same bytes.

    Raises
    ------
    FileFormatError
        If a number is not finite or too large to be a length or an angle.
    """
    numbers = np.stack([keys.value, keys.tangent_in, keys.tangent_out], axis=1)  # (keys, 3)
    rows = table_text(numbers, COLUMNS[2:5], b",").decode("ascii").splitlines()
    poses = {frame: '"' + name.replace('"', '""') + '"' for frame, name in keys.poses.items()}
    places = zip(keys.channel.tolist(), keys.frame.tolist(), rows, strict=True)
    names = [cell(name) for name in keys.names]
    lines = [f"{names[k]},{frame},{row},{poses.get(frame, '')}" for k, frame, row in places]
    return ("\n".join([",".join(COLUMNS), *lines]) + "\n").encode("utf-8")


def encode_key_poses(clip: Motion, space: FileSpace) -> bytes:
    """Write a BVH whose frames are the named poses alone, with the numbers of the full file.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.

    Raises
    ------
    FileFormatError
        If the clip cannot be written.
    """
    rows, frame_time_s = key_pose_rows(clip)
    head, motion = bvh.encode(clip, space).split(b"MOTION\n", 1)
    lines = motion.splitlines(keepends=True)[2:]
    timing = f"MOTION\nFrames: {rows.size}\nFrame Time: {frame_time_s:.8f}\n".encode("ascii")
    return head + timing + b"".join(lines[row] for row in rows.tolist())


def key_pose_rows(clip: Motion) -> tuple[npt.NDArray[np.int64], float]:
    """Return the rows of the named poses of a clip, and the mean time from one to the next. [s]

    A pose between two frames is on the whole frame that its keys are on.
    """
    poses, _ = named_frames(clip)
    rows = np.array(sorted(poses), dtype=np.int64) - 1
    steps = max(rows.size - 1, 1)
    return rows, max(int(rows[-1] - rows[0]), 1) / steps / clip.frame_rate_hz


def key_pose_notices(clip: Motion) -> tuple[Notice, ...]:
    """Say which frames the poses are, where they are not evenly spaced, as the frames of a BVH must be."""
    rows, _ = key_pose_rows(clip)
    if rows.size < 2 or np.ptp(np.diff(rows)) == 0:
        return ()
    shown = ", ".join(map(str, rows[:9] + 1)) + (", ..." if rows.size > 9 else "")
    text = (
        "the key poses are not evenly spaced in time, but the frames of a BVH are: those of the key poses "
        f"alone are frames {shown} of the clip, at their mean spacing."
    )
    return (Notice("key_poses", text),)
