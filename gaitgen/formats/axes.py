"""Unit, up axis and rotation order of a written file, and the way there and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import permutations
from typing import TYPE_CHECKING

from gaitgen.errors import RequestError
from gaitgen.formats.units import METRES_PER_UNIT
from gaitgen.option import option, options_of

if TYPE_CHECKING:  # the options are listed without loading what computes
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

# Which of our axes (x forward, y left, z up) becomes the file's x, y and z. Both are even
# permutations, so a right-handed frame stays right-handed.
_AXES: Mapping[str, tuple[int, int, int]] = {"y": (1, 2, 0), "z": (0, 1, 2)}


@dataclass(frozen=True)
class FileSpace:
    """The space that a file is written in.

    With y up the animal faces +z and its left side is at +x; with z up the axes are our own (x forward,
    y left, z up).

    Attributes
    ----------
    rotation_order
        ``"ZXY"`` means R = Rz Rx Ry, the order of the file's rotation channels.

    Raises
    ------
    RequestError
        If one of the three is not among the choices of its option.
    """

    unit: str = field(
        default="cm", metadata=option("Unit of length in the files", choices=tuple(METRES_PER_UNIT))
    )
    up: str = field(
        default="y",
        metadata=option(
            "Up axis: y (the animal faces +z, left is +x) or z (it faces +x, left is +y)",
            label="up axis",
            choices=tuple(_AXES),
        ),
    )
    rotation_order: str = field(
        default="ZXY",
        metadata=option(
            "Order of the three rotation channels of every joint",
            choices=tuple("".join(axes) for axes in permutations("XYZ")),
        ),
    )

    def __post_init__(self) -> None:
        """Refuse what cannot be written."""
        for found in options_of(FileSpace):
            value, choices = found.read(self), found.option.choices
            if value not in choices:
                raise RequestError(f"{found.label} {value!r} is not known; use one of {', '.join(choices)}")

    @property
    def metres_per_unit(self) -> float:
        """Length of the file's unit in metres."""
        return METRES_PER_UNIT[self.unit]

    def positions_to_file(self, positions_m: Array) -> Array:
        """Turn positions or offsets (..., 3) [m] into the file's axes and unit, (..., 3)."""
        return positions_m[..., list(_AXES[self.up])] / self.metres_per_unit

    def positions_from_file(self, positions: Array) -> Array:
        """Turn positions or offsets (..., 3) of a file into ours, in metres, (..., 3)."""
        return positions[..., self._back()] * self.metres_per_unit

    def rotations_to_file(self, matrices: Array) -> Array:
        """Turn rotation matrices (..., 3, 3) between our axes into ones between the file's axes."""
        return _turned(matrices, list(_AXES[self.up]))

    def quaternions_to_file(self, quaternions: Array) -> Array:
        """Turn unit quaternions wxyz (..., 4) between our axes into ones between the file's axes."""
        x, y, z = (1 + axis for axis in _AXES[self.up])
        turned: Array = quaternions[..., [0, x, y, z]]
        return turned

    def rotations_from_file(self, matrices: Array) -> Array:
        """Turn rotation matrices (..., 3, 3) between the file's axes into ones between ours."""
        return _turned(matrices, self._back())

    def _back(self) -> list[int]:
        """Say which of the file's axes becomes our x, y and z."""
        return [_AXES[self.up].index(axis) for axis in range(3)]


def _turned(matrices: Array, axes: list[int]) -> Array:
    """Take rows and columns of matrices (..., 3, 3) in another order."""
    turned: Array = matrices[..., [[axis] for axis in axes], axes]
    return turned
