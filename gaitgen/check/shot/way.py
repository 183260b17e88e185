"""The way of a body over the ground: where it turns, where it goes up and down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.shot.ground import FoundGround
from gaitgen.check.tracked import Tracked
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

TURN_DEG_S, LEAST_TURN_DEG = 3.0, 10.0  # slower and smaller turns are the body's sway
GRADE, LEAST_RISE = 0.015, 0.03  # of the way, and of the hip height: what is less is level
GAP_SHARE = 0.5  # of the time that is averaged over: two turns the same way nearer than this are one


@dataclass(frozen=True)
class Bend:
    """A turn.

    Attributes
    ----------
    first, last
        Rows.
    degrees
        To the left. [degrees]
    """

    first: int
    last: int
    degrees: float


@dataclass(frozen=True)
class Rise:
    """Ground that goes up or down.

    Attributes
    ----------
    first, last
        Rows.
    up_m, along_m
        How far. [m]
    """

    first: int
    last: int
    up_m: float
    along_m: float


@dataclass(frozen=True, eq=False)
class Way:
    """The way of a body.

    Attributes
    ----------
    heading_rad
        (frames,) of the body, without the sway of a stride. [rad]
    level_m
        (frames, 2) of the root, without it. [m]
    bends, rises
        In order.
    """

    heading_rad: Array
    level_m: Array
    bends: tuple[Bend, ...]
    rises: tuple[Rise, ...]


def way_of(motion: Tracked, ground: FoundGround | None, stride_frames: float) -> Way:
    """Find the way of a body, averaged over strides of so many frames."""
    wide = max(1, round(stride_frames))
    heading = averaged(np.unwrap(motion.heading_rad), wide)
    level = averaged(motion.root_m[:, :2], wide)
    turning = np.degrees(np.gradient(heading)) / motion.file.frame_time_s
    bends = [
        Bend(first, last, float(np.degrees(heading[last] - heading[first])))
        for side in (1.0, -1.0)
        for first, last in _runs(side * turning > TURN_DEG_S, wide)
    ]
    rises: list[Rise] = []
    if ground is not None and not ground.is_level:
        height = averaged(ground.height_m(motion.root_m[:, :2], np.arange(motion.frames)), max(1, wide // 2))
        steps = np.linalg.norm(np.diff(level, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        pace = np.maximum(np.gradient(along), 1e-9)
        grade = np.where(pace > 0.1 * pace.max(), np.gradient(height) / pace, 0.0)
        rises = [
            Rise(first, last, float(height[last] - height[first]), float(along[last] - along[first]))
            for side in (1.0, -1.0)
            for first, last in _runs(side * grade > GRADE, wide)
        ]
    least = LEAST_RISE * motion.hip_height_m
    return Way(
        heading,
        level,
        tuple(sorted((b for b in bends if abs(b.degrees) > LEAST_TURN_DEG), key=lambda b: b.first)),
        tuple(sorted((r for r in rises if abs(r.up_m) > least), key=lambda r: r.first)),
    )


def _runs(flags: npt.NDArray[np.bool_], wide: int) -> list[tuple[int, int]]:
    """Return runs of rows; those that are near each other are one."""
    made: list[tuple[int, int]] = []
    for first, last in runs(flags):
        if made and first - made[-1][1] < GAP_SHARE * wide:
            made[-1] = (made[-1][0], last)
        else:
            made.append((first, last))
    return made


def averaged(values: Array, wide: int) -> Array:
    """Average curves (frames, ...) over so many frames around each, twice; at the ends they go on."""
    wide = min(wide, len(values) - 1)
    if wide < 2:
        return values
    before, after = wide // 2, (wide - 1) // 2
    kept = values.reshape(len(values), -1)
    for left, right in ((before, after), (after, before)):
        long = np.pad(kept, ((left, right), (0, 0)), mode="reflect", reflect_type="odd")
        kept = np.lib.stride_tricks.sliding_window_view(long, wide, axis=0).mean(axis=-1)
    return np.asarray(kept.reshape(values.shape))
