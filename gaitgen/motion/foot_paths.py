"""What contacts are found in: the paths of the toes and of the body, and how far they can be trusted."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from gaitgen.motion.loop import Loop
from gaitgen.numerics.curves import mean_around

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FootPaths:
    """The feet of any clip, of an animal or of a rig; x forward, y left, z up.

    Attributes
    ----------
    toes_m
        (frames, feet, 3) ground points of the toes. [m]
    root_m
        (frames, 3) path of the body. [m]
    frame_time_s
        Time from one frame to the next. [s]
    hip_height_m
        Height of the standing hips, the measure of what is near and what is low. [m]
    noise_m
        (feet, 3) standard deviation of what in the toes is not motion; none if not given. [m]
    rounded_m
        How far toes may be off by the decimals of a file. [m]
    averaged
        Frames over each of which the toes are averaged; 1 as they are.
    """

    toes_m: Array
    root_m: Array
    frame_time_s: float
    hip_height_m: float
    noise_m: Array = field(default_factory=lambda: np.zeros((0, 3)))
    rounded_m: float = 0.0
    averaged: int = 1

    def __post_init__(self) -> None:
        """Take no noise where none is given."""
        if not self.noise_m.size:
            object.__setattr__(self, "noise_m", np.zeros(self.toes_m.shape[1:]))

    @property
    def feet(self) -> int:
        """Number of feet."""
        return int(self.toes_m.shape[1])

    @property
    def slow_m_s(self) -> float:
        """Speed over the ground that noise alone makes. [m/s]

        Of two averages one after the other, which have all but two frames in common, a difference of two
        frames is left.
        """
        noise_m = float(np.hypot(*self.noise_m[:, :2].max(axis=0))) * np.sqrt(self.averaged)
        return float(noise_m * np.sqrt(2.0) / (self.averaged * self.frame_time_s))

    def over(self, frames: int) -> FootPaths:
        """Return the toes averaged over an odd number of frames around each."""
        toes = mean_around(self.toes_m, frames, periodic=False)
        return replace(self, toes_m=toes, noise_m=self.noise_m / np.sqrt(frames), averaged=frames)

    def unrolled(self, loop: Loop) -> FootPaths:
        """Return the toes of three turns of a loop; as they are if there is no loop."""
        return replace(self, toes_m=loop.unrolled(self.toes_m))

    def against(self, belt_m_s: Array) -> Array:
        """Return the toes as the ground sees them, (frames, feet, 3). [m]"""
        fixed = self.toes_m.copy()
        moved = np.arange(len(fixed))[:, None] * self.frame_time_s * belt_m_s
        fixed[..., :2] -= moved[:, None]
        return fixed
