"""Forward kinematics, of an animal or of any joint tree: joints, points fixed to them, anatomical angles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def forward(parents: Ints, offsets: Array, local: Array, root_path: Array) -> tuple[Array, Array]:
    """Carry rotations and places down a joint tree.

    Parameters
    ----------
    parents
        (joints,) index of the parent, -1 for the root; parents before children.
    offsets
        (joints, 3) joint from its parent's joint, in the parent's frame, or (frames, joints, 3); the root's
        is not used.
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's frame.
    root_path
        (frames, 3) place of the root.

    Returns
    -------
    places
        (frames, joints, 3) in the unit of offsets and path.
    world
        (frames, joints, 3, 3) rotation of each joint in the world.
    """
    world = np.empty((local.shape[1], local.shape[0], 3, 3))  # joints first: each is written as one piece
    for joint, parent in enumerate(parents.tolist()):  # over the tree, not over frames
        world[joint] = local[:, joint] if parent < 0 else world[parent] @ local[:, joint]
    turned = np.swapaxes(world, 0, 1)
    return hung(parents, offsets, turned, root_path), turned


def hung(parents: Ints, offsets: Array, world: Array, root_path: Array) -> Array:
    """Place a tree of points whose rotations are known already.

    Parameters
    ----------
    parents
        (points,) index of the point that each hangs on, -1 for the root; parents before children.
    offsets
        (points, 3) point from its parent, in the frame in which the rotations are none; (frames, points, 3)
        where a point moves against its parent.
    world
        (frames, joints, 3, 3) rotation of each point that others hang on; ends, which come last, need none.
    root_path
        (frames, 3) place of the root.

    Returns
    -------
    (frames, points, 3).
    """
    places = np.empty((len(parents), *root_path.shape))
    arms = np.swapaxes(offsets, 0, 1)[..., None] if offsets.ndim == 3 else offsets[:, None, :, None]
    for point, parent in enumerate(parents.tolist()):  # over the tree, not over frames
        if parent < 0:
            places[point] = root_path
        else:
            places[point] = places[parent] + (world[:, parent] @ arms[point])[..., 0]
    return np.swapaxes(places, 0, 1)


def line_above(parents: Ints, joints: Sequence[int]) -> tuple[Ints, Ints, Ints]:
    """Take a tree of the joints that carry some others out of a whole one.

    Parameters
    ----------
    parents
        (joints,) index of the parent in the whole tree, -1 for the root; parents before children.
    joints
        What is carried.

    Returns
    -------
    carriers
        (carriers,) every joint on the way from the root to one of them, themselves included, in order.
    parents
        (carriers,) index of the parent among the carriers.
    rows
        Index of each of ``joints`` among the carriers.
    """
    above: set[int] = set()
    for joint in joints:
        at = int(joint)
        while at >= 0 and at not in above:
            above.add(at)
            at = int(parents[at])
    carriers = np.array(sorted(above), dtype=np.int64)
    own = parents[carriers]
    return (
        carriers,
        np.where(own < 0, -1, np.searchsorted(carriers, own)),
        np.searchsorted(carriers, np.asarray(joints, dtype=np.int64)),
    )


def fixed_points(
    places: Array, world: Array, joints: int | Sequence[int] | Ints, offsets: npt.ArrayLike
) -> Array:
    """Follow points that are fixed to joints.

    Parameters
    ----------
    places, world
        (frames, joints, 3) and (frames, joints, 3, 3), as from `forward`.
    joints
        (points,) joint of each point, or a single one.
    offsets
        (points, 3) point from its joint, in the joint's frame, or a single one.

    Returns
    -------
    (frames, points, 3), or (frames, 3) of a single one.
    """
    arms = np.asarray(offsets, dtype=np.float64)[..., None]
    rows = np.asarray(joints, dtype=np.int64)
    return np.asarray(places[:, rows] + (world[:, rows] @ arms)[..., 0])


def world_frames(skeleton: Animal, root_path_m: Array, rotations: Array) -> tuple[Array, Array]:
    """Place the joints of an animal.

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
    return forward(skeleton.parents, skeleton.offsets_m, local, root_path_m)


def landmark_m(skeleton: Animal, positions_m: Array, orientations: Array, name: str) -> Array:
    """Follow a landmark of the skeleton, such as ``withers``: (frames, 3). [m]"""
    joint, offset = skeleton.landmarks_m[name]
    return fixed_points(positions_m, orientations, skeleton.joint(joint), offset)


def end_middle_m(skeleton: Animal, positions_m: Array, orientations: Array, end: str) -> Array:
    """Follow the middle of two limbs' tops as the trunk carries it, without their ride: (frames, 3). [m]

    ``end`` is ``fore``, for the chest, or ``hind``, for the hips.
    """
    limb, standing = skeleton.limb(end), standing_positions_m(skeleton)
    arm = (standing[limb.top] - standing[limb.girdle]) * [1.0, 0.0, 1.0]
    return fixed_points(positions_m, orientations, limb.girdle, arm)


def tips_m(skeleton: Animal, positions_m: Array, orientations: Array) -> Array:
    """Follow the end of every joint's bone: (frames, joints, 3). [m]"""
    return fixed_points(positions_m, orientations, np.arange(len(skeleton.tips_m)), skeleton.tips_m)


def included_angles_rad(skeleton: Animal, rotations: Array) -> Array:
    """Return the included angle of every limb joint, (frames, joints); nan for other joints. [rad]"""
    pitch = pitch_roll_yaw_rad(rotations)[..., 0]
    return skeleton.standing_angles_rad + skeleton.angle_signs * pitch
