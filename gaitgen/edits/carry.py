"""Carries what a hand changed in one cycle to another length, speed or animal, with the feet planted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.edits.difference import Edit
from gaitgen.edits.phase import Phases, Timing, numbered_as, phases, stances_of, timing_of
from gaitgen.edits.reached import Planted, reached
from gaitgen.edits.seen import leg_joints
from gaitgen.errors import Notice
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import range_margins_rad, slip_m, sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.planting import reach
from gaitgen.numerics.rotations import (
    continuous_sign,
    matrix_from_quaternion,
    quaternion_from_matrix,
)

Array = npt.NDArray[np.float64]

OUTSIDE_RAD = np.radians(0.5)  # joints that leave their range by less are not said


@dataclass(frozen=True, eq=False)
class Carried:
    """A clip with an edit laid over it.

    Attributes
    ----------
    clip
        The clip.
    joint_names
        Its joints.
    asked_rad, made_rad
        (frames, joints, 3) the edit as it was laid over a stride, and the edit that is in the clip, after the
        feet were planted: rotation from the plain clip in each joint's own frame. [rad]
    moved_m
        (frames, 3) how far the root was moved. [m]
    print_m
        (stances, 2) how far the prints were moved, in LIMBS order, of several strides one by one. [m]
    sunk_m
        How far the trunk was lowered for the legs to reach. [m]
    trunk_share, limb_share
        How much of the edits of trunk and of limbs' joints is in the clip; less than 1 where the legs would
        not reach.
    """

    clip: Motion
    joint_names: tuple[str, ...]
    asked_rad: Array
    made_rad: Array
    moved_m: Array
    print_m: Array
    sunk_m: float
    trunk_share: float
    limb_share: float

    @property
    def slip_m(self) -> float:
        """How far planted toes slip. [m]"""
        return slip_m(self.clip)


def carry(edit: Edit, plain: Motion, stride: Motion) -> Carried:
    """Lay an edit over a clip.

    Joints turn by the edit at the same moment of their foot's stance or swing, those of the trunk by the
    same moment between contacts; feet are moved and turned as the hand did; lengths go with the size of the
    animal. Planted feet stand flat as in the plain clip, on one place each. Then each limb turns at its top,
    and opens by the law of its animal, until its foot is there.

    Parameters
    ----------
    edit
        What was changed.
    plain
        The clip to lay it over.
    stride
        One stride of it, in place.

    Raises
    ------
    RequestError
        If the feet land in another order, or the legs cannot reach with the edit.
    """
    animal, timing = stride.animal, timing_of(stride)
    edit, frames = replace(edit, timing=numbered_as(edit.timing, timing)), timing.frames
    scale = animal.hip_height_m / edit.hip_height_m
    at = phases(edit.timing, timing)
    turns, moved = edit.of_joints(at, _limb_of(animal)), edit.of_root_m(at)
    wanted = _wanted(stride, timing, edit, at, scale)
    own = matrix_from_quaternion(stride.rotations[:frames])
    asked = np.zeros((frames, len(animal.joint_names), 3))
    for name, turn in turns.items():
        if name in animal.index:
            asked[:, animal.joint(name)] = turn
    prints = scale * edit.print_m[:, :2]
    carriers = _carriers(animal)
    limbs = [animal.joint(name) for name in _limb_of(animal)]

    def laid(trunk_share: float, limb_share: float, lowered_m: float) -> Planted[tuple[Array, Array]]:
        turn = asked.copy()
        turn[:, carriers] *= trunk_share
        turn[:, limbs] *= limb_share
        local = own @ Rotation.from_rotvec(turn.reshape(-1, 3)).as_matrix().reshape(own.shape)
        root = stride.root_path_m[:frames] + trunk_share * scale * moved - [0.0, 0.0, lowered_m]
        met, misses = reach(animal, root, local, *wanted)
        return Planted((root, met), misses, lowered_m)

    planted, share, limb_share = reached(laid, animal.withers_height_m)
    root, local = planted.pose
    clip = _filled(plain, stride, root, local, prints, edit.heading_rad)
    made = np.swapaxes(own, -1, -2) @ local
    made_rad = Rotation.from_matrix(made.reshape(-1, 3, 3)).as_rotvec().reshape(asked.shape)
    shift = root - stride.root_path_m[:frames]
    return Carried(
        clip, animal.joint_names, asked, made_rad, shift, prints, planted.sunk_m, share, limb_share
    )


def _carriers(animal: Animal) -> list[int]:
    """Joints that carry the tops of the limbs: the trunk, root included."""
    found: set[int] = set()
    for limb in animal.limbs:
        joint = limb.girdle
        while joint >= 0:
            found.add(joint)
            joint = int(animal.parents[joint])
    return sorted(found)


def _limb_of(animal: Animal) -> dict[str, int]:
    """Joints of limbs by name, slings included, and the row of LIMBS each belongs to."""
    found: dict[str, int] = {}
    for row, limb in enumerate(animal.limbs):
        found |= {animal.joint_names[joint]: row for joint in leg_joints(limb)}
    return found


def _wanted(stride: Motion, timing: Timing, edit: Edit, at: Phases, scale: float) -> tuple[Array, Array]:
    """Say where the foot joints shall be, (frames, 4, 3) [m], and how feet are turned, (frames, 4, 3, 3)."""
    animal, frames = stride.animal, timing.frames
    feet = [limb.foot_joint for limb in animal.limbs]
    tips = np.array([limb.foot.tip_m for limb in animal.limbs])
    places, world = world_frames(animal, stride.root_path_m[:frames], stride.rotations[:frames])
    plain, _ = sole_points_m(animal, places, world)
    moved, turned = edit.of_feet(at)
    moved, turned = edit.on_prints(moved, turned, timing)
    turns = Rotation.from_rotvec(turned.reshape(-1, 3)).as_matrix().reshape(*turned.shape, 3)
    soles = turns @ world[:, feet]
    toes = plain + scale * moved
    toes[..., 2] = np.maximum(toes[..., 2], np.minimum(plain[..., 2], 0.0))  # not under ground
    return toes - np.einsum("flij,lj->fli", soles, tips), soles


def _filled(
    plain: Motion, stride: Motion, root: Array, local: Array, prints: Array, heading: Array
) -> Motion:
    """Put the new stride into every stride of the clip; say which joints leave their range."""
    frames = len(root)
    row = np.arange(plain.frames) % frames
    moved = root - stride.root_path_m[:frames]
    rotations = continuous_sign(quaternion_from_matrix(local))[row]
    steps, stance = plain.steps, stances_of(plain)
    place = steps.place_m.copy()
    place[:, :2] += prints[stance]
    clip = replace(
        plain,
        root_path_m=plain.root_path_m + moved[row],
        rotations=continuous_sign(rotations),
        steps=replace(steps, place_m=place, heading_rad=steps.heading_rad + heading[stance]),
    )
    before, after = range_margins_rad(plain), range_margins_rad(clip)
    notices = []
    for joint, turn in np.argwhere((after < -OUTSIDE_RAD) & (after < before - OUTSIDE_RAD)):
        text = (
            f"{plain.animal.joint_names[joint]} leaves its range by "
            f"{np.degrees(-after[joint, turn]):.0f} degrees in {('pitch', 'roll', 'yaw')[turn]}."
        )
        notices.append(Notice("range", text))
    return replace(clip, notices=(*plain.notices, *notices))
