"""What is known about a motion beside its frames: the curves behind it, and the numbers of its stride."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Plan:
    """Curves behind a motion, one row a frame.

    Attributes
    ----------
    force_n
        (frames, 4) vertical force of the ground under each foot, in LIMBS order. [N]
    force_horizontal_n
        (frames, 4, 2) its horizontal part, forward and to the left. [N]
    hips_heave_m, chest_heave_m
        (frames,) height of either end of the body over its standing height, were the trunk not lowered
        by what `Facts` has as its drop. [m]
    breath
        (frames,) 0 breathed out, 1 breathed in.
    """

    force_n: Array
    force_horizontal_n: Array
    hips_heave_m: Array
    chest_heave_m: Array
    breath: Array

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for curve in self._curves():
            curve.setflags(write=False)

    @property
    def heaves_m(self) -> dict[str, Array]:
        """The rise and fall of both ends, by the name of the end. [m]"""
        return {"hips": self.hips_heave_m, "chest": self.chest_heave_m}

    def at(self, places: npt.ArrayLike) -> Plan:
        """Return the plan at some places (rows,), counted from 0; straight from one row to the next."""
        exact = np.asarray(places, dtype=np.float64)
        before = np.floor(exact).astype(np.int64)
        after, share = np.minimum(before + 1, len(self.breath) - 1), exact - before
        return Plan(*(_mixed(curve, before, after, share) for curve in self._curves()))

    def _curves(self) -> tuple[Array, ...]:
        return (self.force_n, self.force_horizontal_n, self.hips_heave_m, self.chest_heave_m, self.breath)


def _mixed(curve: Array, before: Ints, after: Ints, share: Array) -> Array:
    part = share.reshape(-1, *(1,) * (curve.ndim - 1))
    return np.asarray(curve[before] + part * (curve[after] - curve[before]))


@dataclass(frozen=True)
class Facts:
    """Numbers of one stride of a motion.

    Attributes
    ----------
    frames
        Length of a stride. [frames]
    strides
        How many of them the motion has.
    period_s
        Length of a stride. [s]
    speed_m_s
        Speed over the ground. [m/s]
    stride_length_m
        Ground covered in a stride. [m]
    duty_factor
        Share of a stride that a foot is down, all feet taken together. [0 to 1]
    lag
        Share of a stride by which the right fore foot lands after the right hind. [0 to 1)
    froude_number
        Speed squared over gravity and hip height.
    hips_drop_m, chest_drop_m
        How far the trunk is lowered at either end, so that the legs reach. [m]
    """

    frames: int
    strides: int
    period_s: float
    speed_m_s: float
    stride_length_m: float
    duty_factor: float
    lag: float
    froude_number: float
    hips_drop_m: float
    chest_drop_m: float
