"""How the ends of the body rise and fall, as waves of the stride."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.motion.extremes import extremes

Array = npt.NDArray[np.float64]

HARMONICS = 4


@dataclass(frozen=True, eq=False)
class Wave:
    """A curve over time, its smooth part, and its swings once and twice a stride.

    Attributes
    ----------
    values
        (frames,) the curve itself.
    smooth
        (frames,) its first harmonics of the stride, or a local mean without strides.
    first, second
        Complex amplitude of the part that comes once, and of that which comes twice a stride; angle 0 is a
        high at frame 0.
    accelerating
        (frames,) second derivative of the smooth part. [per s2]
    """

    values: Array
    smooth: Array
    first: complex
    second: complex
    accelerating: Array

    @property
    def lows(self) -> list[int]:
        """Frames, from 1, at which the smooth part is lowest."""
        return [e.row + 1 for e in extremes(self.smooth, is_closed=True) if not e.is_high]

    @property
    def highs(self) -> list[int]:
        """Frames, from 1, at which the smooth part is highest."""
        return [e.row + 1 for e in extremes(self.smooth, is_closed=True) if e.is_high]


def wave(values: Array, period: float, frame_time_s: float, harmonics: int = HARMONICS) -> Wave:
    """Fit harmonics of the stride to a curve (frames,) over whole strides, by least squares."""
    frames = np.arange(len(values))
    rate = 2.0 * np.pi / period
    top = max(2, min(harmonics, int((period - 1) // 2)))
    orders = np.arange(1, top + 1) * rate
    phase = frames[:, None] * orders
    columns = np.concatenate([np.ones((len(frames), 1)), np.cos(phase), np.sin(phase)], axis=1)
    weights = np.linalg.lstsq(columns, values, rcond=None)[0]
    smooth = columns @ weights
    squares = np.concatenate([[0.0], orders**2, orders**2]) / frame_time_s**2
    first, second = (complex(weights[k], -weights[k + top]) for k in (1, 2))
    return Wave(values, smooth, first, second, -(columns @ (squares * weights)))


def apart_deg(angle_deg: float) -> float:
    """Bring an angle to -180 to 180. [degrees]"""
    return (angle_deg + 180.0) % 360.0 - 180.0
