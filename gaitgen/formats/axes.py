"""Unit, up axis and rotation order of a written file, and the way there and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import RequestError
from gaitgen.numerics.rotations import EULER_ORDERS

Array = npt.NDArray[np.float64]

# The inch is 0.0254 m exactly (international yard and pound agreement, 1959).
METRES_PER_UNIT: Mapping[str, float] = {"cm": 0.01, "m": 1.0, "in": 0.0254}

# Which of our axes (x forward, y left, z up) becomes the file's x, y and z. Both are even
# permutations, so a right-handed frame stays right-handed.
_AXES: Mapping[str, tuple[int, int, int]] = {"y": (1, 2, 0), "z": (0, 1, 2)}


def _refuse(what: str, value: object, allowed: tuple[str, ...]) -> RequestError:
    """Word the refusal of one choice."""
    return RequestError(f"{what} {value!r} is not known; use one of {', '.join(allowed)}")


@dataclass(frozen=True)
class FileSpace:
    """The space that a file is written in.

    With y up the animal faces +z and its left side is at +x; with z up the axes are our own (x forward,
    y left, z up).

    Attributes
    ----------
    unit
        ``"cm"``, ``"m"`` or ``"in"``.
    up
        ``"y"`` or ``"z"``.
    rotation_order
        One of EULER_ORDERS: ``"ZXY"`` means R = Rz Rx Ry, the order of the file's rotation channels.

    Raises
    ------
    RequestError
        If one of the three is not among those allowed.
    """

    unit: str = "cm"
    up: str = "y"
    rotation_order: str = "ZXY"

    def __post_init__(self) -> None:
        """Refuse what cannot be written."""
        if self.unit not in METRES_PER_UNIT:
            raise _refuse("unit", self.unit, tuple(METRES_PER_UNIT))
        if self.up not in _AXES:
            raise _refuse("up axis", self.up, tuple(_AXES))
        if self.rotation_order not in EULER_ORDERS:
            raise _refuse("rotation order", self.rotation_order, EULER_ORDERS)

    @property
    def metres_per_unit(self) -> float:
        """Length of the file's unit in metres."""
        return METRES_PER_UNIT[self.unit]

    def positions_to_file(self, positions_m: Array) -> Array:
        """Turn positions or offsets (..., 3) [m] into the file's axes and unit, (..., 3)."""
        return np.asarray(positions_m)[..., list(_AXES[self.up])] / self.metres_per_unit

    def positions_from_file(self, positions: Array) -> Array:
        """Turn positions or offsets (..., 3) of a file into ours, in metres, (..., 3)."""
        back = [_AXES[self.up].index(axis) for axis in range(3)]
        return np.asarray(positions)[..., back] * self.metres_per_unit

    def rotations_to_file(self, matrices: Array) -> Array:
        """Turn rotation matrices (..., 3, 3) between our axes into ones between the file's axes."""
        axes = np.array(_AXES[self.up])
        turned: Array = np.asarray(matrices)[..., axes[:, None], axes]
        return turned

    def quaternions_to_file(self, quaternions: Array) -> Array:
        """Turn unit quaternions wxyz (..., 4) between our axes into ones between the file's axes."""
        x, y, z = (1 + axis for axis in _AXES[self.up])
        turned: Array = np.asarray(quaternions)[..., [0, x, y, z]]
        return turned

    def rotations_from_file(self, matrices: Array) -> Array:
        """Turn rotation matrices (..., 3, 3) between the file's axes into ones between ours."""
        axes = np.argsort(_AXES[self.up])
        turned: Array = np.asarray(matrices)[..., axes[:, None], axes]
        return turned
