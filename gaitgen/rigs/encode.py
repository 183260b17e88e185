"""Writes a clip on a rig: the HIERARCHY of its file byte for byte, then MOTION in its own channels."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.formats.channels import with_frames
from gaitgen.formats.decimals import table_text
from gaitgen.rigs.channels import local_rotation, rest_angles_rad
from gaitgen.rigs.fitted import fitted_angles_rad
from gaitgen.rigs.pose import RigMotion
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

_PLAIN = re.compile(r"[A-Za-z0-9_]+", re.ASCII)


def channel_table(rig: Rig, motion: RigMotion) -> tuple[tuple[str, ...], Array]:
    """Lay the motion out as the rig's own channels.

    Returns
    -------
    names
        ``joint.Zrotation``, ..., in the order of the rig's file.
    values
        (frames, channels) positions in the rig's unit, angles in degrees.
    """
    names: list[str] = []
    columns: list[Array] = []
    root = root_places(rig, motion)
    still = np.broadcast_to(np.eye(3), motion.changes[:, 0].shape)
    added = rig.file.offsets * float(rig.file.adds_positions)
    for joint, words in enumerate(rig.file.channels):
        parent = int(rig.file.parents[joint])
        above = still if parent < 0 else motion.changes[:, parent]
        local = local_rotation(rig, joint, above, motion.changes[:, joint])
        letters = rotation_letters(rig.file, joint)
        angles = np.degrees(fitted_angles_rad(local, letters, rest_angles_rad(rig, joint)))
        turn = 0
        for word in words:
            names.append(f"{rig.file.joint_names[joint]}.{word}")
            if word.endswith("position"):
                places = root if parent < 0 else local_places(rig, motion, joint) - added[joint]
                columns.append(places[:, "XYZ".index(word[0])])
            else:
                columns.append(angles[:, turn])
                turn += 1
    return tuple(names), np.stack(columns, axis=1)


def root_places(rig: Rig, motion: RigMotion) -> Array:
    """Place the root over time, (frames, 3), in the rig's axes and unit."""
    return np.asarray(motion.root_m @ rig.axes / rig.metres_per_unit + rig.home)


def local_places(rig: Rig, motion: RigMotion, joint: int) -> Array:
    """Place a joint under the root in the frame of the one above, (frames, 3), in the rig's unit."""
    still = rig.rest.local_offsets[joint]
    moved = motion.moved_m.get(joint)
    if moved is None:
        return np.tile(still, (len(motion.changes), 1))
    above = rig.rest.rotations[int(rig.file.parents[joint])]
    return np.asarray(still + moved @ rig.axes @ above / rig.metres_per_unit)


def encode_bvh(
    rig: Rig, motion: RigMotion, frame_rate_hz: float, rows: npt.NDArray[np.int64] | None = None
) -> bytes:
    """Write BVH with the rig's own joints.

    Parameters
    ----------
    rig, motion
        The rig and its motion.
    frame_rate_hz
        Frames per second. [Hz]
    rows
        The frames to write, from 0; all if not given.

    Returns
    -------
    bytes
        Above MOTION as the rig's file has it, line ends included; the same input gives the same bytes.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    names, values = channel_table(rig, motion)
    values = values if rows is None else values[rows]
    head = f"MOTION\nFrames: {len(values)}\nFrame Time: {1.0 / frame_rate_hz:.8f}\n".encode("ascii")
    below = head + table_text(values, names)
    line_end = b"\r\n" if b"\r\n" in rig.hierarchy else b"\n" if b"\n" in rig.hierarchy else b"\r"
    return rig.hierarchy + (below if line_end == b"\n" else below.replace(b"\n", line_end))


def encode_channels(rig: Rig, motion: RigMotion, frame_rate_hz: float) -> bytes:
    """Write one row a frame, ``frame,time_s,JOINT.Xposition,...``, in the rig's own channels."""
    names, values = channel_table(rig, motion)
    return with_frames(names, table_text(values, names), frame_rate_hz)


def stumbling_names(rig: Rig) -> tuple[str, ...]:
    """Return joint names that some readers of BVH take wrongly: anything but letters, digits and _."""
    return tuple(name for name in rig.file.joint_names if _PLAIN.fullmatch(name) is None)
