"""The blocking pass: few keys with slopes, whose cubic Hermite splines are the motion within a tolerance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import FileFormatError, Notice
from gaitgen.motion.extremes import extremes
from gaitgen.motion.hermite import spline_rows
from gaitgen.motion.key_landing import Asked, Kinks, Landing, kinked, landed
from gaitgen.motion.key_rows import PRICE, SLOPE_FREEDOM
from gaitgen.motion.motion import Motion
from gaitgen.motion.named_frames import named_frames, stride_rows

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# How far a straight piece may be from straight, in the unit of its channel.
STRAIGHT = 1e-9
# What a sparse key costs on named poses, and elsewhere; one less where the curve turns. Of as many keys those
# that cost less are taken.
WELCOME, UNWELCOME = PRICE, PRICE + 1.0
STILL = 1e-6  # a channel that moves less needs no keys; in its unit


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
    value, tangent_in, tangent_out
        (keys,) in the unit of the channel and in units per frame, before and after the key.
    poses
        Name of each named pose by its frame.
    tolerance, deviation
        (channels,) the largest asked for, and the largest reached, at any frame, in the unit of the channel.
    notices
        Poses that had to be moved.
    drift
        How far the splines take a planted toe off its way, at frames and between, where that was looked at;
        in the unit of the file.
    """

    names: tuple[str, ...]
    frames: int
    channel: Ints
    frame: Ints
    value: Array
    tangent_in: Array
    tangent_out: Array
    poses: Mapping[int, str]
    tolerance: Array
    deviation: Array
    notices: tuple[Notice, ...]
    drift: float | None = None

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.channel, self.frame, self.value, self.tangent_in, self.tangent_out):
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
        table, after, before = (np.zeros(is_key.shape) for _ in range(3))
        row = self.frame - 1
        is_key[row, self.channel] = True
        table[row, self.channel] = self.value
        after[row, self.channel], before[row, self.channel] = self.tangent_out, self.tangent_in
        still = self.count < 2  # no key is rest, one key holds its value
        table[:, still] = table[:, still].sum(axis=0)
        is_key[[0, -1]] |= still
        return spline_rows(table, after, is_key, steps, before)


def choose_keys(
    clip: Motion,
    names: tuple[str, ...],
    table: Array,
    tolerance: Array,
    *,
    is_straight: Bools | None = None,
    straight_slope: Array | None = None,
    slope_freedom: float = SLOPE_FREEDOM,
    landing: Landing | None = None,
    kinks: Kinks | None = None,
    is_sparse: bool = False,
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
    landing
        Tangents of a cycle where its feet land.
    kinks
        The same of a clip without a period.
    is_sparse
        As few keys as the tolerance allows: none on a channel that rests, one on a channel that is still, and
        on the others at both ends, at landings, and where it takes them, on turns of the curve and contacts
        first; not on every named pose.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    refuse_not_finite(names, table)
    poses, notices = named_frames(clip)
    stride = stride_rows(clip)
    rows = clip.frames if stride is None else stride + 1
    part = table[:rows]
    named_rows = [frame - 1 for frame in poses if frame <= rows]
    is_named = np.zeros(part.shape, dtype=np.bool_)
    is_named[[0, -1] if is_sparse else named_rows] = True
    held = np.full(part.shape, np.nan)
    if is_straight is not None and straight_slope is not None:
        is_named, held = _straight_pieces(part, is_named, is_straight[:rows], straight_slope)
    if landing is not None and landing.needed is not None:
        channels = np.flatnonzero(landing.needed >= 0)
        is_named = is_named.copy()
        is_named[landing.needed[channels], channels] = True
        is_named[-1] |= is_named[0]
    allowed = np.broadcast_to(tolerance, table.shape)
    prices = _prices(part, named_rows, is_closed=stride is not None) if is_sparse else None
    asked = Asked(part, allowed[:rows], is_named, held, slope_freedom, prices)
    if kinks is not None and stride is None:
        is_key, after, before = kinked(asked, kinks)
    elif landing is None or stride is None:
        is_key, after = asked.fitted(is_closed=stride is not None)
        before = after
    else:
        is_key, after, before = landed(asked, landing)
    if is_sparse:
        is_key = _without_still_ones(part, is_key)
    if stride is not None:
        turns = (clip.frames - 1) // stride
        is_key, after, before = (
            np.concatenate([np.tile(each[:-1], (turns, 1)), each[-1:]]) for each in (is_key, after, before)
        )
    channel, row = np.nonzero(is_key.T)
    keys = Keys(
        names=names,
        frames=clip.frames,
        channel=channel.astype(np.int64),
        frame=row.astype(np.int64) + 1,
        value=table[row, channel],
        tangent_in=before[row, channel],
        tangent_out=after[row, channel],
        poses=poses,
        tolerance=allowed.max(axis=0),
        deviation=np.zeros(len(names)),
        notices=notices,
    )
    return replace(keys, deviation=np.abs(keys.played() - table).max(axis=0))


def _prices(table: Array, named_rows: list[int], *, is_closed: bool) -> Array:
    """Price of a key on each row: cheaper where the curve turns, and on named poses, such as contacts."""
    prices = np.full(table.shape, UNWELCOME)
    prices[named_rows] = WELCOME
    for channel, curve in enumerate(table.T):
        around = curve[:-1] if is_closed else curve
        prices[[found.row for found in extremes(around, is_closed=is_closed)], channel] = WELCOME - 1.0
    return prices


def _without_still_ones(table: Array, is_key: Bools) -> Bools:
    """Leave one key to channels that stand still, and none to those that rest at zero."""
    still = np.ptp(table, axis=0) < STILL
    is_key = is_key.copy()
    is_key[:, still] = False
    is_key[0, still & (np.abs(table[0]) >= STILL)] = True
    return is_key


def refuse_not_finite(names: tuple[str, ...], table: Array) -> None:
    """Refuse curves (frames, channels) with a number that is none.

    Raises
    ------
    FileFormatError
        With the first one's channel and frame.
    """
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
