"""Whether a clip is meant as a loop, and where it would go on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Where no frame is repeated, the gap at the seam is a usual step: it goes the same way, at this cosine or
# more, and at least this far (a leg that lands within a frame of the seam stops hard: 0.73 in a trial).
ON_COSINE, ON_SCALE = 0.6, 0.4
NEAR_SHARE = 0.4  # of the widest pose difference: how near the ends of a loop are
# Of the mean speed: by so much more a body goes faster at one end of a clip than at the other, over this
# share of its steps, that the two are no ends of a loop; unless their poses are the nearer to each other.
# Cycles of all animals: 0.15 at most; joins of a canter and a gallop from 0.31 on; a last frame that is there
# twice makes 0.7, and poses nearly the same.
ANOTHER_PACE, END_SHARE, NEARLY_SAME = 0.28, 1 / 16, 0.15
# Strides in which a pace is told from how a body goes in one; the first and the last of a loop are as long.
# Where feet tell that the last stride is of another gait than the first, these two are enough.
LEAST_STRIDES, LEAST_OF_TWO, ANOTHER_STRIDE = 3, 1, 0.2
# A manner that changes from the first stride to the last makes poses differ by such a share of how far they
# differ within a stride, and no two strides in a row hold so much of that, as one that was spoilt does, or
# noise; or where it is steady before and after, but for such a share, two steps are more (estimates: lame
# legs that get better by a tenth from 0.005 on).
ANOTHER_MANNER, MOST_AT_ONCE, STEADY = 0.005, 0.8, 0.1


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


def find_loop(places_m: Array) -> Loop:
    """Tell whether last and first pose are near each other, measured by how far poses differ at all.

    ``places_m`` (frames, points, 3) are joints and toes, the root first. [m]
    """
    root = places_m[:, 0]
    pose = places_m - (root * np.array([1.0, 1.0, 0.0]))[:, None]
    apart = np.sqrt(((pose - pose[0]) ** 2).sum(axis=2).mean(axis=1))  # (frames,)
    widest = float(apart.max())
    last_step = root[-1] - root[-2]
    # Without a repeated frame, the step over the seam is the mean of the steps beside it.
    beside = (pose[-1] - pose[-2] + pose[1] - pose[0]) / 2.0
    gap = pose[0] - pose[-1]
    along, usual = float((gap * beside).sum()), float((beside**2).sum())
    goes_on = along > ON_COSINE * np.sqrt(usual * float((gap**2).sum())) and along > ON_SCALE * usual
    repeats = not goes_on
    closes = widest > 1e-6 and float(apart[-1]) < NEAR_SHARE * widest
    goes = float(np.linalg.norm((root[-1] - root[0])[:2])) > widest  # in place it sways and creeps
    if closes and goes and float(apart[-1]) > NEARLY_SAME * widest:
        closes = not _parts(root, max(2, int(END_SHARE * (len(root) - 1))))
    frames = len(root) - 1 if repeats else len(root)
    advance = root[-1] - root[0] if repeats else root[-1] - root[0] + last_step
    level_advance = advance * np.array([1.0, 1.0, 0.0])
    return Loop(closes, frames if closes else len(root), level_advance, repeats)


def changes_pace(root_m: Array, stride_frames: float, *, changes_gait: bool = False) -> bool:
    """Tell whether a root (frames, 3) goes at another pace in the last stride than in the first. [m]

    ``changes_gait`` tells whether feet go in another gait in the one than in the other.
    """
    steps = round(stride_frames)
    least = LEAST_OF_TWO if changes_gait else LEAST_STRIDES
    return steps > 0 and len(root_m) > least * steps and _parts(root_m, steps, ANOTHER_STRIDE)


def changes_manner(places_m: Array, stride_frames: float) -> bool:
    """Tell whether strides go over, one after the other, to another manner than that of the first.

    ``places_m`` (frames, points, 3) are joints and toes, the root first. [m]
    """
    steps, count = int(stride_frames), int((len(places_m) - 1) / max(stride_frames, 1.0))
    if count < LEAST_STRIDES:
        return False
    pose = places_m - (places_m[:, 0] * np.array([1.0, 1.0, 0.0]))[:, None]
    begins = np.round(stride_frames * np.arange(count)).astype(np.int64)
    strides = pose[begins[:, None] + np.arange(steps)].reshape(count, -1)
    changed = strides[-1] - strides[0]
    whole = float(np.linalg.norm(changed))
    within = float(np.linalg.norm(strides[0] - np.tile(pose[:steps].mean(axis=0).ravel(), steps)))
    if whole <= ANOTHER_MANNER * within:
        return False
    at_once = np.linalg.norm(np.diff(strides, axis=0), axis=1) / whole
    is_steady = max(at_once[0], at_once[-1]) < STEADY
    return bool(at_once.max() < MOST_AT_ONCE or (is_steady and np.sum(at_once > STEADY) > 1))


def _parts(root_m: Array, steps: int, least: float = ANOTHER_PACE) -> bool:
    """Whether the root goes farther or less far, by such a share, in its last steps than in its first."""
    level = root_m[:, :2]
    first, last = level[steps] - level[0], level[-1] - level[-1 - steps]
    mean = float(np.linalg.norm(level[-1] - level[0])) * steps / (len(level) - 1)
    return abs(float(np.linalg.norm(last) - np.linalg.norm(first))) > least * mean
