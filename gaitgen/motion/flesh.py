"""The animal's volume, posed: plain arrays, no drawing library."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.flesh import Body, body_of
from gaitgen.animal.foot_shape import rounded_feet
from gaitgen.animal.standing import standing_positions_m
from gaitgen.motion.kinematics import fixed_points, world_frames
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PosedBody:
    """A body at some frames.

    Attributes
    ----------
    body
        Its balls, capsules and feet.
    balls_m
        (frames, balls, 3) chain after chain. [m]
    feet_m
        (frames, 4, 8, 3) corners of the feet in LIMBS order, sole first. [m]
    """

    body: Body
    balls_m: Array
    feet_m: Array

    @cached_property
    def ends_m(self) -> Array:
        """(frames, capsules, 2, 3) ends of the capsules. [m]"""
        return np.asarray(np.einsum("ceb,fbi->fcei", self.body.blend, self.balls_m))

    @cached_property
    def rounded_feet_m(self) -> Array:
        """(frames, 4, points, 3) outlines of soles, then of rims. [m]"""
        return rounded_feet(self.feet_m)


def pose(clip: Motion, frames: npt.ArrayLike) -> PosedBody:
    """Pose the animal at some rows of a clip. ``frames`` (poses,) counts from 0."""
    rows = np.asarray(frames, dtype=np.int64)
    places = world_frames(clip.animal, clip.root_path_m[rows], clip.rotations[rows])
    return carried_along(body_of(clip.animal), *places)


def standing(skeleton: Animal, pieces: int) -> PosedBody:
    """Pose the animal as it stands, one frame, with so many capsules from ball to ball of a curved chain."""
    positions = standing_positions_m(skeleton)
    still = np.broadcast_to(np.eye(3), (1, len(positions), 3, 3))
    return carried_along(body_of(skeleton, pieces), positions[None], still)


def carried_along(body: Body, positions_m: Array, orientations: Array) -> PosedBody:
    """Pose a body on joints whose places [m] and orientations are known, as from `world_frames`."""
    joints = np.array([joint for joint, _ in body.feet])
    corners = np.stack([corners for _, corners in body.feet])  # (4, 8, 3)
    each = fixed_points(
        positions_m, orientations, np.repeat(joints, corners.shape[1]), corners.reshape(-1, 3)
    )
    balls = fixed_points(positions_m, orientations, body.joints, body.offsets_m)
    return PosedBody(body, balls, each.reshape(-1, *corners.shape))
