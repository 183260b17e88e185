"""The finished motion, and what is known about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice
from gaitgen.gait.request import Request
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.kinematics import world_frames

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class KeyPose:
    """One named pose: its frame, counted from 1, and its name. A frame may fall between whole frames."""

    frame: float
    name: str


@dataclass(frozen=True, eq=False)
class Motion:
    """One motion of one animal; frame 1 is the first row.

    Attributes
    ----------
    animal
        The animal that moves.
    frame_rate_hz
        Frames per second. [Hz]
    root_path_m
        (frames, 3) position of the root joint; x forward, y left, z up. [m]
    rotations
        (frames, joints, 4) rotation of each joint from standing, in its parent's frame, wxyz.
    steps
        The timeline of stances, in seconds from frame 1 and metres on the ground (travelling).
    belt_m_s
        (2,) velocity of the ground under an in-place clip is minus this; zero for a travelling clip. [m/s]
    key_poses
        The named poses in order of frame.
    plan
        The curves behind the motion, row for row.
    facts
        The numbers of its stride.
    notices
        What was changed or is unusual.
    asked
        The request that it was made from, with what it left open; None for a clip that was read.
    """

    animal: Animal
    frame_rate_hz: float
    root_path_m: Array
    rotations: Array
    steps: Steps
    belt_m_s: Array
    key_poses: tuple[KeyPose, ...]
    plan: Plan
    facts: Facts
    notices: tuple[Notice, ...]
    asked: Request | None = None

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.root_path_m, self.rotations, self.belt_m_s):
            array.setflags(write=False)

    @cached_property
    def joints(self) -> tuple[Array, Array]:
        """(frames, joints, 3) places [m] and (frames, joints, 3, 3) rotations of the joints in the world."""
        joints = world_frames(self.animal, self.root_path_m, self.rotations)
        for array in joints:
            array.setflags(write=False)
        return joints

    @property
    def stem(self) -> str:
        """Name of its files, without suffix: ANIMAL_GAIT_FRAMES."""
        return (self.asked or Request()).stem(self.animal.name)

    @property
    def is_in_place(self) -> bool:
        """Whether the body stays over the origin: the ground moves under it, or it stands."""
        loop = self.steps.loop
        stays = loop is not None and loop.turn_rad == 0.0 and not np.any(loop.shift_m)
        return bool(np.any(self.belt_m_s)) or stays

    @property
    def frames(self) -> int:
        """Number of rows."""
        return int(self.root_path_m.shape[0])
