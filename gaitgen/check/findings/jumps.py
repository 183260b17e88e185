"""Where frames are missing: the body goes on over its planted feet, or all joints turn, too far."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.findings.counted import counted, is_whole, surely_lost
from gaitgen.check.findings.neighbours import SAME_DEG
from gaitgen.check.findings.retimed import gaps, swaps
from gaitgen.check.seen import Seen
from gaitgen.gait.tempo import GRAVITY_M_S2

Array = npt.NDArray[np.float64]

STEP_M = 1e-6  # a body that goes less far in a frame stays
NEAR = 3  # steps on both sides that a jump is held against
BESIDE = 3  # rows from frames that are held or swapped, within which a gap comes of these
FEWEST_FEET = 2  # that have to stand, to tell that the body goes too far over them in a step
ITSELF = 0.5  # of what it goes too far over its feet, a body that travels goes too far in the world
TELLS, LEAST_STEP = 10.0, 0.01  # deviations of noise, and hip heights: shorter steps do not tell
EVEN = 0.3  # frames: where one is missing, the body goes on over its feet by nearly a whole one


@lru_cache(maxsize=1)  # asked for by several findings of one clip
def lost(seen: Seen) -> tuple[tuple[int, int, int], ...]:
    """Return (row, frames at least, at most) where some are missing after a row, by what body and joints do.

    Where the body goes on evenly over feet that stand, none is missing, however sharply joints turn: an
    animal that lands on all feet at once folds as a whole from one frame to the next.
    """
    held = np.flatnonzero(np.abs(np.diff(seen.motion.file.rows, axis=0)).max(axis=1) < SAME_DEG)
    others = np.array([*held.tolist(), *(swap.row for swap in swaps(seen))])
    found = list[int]()
    even = _goes_on_evenly(seen) | _flies_evenly(seen) | _travels_evenly(seen)
    out_of_time = [gap.row for gap in gaps(seen) if gap.row not in even]
    for row in (*surely_lost(seen), *(row for row, _ in jumps(seen)), *out_of_time):
        apart = np.abs(others - row)
        if seen.loop.closes:
            apart = np.minimum(apart, seen.loop.frames - apart)
        comes_of = (apart <= BESIDE).any()
        if not comes_of and not is_whole(seen, row) and not any(abs(row - other) <= 1 for other in found):
            found.append(row)
    return tuple((row, *counted(seen, row)) for row in sorted(found))


def jumps(seen: Seen) -> list[tuple[int, float]]:
    """Return (row, frames) where the body goes on over its planted feet by more than a frame's step."""
    if seen.gait is None and not seen.feet.stances:
        return []
    on, size = _over_feet(seen)
    if size < STEP_M:
        return []
    farthest = _is_farthest(on)
    on[np.isfinite(on).sum(axis=1) < FEWEST_FEET] = 0.0
    extra = np.nanmedian(on, axis=1)
    extra = extra - _usual(extra)
    spread = np.nanmax(on, axis=1) - np.nanmin(on, axis=1)
    sigma = float(np.hypot(seen.noise.toe_m[:, 0].max(), 0.0)) * np.sqrt(2.0) / size
    past = seen.limits["jump"].top + 5.0 * sigma
    beside = np.pad(extra, 1)
    alone = extra > 2.0 * np.maximum(beside[:-2], beside[2:])  # a body that surges does so for some steps
    alone &= np.minimum(beside[:-2], beside[2:]) > -0.5 * extra  # a frame that pops goes there and back
    alone &= farthest & (extra > 2.0 * np.quantile(np.maximum(extra, 0.0), 0.8))
    if (
        not seen.feet.in_place
    ):  # the body itself leaps over a gap; feet that do not stand slide under any body
        own = np.linalg.norm(np.diff(seen.motion.root_m[:, :2], axis=0), axis=1) / size
        alone &= own - _usual(own) > ITSELF * extra
    alike = spread < 0.5 * np.abs(extra) + 0.3 + 5.0 * sigma
    return [(int(row), float(extra[row])) for row in np.flatnonzero((extra > past) & alike & alone)]


def _over_feet(seen: Seen) -> tuple[Array, float]:
    """Return by how many frames too many the body goes on over each planted foot in each step.

    Returns
    -------
    on
        (steps, 4); nan for a foot that does not stand. [frames]
    step_m
        How far the body goes in a frame, on the whole. [m]
    """
    planted = seen.feet.planted[:-1] & seen.feet.planted[1:]
    beside = np.pad(planted, ((1, 1), (0, 0)))
    planted &= beside[:-2] | beside[2:]  # a foot that stands for one step alone does not tell
    steps = np.diff(seen.motion.toes_m[..., :2] - seen.motion.root_m[:, None, :2], axis=0)  # (steps, 4, 2)
    step = -seen.feet.body_m_s * seen.motion.file.frame_time_s
    size = float(np.linalg.norm(step))
    on = (steps @ step) / max(size, STEP_M) ** 2 - 1.0
    return np.where(planted, on, np.nan), size


def _is_farthest(on: Array) -> npt.NDArray[np.bool_]:
    """Tell in which steps the body goes farther over its feet than in those beside, be it over one foot.

    On the way up or down of a surge it does not, however steep that is: a body that hardly travels rocks over
    its feet by more than a step of its travel.
    """
    middle = np.full(len(on), -np.inf)
    known = np.isfinite(on).any(axis=1)
    middle[known] = np.nanmedian(on[known], axis=1)
    beside = np.pad(middle, 1, constant_values=-np.inf)
    return np.asarray(middle > np.maximum(beside[:-2], beside[2:]))


def _goes_on_evenly(seen: Seen) -> set[int]:
    """Rows after which the body goes on over planted feet by a frame's step and no more."""
    on, size = _over_feet(seen)
    if size < STEP_M:
        return set()
    rows = np.flatnonzero(np.isfinite(on).any(axis=1))
    return set(rows[np.nanmedian(on[rows], axis=1) < EVEN].tolist()) if rows.size else set()


def _flies_evenly(seen: Seen) -> set[int]:
    """Rows between which no foot stands, after which the body rises or falls by a frame's step and no more.

    Gravity changes that step by as much in each frame, so that it is the mean of the two beside it, and over
    a missing frame twice that. Where the body hardly rises or falls, at the top, that does not tell.
    """
    planted, height = seen.feet.planted, seen.motion.root_m[:, 2]
    rows = seen.loop.frames if seen.loop.closes else len(height) - 1
    around = np.arange(-1, 3) + np.arange(rows)[:, None]  # (rows, 4): two rows before a gap, two after it
    around = around % rows if seen.loop.closes else np.clip(around, 0, rows)
    steps = np.diff(height[around], axis=1)  # (rows, 3)
    mean = (steps[:, 0] + steps[:, 2]) / 2.0
    tells = np.abs(mean) > GRAVITY_M_S2 * seen.motion.file.frame_time_s**2
    flies = ~(planted[around[:, 1]] & planted[around[:, 2]]).any(axis=1)
    is_even = np.abs(steps[:, 1] - mean) < EVEN * np.abs(mean)
    return set(np.flatnonzero(flies & tells & is_even).tolist())


def _travels_evenly(seen: Seen) -> set[int]:
    """Rows after which a body that travels goes on by a frame's step and no more, on its feet or not."""
    steps = np.linalg.norm(np.diff(seen.motion.root_m[:, :2], axis=0), axis=1)
    if seen.feet.in_place or len(steps) < NEAR:
        return set()
    beside = np.pad(steps, 1, mode="edge")
    mean = (beside[:-2] + beside[2:]) / 2.0
    goes = mean > TELLS * seen.noise.root_m + LEAST_STEP * seen.motion.hip_height_m
    return set(np.flatnonzero(goes & (steps < (1.0 + EVEN) * mean)).tolist())


def _usual(extra: Array) -> Array:
    """Middle of the steps around each one, so that a body that surges smoothly does not jump."""
    wide = np.pad(extra, NEAR, mode="edge")
    around = np.lib.stride_tricks.sliding_window_view(wide, 2 * NEAR + 1)
    return np.asarray(np.maximum(np.median(np.delete(around, NEAR, axis=1), axis=1), 0.0))
