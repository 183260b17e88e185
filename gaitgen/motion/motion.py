"""The finished motion, and what is known about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class KeyPose:
    """One named pose: its frame, counted from 1, and its name. A frame may fall between whole frames."""

    frame: float
    name: str


@dataclass(frozen=True, eq=False)
class Motion:
    """One motion of one skeleton; frame 1 is the first row.

    Attributes
    ----------
    skeleton
        The animal.
    frame_rate_hz
        Frames per second. [Hz]
    root_path_m
        (frames, 3) position of the root joint; x forward, y left, z up. [m]
    rotations
        (frames, joints, 4) rotation of each joint from standing, in its parent's frame, wxyz.
    footfalls
        The timeline of stances, in seconds from frame 1 and metres on the ground (travelling).
    belt_m_s
        (2,) velocity of the ground under an in-place clip is minus this; zero for a travelling clip. [m/s]
    key_poses
        The named poses in order of frame.
    plan
        Curves behind the motion, each (frames, ...): ``force_n`` (frames, 4) vertical force of each foot,
        ``force_horizontal_n`` (frames, 4, 2), ``hips_heave_m``, ``chest_heave_m`` (frames,).
    facts
        Numbers for the report, each name with its unit.
    notices
        What was changed or is unusual.
    """

    skeleton: Animal
    frame_rate_hz: float
    root_path_m: Array
    rotations: Array
    footfalls: Steps
    belt_m_s: Array
    key_poses: tuple[KeyPose, ...]
    plan: Mapping[str, Array]
    facts: Mapping[str, float]
    notices: tuple[Notice, ...]

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.root_path_m, self.rotations, self.belt_m_s, *self.plan.values()):
            array.setflags(write=False)

    @property
    def is_in_place(self) -> bool:
        """Whether the body stays over the origin and the ground moves under it."""
        return bool(np.any(self.belt_m_s))

    @property
    def frames(self) -> int:
        """Number of rows."""
        return int(self.root_path_m.shape[0])
