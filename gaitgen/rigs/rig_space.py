"""The unit, axes and origin of a rig's file, for curves that are not on its joints."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.formats.axes import FileSpace
from gaitgen.motion.controls import Controls
from gaitgen.motion.motion import Motion
from gaitgen.rigs.body import hips_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class RigSpace(FileSpace):
    """The space of a rig's file; rotations in the usual order of channels.

    Attributes
    ----------
    axes
        (3, 3) rows forward, left, up in the file's axes.
    metres
        Length of the unit. [m]
    """

    axes: Array = field(default_factory=lambda: np.eye(3), compare=False)
    metres: float = 1.0

    def __post_init__(self) -> None:
        """Take what a rig has, which need not be a choice of the options."""

    @classmethod
    def of(cls, rig: Rig) -> RigSpace:
        """Return the space of a rig."""
        return cls(unit=rig.map.unit, up=rig.map.up, axes=rig.axes, metres=rig.metres_per_unit)

    @property
    def metres_per_unit(self) -> float:
        """Length of the file's unit in metres."""
        return self.metres

    def positions_to_file(self, positions_m: Array) -> Array:
        """Turn positions or offsets (..., 3) [m] into the file's axes and unit, (..., 3)."""
        return np.asarray(positions_m @ self.axes / self.metres)

    def rotations_to_file(self, matrices: Array) -> Array:
        """Turn rotation matrices (..., 3, 3) between our axes into ones between the file's axes."""
        return np.asarray(self.axes.T @ matrices @ self.axes)


def from_rigs_origin(rig: Rig, clip: Motion, curves: Controls) -> Controls:
    """Move control curves from the origin of a clip to that of the rig's file."""
    shift = animal_shift_m(rig, clip.animal) + from_home(rig)
    return replace(curves, toe_m=curves.toe_m + shift, part_m=curves.part_m + shift)


def animal_shift_m(rig: Rig, animal: Animal) -> Array:
    """Return the way over the ground from the animal that stands for a rig to the rig, (3,). [m]"""
    tops = [standing_positions_m(animal)[animal.limb("hind", side).top] for side in "LR"]
    return np.asarray((hips_m(rig) - (tops[0] + tops[1]) / 2.0) * np.array([1.0, 1.0, 0.0]))


def from_home(rig: Rig) -> Array:
    """Return the way from the origin of a rig's file to ours, (3,), in our axes. [m]"""
    return np.asarray(rig.axes @ rig.home * rig.metres_per_unit)


def as_animal_goes(rig: Rig, animal: Animal) -> Rig:
    """Return a rig that is written where its animal goes, not from where its file has it stand."""
    away = animal_shift_m(rig, animal) + from_home(rig)
    return replace(rig, home=rig.home - rig.axes.T @ away / rig.metres_per_unit)
