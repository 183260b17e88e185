"""What one cycle is asked to be."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

from gaitgen.animal.animal import Animal
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.style import Style

MOST_FRAMES = 2000
MOST_STRIDES = 500


@dataclass(frozen=True)
class Request:
    """One cycle to make.

    Attributes
    ----------
    gait
        Name of a gait.
    animal
        Name of an animal, path of a skeleton file, or a Animal.
    proportions
        What to change in the animal.
    frames
        Length of one stride; the clip has one frame more. [frames]
    frame_rate_hz
        Frames per second. [Hz]
    start
        The foot whose contact is frame 1.
    in_place
        Whether the body stays over the origin and the ground moves under it.
    strides
        How many strides to write.
    speed_m_s, stride_length_m, duty_factor, lag
        Fixed by the user; None lets the animal choose. [m/s], [m], ratio, ratio
    style
        Style factors.
    settle_strides
        Share of a stride after contact at which an end of the body is lowest; None as the animal does.
    whole_frames
        Whether contacts and lift-offs are put on whole frames.
    contacts
        Contacts and lift-offs read off film, such as "RH 1-23, RF 9-31, LH 17-39, LF 25-47"; they stand
        for duty factor, lag, start and whole frames.
    """

    gait: str = "walk"
    animal: str | Animal = "riding_horse"
    proportions: Proportions = field(default_factory=Proportions)
    frames: int = 32
    frame_rate_hz: float = 24.0
    start: str = "RH"
    in_place: bool = True
    strides: int = 1
    speed_m_s: float | None = None
    stride_length_m: float | None = None
    duty_factor: float | None = None
    lag: float | None = None
    style: Style = field(default_factory=Style)
    settle_strides: float | None = None
    whole_frames: bool = True
    contacts: str | None = None

    def stem(self, animal: str) -> str:
        """Name the files of this cycle, without suffix: ANIMAL_GAIT_FRAMES."""
        return f"{animal}_{Path(self.gait).stem}_{self.frames}"

    def __post_init__(self) -> None:
        """Refuse numbers that make no cycle.

        Raises
        ------
        RequestError
            For a number that is not finite or outside its limits.
        """
        checks = (
            ("frames", self.frames, 1, MOST_FRAMES),
            ("frame rate", self.frame_rate_hz, 1.0, 1000.0),
            ("strides", self.strides, 1, MOST_STRIDES),
            ("lag", 0.25 if self.lag is None else self.lag, 0.05, 0.45),
            ("settle", 0.0 if self.settle_strides is None else self.settle_strides, 0.0, 0.25),
        )
        for label, value, least, greatest in checks:
            if not (math.isfinite(value) and least <= value <= greatest):
                raise RequestError(f"{label} is {value:g}; give a number from {least:g} to {greatest:g}")
        if self.contacts is not None and not (self.duty_factor is None and self.lag is None):
            raise RequestError("contacts already say duty factor and lag; leave those out")
        if self.start not in LIMBS:
            raise RequestError(f"start is {self.start!r}; use one of {', '.join(LIMBS)}")
