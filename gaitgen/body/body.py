"""Pelvis, back and chest over time, from what the two ends of the body do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import SPINE, Animal
from gaitgen.body.pair_phase import PairPhase
from gaitgen.numerics.rotations import axis_angle_matrix, pitch_roll_yaw_matrix

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class EndsMotion:
    """What hips and chest do, (samples,) each.

    Attributes
    ----------
    forward_m
        Place of the body forward: even travel and surge. [m]
    hips_height_m, chest_height_m
        Over the standing height. [m]
    hips_sway_m, chest_sway_m
        To the left. [m]
    """

    forward_m: Array
    hips_height_m: Array
    chest_height_m: Array
    hips_sway_m: Array
    chest_sway_m: Array


@dataclass(frozen=True, eq=False)
class BackAngles:
    """Chest against pelvis, and roll of the pelvis, (samples,) each. [rad]

    Attributes
    ----------
    flexion_rad
        Pelvis pitched nose up against the chest.
    bending_rad
        Pelvis turned to the left against the chest.
    pelvis_roll_rad, chest_roll_rad
        Right side down.
    """

    flexion_rad: Array
    bending_rad: Array
    pelvis_roll_rad: Array
    chest_roll_rad: Array


@dataclass(frozen=True, eq=False)
class TrunkMotion:
    """The trunk over time.

    Attributes
    ----------
    root_path_m
        (samples, 3) root joint, travelling. [m]
    local
        Joint name to (samples, 3, 3) rotation from standing, for the joints of the back.
    pelvis, chest
        (samples, 3, 3) world rotation of pelvis and of the first thoracic piece.
    chest_joint_m
        (samples, 3) joint ``thorax_1``. [m]
    """

    root_path_m: Array
    local: dict[str, Array]
    pelvis: Array
    chest: Array
    chest_joint_m: Array


# Share of the published range of pelvic pitch that the back makes itself; the see-saw of the two ends
# makes the rest (estimate).
FLEXION_SHARE = 0.55


def back_angles(
    skeleton: Animal, hips: PairPhase, chest: PairPhase, *, sway: float, bounce: float
) -> BackAngles:
    """Bend and roll the back with the steps; total ranges from the skeleton file.

    Faber et al. 2000, AJVR 61:399 (horse, walk: flexion-extension two cycles a stride, lateral bending
    and axial rotation one). The pelvis turns towards the hind foot that reaches forward, is tucked
    while the hind feet are spread, and is carried higher over the foot that bears weight.
    """
    back = skeleton.back
    return BackAngles(
        flexion_rad=FLEXION_SHARE * bounce * back.flexion_rad / 2.0 * hips.spread,
        bending_rad=sway * back.bending_rad / 2.0 * hips.right_ahead,
        pelvis_roll_rad=sway * back.pelvis_axial_rad / 2.0 * hips.side,
        chest_roll_rad=sway * back.chest_axial_rad / 2.0 * chest.side,
    )


def _shares(skeleton: Animal, axis: int) -> Array:
    """Share of a bend that each joint of the back takes: as wide as its range, (joints of the back,)."""
    joints = [skeleton.joint(name) for name in SPINE[1:]]
    width = np.ptp(skeleton.ranges_rad[joints, axis], axis=1)
    return np.asarray(width / width.sum())


def trunk_motion(skeleton: Animal, ends: EndsMotion, back: BackAngles) -> TrunkMotion:
    """Place pelvis and back so that hips and chest are where the ends say.

    The bends of the back are given; roll of the pelvis too. Its pitch and yaw follow in closed form
    from the vector between the hips and the scapular pivots.
    """
    local, in_pelvis, chest_joint = _bent_back(skeleton, back)
    scapula, femur = skeleton.joint("scapula_L"), skeleton.joint("femur_L")
    middle = np.array([1.0, 0.0, 1.0])
    hips_offset = skeleton.offsets_m[femur] * middle
    withers = chest_joint + np.einsum("sij,j->si", in_pelvis, skeleton.offsets_m[scapula] * middle)
    link = withers - hips_offset  # (samples, 3) from hips to scapular pivots, in the pelvis
    standing = _standing_link_m(skeleton)
    rolled = np.einsum("sij,sj->si", axis_angle_matrix("X", back.pelvis_roll_rad), link)
    rise = standing[2] + ends.chest_height_m - ends.hips_height_m
    length = np.hypot(rolled[:, 0], rolled[:, 2])
    pitch = np.arcsin(rise / length) - np.arctan2(rolled[:, 2], rolled[:, 0])
    ahead = np.sqrt(length**2 - rise**2)
    across = ends.chest_sway_m - ends.hips_sway_m
    flat = np.hypot(ahead, rolled[:, 1])
    yaw = np.arcsin(across / flat) - np.arctan2(rolled[:, 1], ahead)
    pelvis = pitch_roll_yaw_matrix(pitch, back.pelvis_roll_rad, yaw)
    hips_height = skeleton.offsets_m[0, 2] + hips_offset[2] + ends.hips_height_m
    hips_m = np.stack([ends.forward_m + hips_offset[0], ends.hips_sway_m, hips_height], axis=1)
    root = hips_m - np.einsum("sij,j->si", pelvis, hips_offset)
    return TrunkMotion(
        root_path_m=root,
        local={"pelvis": pelvis, **local},
        pelvis=pelvis,
        chest=pelvis @ in_pelvis,
        chest_joint_m=root + np.einsum("sij,sj->si", pelvis, chest_joint),
    )


def _bent_back(skeleton: Animal, back: BackAngles) -> tuple[dict[str, Array], Array, Array]:
    """Local rotations of the back, and the chest's rotation and joint in the pelvis."""
    pitch_share, roll_share, yaw_share = (_shares(skeleton, axis) for axis in range(3))
    axial = back.chest_roll_rad - back.pelvis_roll_rad
    local: dict[str, Array] = {}
    turned = np.broadcast_to(np.eye(3), (axial.size, 3, 3))
    place = np.zeros((axial.size, 3))
    for k, name in enumerate(SPINE[1:]):
        place = place + np.einsum("sij,j->si", turned, skeleton.offsets_m[skeleton.joint(name)])
        local[name] = pitch_roll_yaw_matrix(
            -back.flexion_rad * pitch_share[k], axial * roll_share[k], -back.bending_rad * yaw_share[k]
        )
        turned = turned @ local[name]
    return local, turned, place


def _standing_link_m(skeleton: Animal) -> Array:
    """From the middle of the hips to the middle of the scapular pivots, standing, (3,). [m]"""
    spine = sum(skeleton.offsets_m[skeleton.joint(name)] for name in SPINE[1:])
    link = spine + skeleton.offsets_m[skeleton.joint("scapula_L")]
    link = link - skeleton.offsets_m[skeleton.joint("femur_L")]
    return np.asarray(link * np.array([1.0, 0.0, 1.0]))
