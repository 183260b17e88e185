"""What can be measured back on a finished clip: feet, slip, timing, ranges, loop."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import Foot
from gaitgen.course.stance import stance_state
from gaitgen.motion.contacts import Feet, find_feet
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.kinematics import fixed_points, forward, line_above
from gaitgen.motion.loop import find_loop
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class FeetMeasured:
    """The four feet as the finished clip has them, in LIMBS order.

    Attributes
    ----------
    toe_m
        (frames, 4, 3) ground point of the toe against the ground: the belt's travel is added back. [m]
    lowest_m
        (frames, 4) lowest point of the sole. [m]
    planted
        (frames, 4) whether the foot is down by the timeline.
    """

    toe_m: Array
    lowest_m: Array
    planted: Bools


def time_s(clip: Motion) -> Array:
    """Return the moment of each frame, (frames,). [s]"""
    return np.arange(clip.frames) / clip.frame_rate_hz


def over_origin(clip: Motion) -> Motion:
    """Return the clip without its travel, so that the body stays over the origin."""
    if clip.is_in_place:
        return clip
    path = clip.root_path_m.copy()
    path[:, :2] -= time_s(clip)[:, None] * clip.steps.travel_m_s
    return replace(clip, root_path_m=path)


def sole_points_m(skeleton: Animal, positions_m: Array, orientations: Array) -> tuple[Array, Array]:
    """Follow the ground points of the toes, (frames, 4, 3), and the soles' corners, (frames, 4, 4, 3). [m]

    ``positions_m`` and ``orientations`` are those of the joints, as from `world_frames`.
    """
    joints = np.array([limb.foot_joint for limb in skeleton.limbs])
    corners = np.stack([_sole_corners_m(limb.foot) for limb in skeleton.limbs])  # (4, 4, 3)
    tips = np.array([limb.foot.tip_m for limb in skeleton.limbs])
    toes = fixed_points(positions_m, orientations, joints, tips)
    each = fixed_points(positions_m, orientations, np.repeat(joints, 4), corners.reshape(-1, 3))
    return toes, each.reshape(-1, 4, 4, 3)


def _sole_corners_m(foot: Foot) -> Array:
    """Corners of a standing sole from the joint of its foot, toes first, (4, 3). [m]"""
    return np.array(
        [
            [end, side * foot.half_width_m, -foot.height_m]
            for end in (foot.toe_m, -foot.heel_m)
            for side in (1.0, -1.0)
        ]
    )


def measure_feet(clip: Motion) -> FeetMeasured:
    """Follow the soles by forward kinematics."""
    toes, soles = sole_points_m(clip.animal, *clip.joints)
    moments = time_s(clip)
    toes[..., :2] += (moments[:, None] * clip.belt_m_s)[:, None]
    return FeetMeasured(toes, soles[..., 2].min(axis=2), planted(clip))


def planted(clip: Motion) -> Bools:
    """Say whether each foot is down by the timeline: (frames, 4)."""
    return stance_state(clip.steps, time_s(clip)).planted


def slip_m(clip: Motion, feet: FeetMeasured | None = None) -> float:
    """Return the farthest any planted toe is from where its stance was put on the ground. [m]

    Without the feet as measured, the joints that carry them are followed alone.
    """
    moments = time_s(clip)
    state = stance_state(clip.steps, moments)
    toes = _toes_m(clip, moments) if feet is None else feet.toe_m
    away = np.hypot(*np.moveaxis(toes[..., :2] - state.place_m[..., :2], -1, 0))
    away = np.maximum(away, np.abs(toes[..., 2] - state.place_m[..., 2]))
    return float(np.where(state.planted, away, 0.0).max())


def _toes_m(clip: Motion, moments: Array) -> Array:
    """Follow the toes against the ground, as in FeetMeasured, without the joints that carry none. [m]"""
    skeleton = clip.animal
    carriers, parents, rows = line_above(skeleton.parents, [limb.foot_joint for limb in skeleton.limbs])
    local = matrix_from_quaternion(clip.rotations[:, carriers])
    places, world = forward(parents, skeleton.offsets_m[carriers], local, clip.root_path_m)
    toes = fixed_points(places, world, rows, np.array([limb.foot.tip_m for limb in skeleton.limbs]))
    toes[..., :2] += (moments[:, None] * clip.belt_m_s)[:, None]
    return toes


def found_feet(clip: Motion) -> Feet:
    """Measure contacts, lift-offs and the belt back from the motion alone, whatever its timeline says."""
    places, world = clip.joints
    toes, _ = sole_points_m(clip.animal, places, world)
    loop = find_loop(np.concatenate([places, toes], axis=1))
    paths = FootPaths(toes, clip.root_path_m, 1.0 / clip.frame_rate_hz, clip.animal.hip_height_m)
    return find_feet(paths, loop)


def centre_of_mass_m(clip: Motion) -> Array:
    """Follow the centre of mass of the whole animal in the world, (frames, 3). [m]"""
    animal = clip.animal
    places, turns = clip.joints
    centres = places + (turns @ animal.mass_centres_m[:, :, None])[..., 0]
    return np.asarray(np.einsum("fjk,j->fk", centres, animal.mass_shares))


def range_margins_rad(clip: Motion) -> Array:
    """Return how far each joint stays inside its pitch, roll and yaw range: (joints, 3). [rad]

    Negative where it goes outside. The root's place in the world counts as its rotation.
    """
    turns = pitch_roll_yaw_rad(clip.rotations)  # (frames, joints, 3)
    ranges = clip.animal.ranges_rad
    inside = np.minimum(turns.min(axis=0) - ranges[..., 0], ranges[..., 1] - turns.max(axis=0))
    return np.asarray(inside)


def bone_lengths_m(clip: Motion) -> Array:
    """Return the length of every bone between joints in every frame, (frames, joints - 1). [m]"""
    positions, _ = clip.joints
    parents = clip.animal.parents[1:]
    return np.asarray(np.linalg.norm(positions[:, 1:] - positions[:, parents], axis=2))


def loop_gap(clip: Motion) -> float:
    """Return the largest difference of last and first frame, travel removed: metres and matrix entries."""
    moved = clip.root_path_m[-1] - clip.root_path_m[0]
    if not clip.is_in_place:
        moved = moved.copy()
        moved[:2] -= clip.steps.travel_m_s * (clip.frames - 1) / clip.frame_rate_hz
    first, last = (matrix_from_quaternion(clip.rotations[k]) for k in (0, -1))
    return float(max(np.abs(moved).max(), np.abs(last - first).max()))
