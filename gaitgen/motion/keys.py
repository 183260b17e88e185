"""The blocking pass: few keys with slopes, whose cubic Hermite splines are the motion within a tolerance."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import FileFormatError, Notice
from gaitgen.motion.hermite import spline_rows
from gaitgen.motion.key_fit import fit_keys
from gaitgen.motion.key_rows import SLOPE_FREEDOM
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# How far a straight piece may be from straight, in the unit of its channel.
STRAIGHT = 1e-9


@dataclass(frozen=True, eq=False)
class Keys:
    """The keys of all channels, channel after channel and in order of frame.

    Attributes
    ----------
    names
        Name of each channel.
    frames
        Length of the clip. [frames]
    channel
        (keys,) index into ``names``.
    frame
        (keys,) frame, counted from 1.
    value, slope_in, slope_out
        (keys,) in the unit of the channel and in units per frame, before and after the key.
    poses
        Name of each named pose by its frame.
    tolerance, deviation
        (channels,) the largest asked for, and the largest reached, at any frame, in the unit of the channel.
    notices
        Poses that had to be moved.
    """

    names: tuple[str, ...]
    frames: int
    channel: Ints
    frame: Ints
    value: Array
    slope_in: Array
    slope_out: Array
    poses: Mapping[int, str]
    tolerance: Array
    deviation: Array
    notices: tuple[Notice, ...]

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.channel, self.frame, self.value, self.slope_in, self.slope_out):
            array.setflags(write=False)
        self.tolerance.setflags(write=False)
        self.deviation.setflags(write=False)

    @property
    def count(self) -> Ints:
        """Number of keys of each channel, (channels,)."""
        return np.asarray(np.bincount(self.channel, minlength=len(self.names)), dtype=np.int64)

    def played(self, steps: int = 1) -> Array:
        """Evaluate the splines, in the unit of each channel.

        Returns
        -------
        (frames, channels) at every frame; with more than one step from frame to frame between frames
        too, ((frames - 1) * steps + 1, channels).
        """
        is_key = np.zeros((self.frames, len(self.names)), dtype=np.bool_)
        table, slopes = np.zeros(is_key.shape), np.zeros(is_key.shape)
        row = self.frame - 1
        is_key[row, self.channel] = True
        table[row, self.channel], slopes[row, self.channel] = self.value, self.slope_out
        return spline_rows(table, slopes, is_key, steps)


def stride_rows(clip: Motion) -> int | None:
    """Return the length of a stride in rows if the clip is whole strides of a cycle, else None."""
    if clip.steps.period_s is None:
        return None
    exact = clip.steps.period_s * clip.frame_rate_hz
    rows = round(exact)
    if rows < 1 or abs(exact - rows) > 1e-6 or clip.frames == 1 or (clip.frames - 1) % rows:
        return None
    return rows


def pose_frames(clip: Motion) -> list[tuple[float, str]]:
    """Return the named poses of all strides in order, as (frame from 1, name); frames may be fractions."""
    poses = [(pose.frame, pose.name) for pose in clip.key_poses if 1.0 <= pose.frame <= clip.frames]
    stride = stride_rows(clip)
    if stride is None:
        return sorted(poses)
    first = {round((frame - 1.0) % stride, 6): name for frame, name in reversed(poses)}
    turns = range((clip.frames - 1) // stride)
    repeated = [(turn * stride + place + 1.0, name) for turn in turns for place, name in first.items()]
    if 0.0 in first:
        repeated.append((float(clip.frames), first[0.0]))
    return sorted(repeated)


def named_frames(clip: Motion) -> tuple[dict[int, str], tuple[Notice, ...]]:
    """Put every named pose on a whole frame, half frames on the later one; say which ones were moved."""
    poses: dict[int, str] = {}
    moved = []
    for exact, name in pose_frames(clip):
        frame = min(math.floor(exact + 0.5 + 1e-9), clip.frames)
        poses[frame] = f"{poses[frame]}; {name}" if frame in poses else name
        if abs(exact - frame) > 1e-6:
            moved.append(f"{exact:g} to {frame}")
    if not moved:
        return poses, ()
    shown = ", ".join(moved[:8]) + (f" and {len(moved) - 8} more" if len(moved) > 8 else "")
    text = f"keys are on whole frames, so these poses move: frame {shown}; 8 x n frames a stride avoid that."
    return poses, (Notice("keys", text),)


def choose_keys(
    clip: Motion,
    names: tuple[str, ...],
    table: Array,
    tolerance: Array,
    *,
    is_straight: Bools | None = None,
    straight_slope: Array | None = None,
    slope_freedom: float = SLOPE_FREEDOM,
) -> Keys:
    """Choose the keys of some curves of a clip: the named poses, both ends, and as few more as it takes.

    In a cycle the keys of the first stride are repeated, so all strides are alike.

    Parameters
    ----------
    clip
        The motion that the curves belong to.
    names
        Name of each channel.
    table
        (frames, channels) the curves.
    tolerance
        (channels,) or (frames, channels) in the unit of each channel.
    is_straight
        (frames, channels) where the curve runs exactly straight, such as a planted foot on the belt. Each
        such piece has keys at both ends, and all its keys have the slope of the line.
    straight_slope
        (channels,) slope of those pieces. [unit per frame]
    slope_freedom
        How many tolerances per frame a slope may differ from the curve's own.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    _refuse_not_finite(names, table)
    poses, notices = named_frames(clip)
    stride = stride_rows(clip)
    rows = clip.frames if stride is None else stride + 1
    part = table[:rows]
    is_named = np.zeros(part.shape, dtype=np.bool_)
    is_named[[frame - 1 for frame in poses if frame <= rows]] = True
    held = np.full(part.shape, np.nan)
    if is_straight is not None and straight_slope is not None:
        is_named, held = _straight_pieces(part, is_named, is_straight[:rows], straight_slope)
    allowed = np.broadcast_to(tolerance, table.shape)
    is_key, slopes = fit_keys(
        part, allowed[:rows], is_named, held, is_closed=stride is not None, slope_freedom=slope_freedom
    )
    if stride is not None:
        turns = (clip.frames - 1) // stride
        is_key = np.concatenate([np.tile(is_key[:-1], (turns, 1)), is_key[-1:]])
        slopes = np.concatenate([np.tile(slopes[:-1], (turns, 1)), slopes[-1:]])
    deviation = np.abs(spline_rows(table, slopes, is_key) - table).max(axis=0)
    channel, row = np.nonzero(is_key.T)
    slope = slopes[row, channel]
    return Keys(
        names=names,
        frames=clip.frames,
        channel=channel.astype(np.int64),
        frame=row.astype(np.int64) + 1,
        value=table[row, channel],
        slope_in=slope,
        slope_out=slope.copy(),
        poses=poses,
        tolerance=allowed.max(axis=0),
        deviation=deviation,
        notices=notices,
    )


def _refuse_not_finite(names: tuple[str, ...], table: Array) -> None:
    bad = np.argwhere(~np.isfinite(table))
    if bad.size:
        row, column = (int(i) for i in bad[0])
        message = (
            f"{names[column]} is {float(table[row, column])!r} at frame {row + 1}; "
            "keys need finite numbers, so check the motion of that channel"
        )
        raise FileFormatError(message)


def _straight_pieces(table: Array, is_named: Bools, is_straight: Bools, slope: Array) -> tuple[Bools, Array]:
    """Key both ends of every straight piece and hold the slope of all keys in it."""
    step = np.abs(np.diff(table, axis=0) - slope) < STRAIGHT * np.maximum(1.0, np.abs(slope))
    linear = is_straight[1:] & is_straight[:-1] & step  # (rows - 1, channels) from a row to the next
    outside = np.zeros_like(linear[:1])
    after = np.concatenate([linear, outside])
    before = np.concatenate([outside, linear])
    return is_named | (before != after), np.where(before | after, slope, np.nan)
