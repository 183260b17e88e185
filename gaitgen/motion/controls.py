"""The motion as world curves for a rig with controls: feet, trunk, head and tail in space."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.stance import stance_state
from gaitgen.errors import RequestError
from gaitgen.motion.measure import sole_points_m, time_s
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import axis_angle_matrix, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A sole pitched by less than this is flat.
FLAT_RAD = 1e-5


@dataclass(frozen=True, eq=False)
class Controls:
    """World curves; feet in LIMBS order.

    Attributes
    ----------
    toe_m
        (frames, 4, 3) ground point of the toe. While a foot is planted it is exactly where the timeline
        has it: on its print, which under an in-place clip moves with the belt. [m]
    heading_rad
        (frames, 4) direction of the foot, to the left of forward. [rad]
    pitch_rad
        (frames, 4) of the sole, positive with the toe up. [rad]
    toe_roll_rad
        (frames, 4) how far the sole is tipped over its toe: the part of the pitch with the heel up, as a
        positive number. A rig with both controls takes this and, about the heel, pitch + toe_roll. [rad]
    planted
        (frames, 4) whether the foot is down; both ends of a stance count.
    belt_m_frame
        (2,) travel of the ground under an in-place clip in one frame; zero for a travelling one. [m]
    parts
        Names of the other controls.
    part_m
        (frames, parts, 3) [m]
    part_rotations
        (frames, parts, 3, 3) world rotation from standing.
    breath
        (frames,) 0 breathed out, 1 breathed in.
    """

    toe_m: Array
    heading_rad: Array
    pitch_rad: Array
    toe_roll_rad: Array
    planted: Bools
    belt_m_frame: Array
    parts: tuple[str, ...]
    part_m: Array
    part_rotations: Array
    breath: Array

    def scaled(self, scale: float) -> Controls:
        """Return the same for a rig of another size: every position is multiplied by it."""
        toe, belt, part = scale * self.toe_m, scale * self.belt_m_frame, scale * self.part_m
        return replace(self, toe_m=toe, belt_m_frame=belt, part_m=part)


def rig_scale(
    withers_height_m: float, *, factor: float | None, height_m: float | None, unit: str = "m"
) -> float:
    """Return the size of a rig against the animal.

    Parameters
    ----------
    withers_height_m
        Of the animal. [m]
    factor
        The size itself.
    height_m
        Withers height of the rig; the other way to give it. [m]
    unit
        Unit in which that height was given, for the message.

    Raises
    ------
    RequestError
        If both are given, or a number is not finite, not positive, or absurd.
    """
    if factor is not None and height_m is not None:
        raise RequestError("rig scale and rig height are both given; give one of them")
    if height_m is not None:
        label, scale = f"rig height in {unit}", height_m / withers_height_m
    else:
        label, scale = "rig scale", 1.0 if factor is None else factor
    if not 1e-4 <= scale <= 1e4:
        raise RequestError(f"{label} makes the rig {scale:g} times the animal; give 0.0001 to 10000 times")
    return scale


def controls(clip: Motion, scale: float = 1.0) -> Controls:
    """Follow feet and body through the clip.

    Parameters
    ----------
    clip
        The motion.
    scale
        Size of the rig against the animal; every position is multiplied by it.
    """
    positions, world = clip.joints
    return controls_of(clip, positions, world, scale)


def controls_of(clip: Motion, positions: Array, world: Array, scale: float = 1.0) -> Controls:
    """Follow feet and body whose joints are where they are said to be; steps and breath are the clip's.

    Parameters
    ----------
    clip
        The motion.
    positions, world
        (frames, joints, 3) places of its joints [m], and (frames, joints, 3, 3) how they are turned.
    scale
        As for `controls`.
    """
    animal = clip.animal
    toe, pitch, heading, planted = _feet(clip, positions, world)
    parts = _parts(animal)
    rows = list(parts.values())
    return Controls(
        toe_m=scale * toe,
        heading_rad=heading,
        pitch_rad=pitch,
        toe_roll_rad=np.maximum(-pitch, 0.0),
        planted=planted,
        belt_m_frame=scale * clip.belt_m_s / clip.frame_rate_hz,
        parts=tuple(parts),
        part_m=scale * positions[:, rows],
        part_rotations=world[:, rows],
        breath=clip.plan.breath,
    )


def _parts(animal: Animal) -> dict[str, int]:
    """Find the joint of each control but the feet: trunk, base of the neck, head, and what else hangs."""
    parts = {"pelvis": animal.spine[0], "chest": animal.chest}
    if animal.neck:
        parts["neck"] = animal.neck[0]
    if animal.head is not None:
        parts["head"] = animal.head
    taken = {animal.head, *animal.neck}
    more = (joint for part in animal.hanging for joint in part.joints if joint not in taken)
    return parts | {animal.joint_names[joint]: joint for joint in sorted(more)}


def _feet(clip: Motion, positions_m: Array, world: Array) -> tuple[Array, Array, Array, Bools]:
    """Toe (frames, 4, 3) [m], pitch and heading [rad], planted, (frames, 4) each."""
    moments = time_s(clip)
    state = stance_state(clip.steps, moments)
    joints = [limb.foot_joint for limb in clip.animal.limbs]
    toe, _ = sole_points_m(clip.animal, positions_m, world)
    ground = state.place_m[..., :2] - (moments[:, None] * clip.belt_m_s)[:, None]  # (frames, 4, 2)
    toe[..., :2] = np.where(state.planted[..., None], ground, toe[..., :2])
    toe[..., 2] = np.where(state.planted, state.place_m[..., 2], toe[..., 2])
    # Feet are looked at from the heading of the body, which may turn by any angle.
    turned = np.unwrap(np.arctan2(world[:, 0, 1, 0], world[:, 0, 0, 0]))  # (frames,)
    turns = pitch_roll_yaw_rad(axis_angle_matrix("Z", -turned)[:, None] @ world[:, joints])  # (frames, 4, 3)
    turns[..., 2] += turned[:, None]
    pitch = np.where(state.planted & (np.abs(turns[..., 0]) < FLAT_RAD), 0.0, turns[..., 0])
    planted = state.heading_rad + limb_numbers(clip.animal, "toes_left_rad")
    heading = np.where(state.planted, planted, np.unwrap(turns[..., 2], axis=0))
    return toe, pitch, heading, state.planted
