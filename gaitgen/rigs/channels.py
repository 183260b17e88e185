"""Rotations as the channels of one joint, whatever channels it has: three, fewer or none."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.numerics.rotations import matrix_from_euler
from gaitgen.rigs.fitted import fitted_angles_rad
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]


def rest_angles_rad(rig: Rig, joint: int) -> Array:
    """Return the angles of a joint's channels in the standing pose, (channels,). [rad]"""
    return np.radians(np.array(rig.rest.angles_deg[joint], dtype=np.float64))


def local_rotation(rig: Rig, joint: int, change_above: Array, change: Array) -> Array:
    """Turn changes from standing (frames, 3, 3), in our axes, into a joint's local rotation in the file's."""
    world = rig.axes.T @ change @ rig.axes @ rig.rest.rotations[joint]
    parent = int(rig.file.parents[joint])
    if parent < 0:
        return np.asarray(world)
    above = rig.axes.T @ change_above @ rig.axes @ rig.rest.rotations[parent]
    return np.asarray(np.swapaxes(above, -1, -2) @ world)


def possible_change(rig: Rig, joint: int, change_above: Array, change: Array) -> Array:
    """Return the change from standing nearest to a wanted one that the joint's channels can make.

    Parameters
    ----------
    rig, joint
        The joint.
    change_above, change
        (frames, 3, 3) world rotation from standing of its parent, as it is, and of itself, as wanted.
    """
    letters = rotation_letters(rig.file, joint)
    if len(letters) == 3:
        return change
    local = local_rotation(rig, joint, change_above, change)
    made = matrix_from_euler(fitted_angles_rad(local, letters, rest_angles_rad(rig, joint)), letters)
    return change_of(rig, joint, change_above, made)


def change_of(rig: Rig, joint: int, change_above: Array, local: Array) -> Array:
    """Turn a joint's local rotation in the file's axes into its change from standing in ours."""
    parent = int(rig.file.parents[joint])
    world = local if parent < 0 else rig.axes.T @ change_above @ rig.axes @ rig.rest.rotations[parent] @ local
    return np.asarray(rig.axes @ world @ rig.rest.rotations[joint].T @ rig.axes.T)


def channel_axes(rig: Rig, joint: int, change_above: Array, angles_rad: Array) -> Array:
    """Return the world axis of each channel of a joint, (frames, channels, 3), in our axes."""
    letters = rotation_letters(rig.file, joint)
    parent = int(rig.file.parents[joint])
    above = rig.axes.T @ change_above @ rig.axes @ (np.eye(3) if parent < 0 else rig.rest.rotations[parent])
    axes = []
    for k, letter in enumerate(letters):
        unit = np.eye(3)["XYZ".index(letter)]
        axes.append((above @ matrix_from_euler(angles_rad[:, :k], letters[:k])) @ unit)
    made = np.stack(axes, axis=1) if axes else np.zeros((len(angles_rad), 0, 3))
    return np.asarray(made @ rig.axes.T)
