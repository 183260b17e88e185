"""Each frame against the frames beside it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.seen import Seen

Array = npt.NDArray[np.float64]

SAME_DEG = 2e-5  # channels nearer than this are equal: files hold six decimals


def off_line(values: Array) -> Array:
    """How far each row is from the cubic through its four neighbours; (rows - 4, ...)."""
    return np.asarray(values[2:-2] - (4.0 * (values[1:-3] + values[3:-1]) - values[:-4] - values[4:]) / 6.0)


def padded(seen: Seen, values: Array) -> Array:
    """Add two rows at both ends: those of the loop, or the ends again."""
    if not seen.loop.closes:
        return np.concatenate([values[:1], values[:1], values, values[-1:], values[-1:]])
    turn = values[: seen.loop.frames]
    return np.concatenate([turn[-2:], turn, turn[:2]])
