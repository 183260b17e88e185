"""Where planted toes are to be held: at frames, between them, and in the frames beside a stance."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Where feet are looked at between frames.
STEPS = 4


def with_neighbours(planted: Bools) -> Bools:
    """Feet that are planted in a frame, or in one beside it, (frames, 4)."""
    near = planted.copy()
    near[1:] |= planted[:-1]
    near[:-1] |= planted[1:]
    return near


def between_frames(toes: Array, planted: Bools) -> tuple[Array, Bools]:
    """Where toes are that are planted in a frame and the next: they go evenly from one to the other.

    Returns
    -------
    places
        ((frames - 1) * STEPS + 1, 4, 3)
    counts
        ((frames - 1) * STEPS + 1, 4) whether the foot is planted in the frames before and after.
    """
    at = np.arange((toes.shape[0] - 1) * STEPS + 1)
    before, after = at // STEPS, -(-at // STEPS)
    share = (at / STEPS - before)[:, None, None]
    return toes[before] + share * (toes[after] - toes[before]), planted[before] & planted[after]
