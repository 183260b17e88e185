"""Whether a clip is meant as a loop, and where it would go on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked

Array = npt.NDArray[np.float64]

# Where no frame is repeated, the gap at the seam is a usual step: it goes the same way, at this cosine or
# more, and at least this far (a leg that lands within a frame of the seam stops hard: 0.73 in a trial).
ON_COSINE, ON_SCALE = 0.6, 0.4
NEAR_SHARE = 0.4  # of the widest pose difference: how near the ends of a loop are


@dataclass(frozen=True, eq=False)
class Loop:
    """How a clip closes.

    Attributes
    ----------
    closes
        Whether it is meant as a loop.
    frames
        Frames of one turn of it; of the clip if it is no loop.
    advance_m
        (3,) how far the root goes in one turn. [m]
    repeats_first
        Whether the last frame repeats the first.
    """

    closes: bool
    frames: int
    advance_m: Array
    repeats_first: bool

    def unrolled(self, paths_m: Array) -> Array:
        """Repeat paths (frames, ..., 3) for three turns; as they are if there is no loop. [m]"""
        if not self.closes:
            return paths_m
        turn = paths_m[: self.frames]
        return np.concatenate([turn + k * self.advance_m for k in (-1.0, 0.0, 1.0)])


def find_loop(motion: Tracked) -> Loop:
    """Tell whether last and first pose are near each other, measured by how far poses differ at all."""
    level = motion.root_m * np.array([1.0, 1.0, 0.0])
    pose = np.concatenate([motion.places_m, motion.toes_m], axis=1) - level[:, None]
    apart = np.sqrt(((pose - pose[0]) ** 2).sum(axis=2).mean(axis=1))  # (frames,)
    widest = float(apart.max())
    root = motion.root_m
    last_step = root[-1] - root[-2]
    # Without a repeated frame, the step over the seam is the mean of the steps beside it.
    beside = (pose[-1] - pose[-2] + pose[1] - pose[0]) / 2.0
    gap = pose[0] - pose[-1]
    along, usual = float((gap * beside).sum()), float((beside**2).sum())
    goes_on = along > ON_COSINE * np.sqrt(usual * float((gap**2).sum())) and along > ON_SCALE * usual
    repeats = not goes_on
    closes = widest > 1e-6 and float(apart[-1]) < NEAR_SHARE * widest
    frames = motion.frames - 1 if repeats else motion.frames
    advance = root[-1] - root[0] if repeats else root[-1] - root[0] + last_step
    level_advance = advance * np.array([1.0, 1.0, 0.0])
    return Loop(closes, frames if closes else motion.frames, level_advance, repeats)
