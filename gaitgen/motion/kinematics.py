"""From joint rotations to places: joints, points fixed to joints, and the angles an anatomist reads."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]


def world_frames(skeleton: Animal, root_path_m: Array, rotations: Array) -> tuple[Array, Array]:
    """Carry rotations down the tree.

    Parameters
    ----------
    skeleton
        The joint tree.
    root_path_m
        (frames, 3) position of the root. [m]
    rotations
        (frames, joints, 4) wxyz in the parent's frame, or (frames, joints, 3, 3).

    Returns
    -------
    positions_m
        (frames, joints, 3). [m]
    orientations
        (frames, joints, 3, 3) world rotation of each joint from standing.
    """
    local = matrix_from_quaternion(rotations) if rotations.shape[-1] == 4 else rotations
    positions = np.empty((*local.shape[:2], 3))
    world = np.empty_like(local)
    positions[:, 0], world[:, 0] = root_path_m, local[:, 0]
    for joint in range(1, len(skeleton.joint_names)):  # over the tree, not over frames
        parent = skeleton.parents[joint]
        world[:, joint] = world[:, parent] @ local[:, joint]
        positions[:, joint] = positions[:, parent] + world[:, parent] @ skeleton.offsets_m[joint]
    return positions, world


def points_m(
    skeleton: Animal, positions_m: Array, orientations: Array, joint: str, offset_m: npt.ArrayLike
) -> Array:
    """Follow a point fixed to a joint: (frames, 3). [m]

    ``offset_m`` is (3,) from the joint in standing axes, such as a landmark's. [m]
    """
    row = skeleton.joint(joint)
    moved: Array = positions_m[:, row] + orientations[:, row] @ np.asarray(offset_m, dtype=np.float64)
    return moved


def landmark_m(skeleton: Animal, positions_m: Array, orientations: Array, name: str) -> Array:
    """Follow a landmark of the skeleton, such as ``withers``: (frames, 3). [m]"""
    joint, offset = skeleton.landmarks_m[name]
    return points_m(skeleton, positions_m, orientations, joint, offset)


def end_middle_m(skeleton: Animal, positions_m: Array, orientations: Array, end: str) -> Array:
    """Follow the middle of two limbs' tops as the trunk carries it, without their ride: (frames, 3). [m]

    ``end`` is ``fore``, for the chest, or ``hind``, for the hips.
    """
    limb, standing = skeleton.limb(end), standing_positions_m(skeleton)
    arm = (standing[limb.top] - standing[limb.girdle]) * [1.0, 0.0, 1.0]
    return points_m(skeleton, positions_m, orientations, skeleton.joint_names[limb.girdle], arm)


def tips_m(skeleton: Animal, positions_m: Array, orientations: Array) -> Array:
    """Follow the end of every joint's bone: (frames, joints, 3). [m]"""
    return np.asarray(positions_m + np.einsum("fjab,jb->fja", orientations, skeleton.tips_m))


def included_angles_rad(skeleton: Animal, rotations: Array) -> Array:
    """Return the included angle of every limb joint, (frames, joints); nan for other joints. [rad]"""
    pitch = pitch_roll_yaw_rad(rotations)[..., 0]
    return skeleton.standing_angles_rad + skeleton.angle_signs * pitch
