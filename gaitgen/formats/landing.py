"""Tangents of legs where a foot lands and leaves, between frames too.

A foot that lands stops at once, so the joints of its leg turn another way from one frame to the next. A curve
with one slope there is millimetres off its print half a frame later. So the slope after the contact, and the
one before the lift-off, are those with which the toe stays on its way between frames: Newton's method on the
places of the toe, damped least squares over the channels of that leg alone, each as far as it moves anyhow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import own_slopes
from gaitgen.motion.key_landing import Landing
from gaitgen.motion.keys import STILL
from gaitgen.motion.motion import Motion
from gaitgen.motion.named_frames import stride_rows
from gaitgen.motion.toes import ToeFinder

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

SHARES = np.array([0.25, 0.5, 0.75])  # of a frame, where the toe is looked at
ROUNDS = 3
STANCE_ROUNDS, STANCE_DAMPING = 3, 1e-3
DAMPING = 1e-3  # of the mean square that a channel moves the toe
WHOLE = 1e-6  # of a frame


@dataclass(frozen=True, eq=False)
class _Events:
    """Contacts and lift-offs on whole frames.

    Attributes
    ----------
    limb, row
        (events,) row of LIMBS; row of the stride.
    first
        (events,) first row of the frame that the foot is down after the contact, or before the lift-off.
    is_contact
        (events,)
    """

    limb: Ints
    row: Ints
    first: Ints
    is_contact: Bools


def find_landing(
    clip: Motion, table: Array, toes: Array, feet: ToeFinder, legs: list[Ints]
) -> Landing | None:
    """Work out the tangents of a cycle where its feet land and leave; None for a clip that is none.

    Parameters
    ----------
    clip
        The motion.
    table
        (frames, channels) of its file.
    toes
        (frames, 4, 3) where that puts the toes.
    feet
        Finds the toes.
    legs
        Channels of each limb.
    """
    stride = stride_rows(clip)
    if stride is None:
        return None
    part = table[: stride + 1]
    own = own_slopes(part, is_closed=True)
    events = _events(clip, stride)
    after, before = own.copy(), own.copy()  # tangents after and before each row
    ways = _ways(toes, events)
    for _ in range(ROUNDS if events.limb.size else 0):
        step = _steps(part, after, before, events, legs, ways, feet)
        for k in range(events.limb.size):  # eight at most
            channels = legs[events.limb[k]]
            ahead = after if events.is_contact[k] else before
            ahead[events.row[k], channels] -= step[k][: channels.size]
            ahead[[0, -1]] = ahead[0] if events.row[k] == 0 else ahead[[0, -1]]
    row = np.zeros(part.shape[1], dtype=np.int64)
    out = np.full(part.shape[1], np.nan)
    for limb, contact in zip(events.limb[events.is_contact], events.row[events.is_contact], strict=True):
        row[legs[limb]], out[legs[limb]] = contact, after[contact, legs[limb]]
    return Landing(row, out, before)


def along_stances(clip: Motion, table: Array, feet: ToeFinder, legs: list[Ints], landing: Landing) -> Landing:
    """Work out the tangents of legs on all rows of their stances, for keys on every one of them.

    In cycles of few frames a curve's own slopes take a planted toe millimetres off its way between frames.

    Parameters
    ----------
    clip, table, feet, legs
        As in `find_landing`.
    landing
        What that found.
    """
    stride = stride_rows(clip)
    if stride is None:
        return landing
    part, events = table[: stride + 1], _events(clip, stride)
    after, before = landing.own.copy(), landing.own.copy()
    lands = np.flatnonzero(~np.isnan(landing.after))
    after[landing.row[lands], lands] = landing.after[lands]
    out, needed = landing.after.copy(), np.full(part.shape[1], -1, dtype=np.int64)
    for limb in range(len(LIMBS)):
        own = events.limb == limb
        contact, lift = events.row[own & events.is_contact], events.row[own & ~events.is_contact]
        if contact.size != 1 or lift.size != 1 or not legs[limb].size:
            continue
        count = int((lift[0] - contact[0] - 1) % stride) + 2
        rows = (contact[0] + np.arange(count)) % stride
        stance = _Stance(part, limb, legs[limb], rows, feet)
        for _ in range(STANCE_ROUNDS):
            step = stance.steps(after, before)
            after[rows[:-1, None], legs[limb]] -= step[:-1]
            before[rows[1:, None], legs[limb]] -= step[1:]
            after[-1], before[-1] = after[0], before[0]
        out[legs[limb]], needed[legs[limb]] = after[contact[0], legs[limb]], lift[0]
    return Landing(landing.row, out, before, needed)


@dataclass(frozen=True, eq=False)
class _Stance:
    """One stance of a foot in a stride (rows, channels).

    Attributes
    ----------
    table, limb, channels, feet
        The stride; the foot, the channels of its leg, and what finds it.
    rows
        Rows of the stance, from contact to lift-off.
    """

    table: Array
    limb: int
    channels: Ints
    rows: Ints
    feet: ToeFinder

    def steps(self, after: Array, before: Array) -> Array:
        """Find how much smaller tangents of the leg are to be, (rows of the stance, channels of the leg)."""
        first, own = self.rows[:-1], self.channels
        pieces, count = first.size, own.size
        start, end = self.table[first], self.table[first + 1]
        middle = _between(start, end, after[first], before[first + 1])  # (pieces, shares, channels)
        ends = self.feet.toes(np.concatenate([start, end]))[:, self.limb].reshape(2, pieces, 1, 3)
        ways = ends[0] + SHARES[:, None] * (ends[1] - ends[0])
        rows = middle.reshape(-1, middle.shape[-1])
        legs = [own if limb == self.limb else own[:0] for limb in range(len(LIMBS))]
        toes, slopes = self.feet.each_toe_and_slopes(np.broadcast_to(rows, (len(LIMBS), *rows.shape)), legs)
        places = toes[:, self.limb].reshape(pieces, SHARES.size, 3)
        reach = np.ptp(self.table[:, own], axis=0)
        slope = np.moveaxis(slopes[self.limb], 0, 2).reshape(*places.shape, count) * reach
        lever = np.zeros((pieces, SHARES.size, 3, pieces + 1, count))
        at = np.arange(pieces)
        lever[at, :, :, at] = slope * (SHARES * (1.0 - SHARES) ** 2)[:, None, None]
        lever[at, :, :, at + 1] = slope * (-(SHARES**2) * (1.0 - SHARES))[:, None, None]
        flat = lever.reshape(pieces * SHARES.size * 3, -1)
        square = flat @ flat.T
        size = np.trace(square) / len(square)
        damped = square + (STANCE_DAMPING * size + 1e-12) * np.eye(len(square))
        found = flat.T @ np.linalg.solve(damped, (places - ways).ravel())
        return np.asarray(reach * found.reshape(pieces + 1, count))


def _events(clip: Motion, stride: int) -> _Events:
    """Find contacts and lift-offs of feet that stand once a stride, on whole frames."""
    steps = clip.steps
    alone = np.bincount(steps.limb, minlength=len(LIMBS))[steps.limb] == 1
    limb, row, first, is_contact = [], [], [], []
    for moments, lands in ((steps.touchdown_s, True), (steps.liftoff_s, False)):
        frame = moments * clip.frame_rate_hz
        for k in np.flatnonzero(alone & (np.abs(frame - np.rint(frame)) < WHOLE)):
            at = int(np.rint(frame[k])) % stride
            limb.append(int(steps.limb[k]))
            row.append(at)
            first.append(at if lands else (at - 1) % stride)
            is_contact.append(lands)
    return _Events(
        np.array(limb, dtype=np.int64),
        np.array(row, dtype=np.int64),
        np.array(first, dtype=np.int64),
        np.array(is_contact, dtype=np.bool_),
    )


def legs_of(table: Array, feet: ToeFinder) -> list[Ints]:
    """Channels that move one toe and no other, and are not still, for each limb."""
    alone = np.eye(len(LIMBS), dtype=np.bool_)
    moves = feet.toes_and_levers(np.repeat(table[:1], len(LIMBS), axis=0), alone)[1] > 0.0
    own = (moves.sum(axis=0) == 1) & (np.ptp(table, axis=0) > STILL)
    return [np.flatnonzero(moves[k] & own) for k in range(len(LIMBS))]


def _ways(toes: Array, events: _Events) -> Array:
    """Lead the toe of each event straight through its frame, (events, shares, 3)."""
    start, end = toes[events.first, events.limb][:, None], toes[events.first + 1, events.limb][:, None]
    return np.asarray(start + SHARES[:, None] * (end - start))


def _steps(
    table: Array,
    after: Array,
    before: Array,
    events: _Events,
    legs: list[Ints],
    ways: Array,
    feet: ToeFinder,
) -> Array:
    """Find by how much the tangents of each event are to be smaller, (events, channels of a leg)."""
    most = max(channels.size for channels in legs)
    count, first, limb = events.limb.size, events.first, events.limb
    rows = _between(table[first], table[first + 1], after[first], before[first + 1])  # (events, shares, chs)
    looked = np.zeros((len(LIMBS), 2, SHARES.size, table.shape[1]))  # at contact and lift-off of each
    lifts = np.where(events.is_contact, 0, 1)
    looked[limb, lifts] = rows
    toes, slopes = feet.each_toe_and_slopes(looked.reshape(len(LIMBS), -1, table.shape[1]), legs)
    away = toes.reshape(2, SHARES.size, len(LIMBS), 3)[lifts, :, limb] - ways
    slope = np.zeros((count, most, SHARES.size, 3))
    reach = np.zeros((count, most))  # how far each channel moves in the stride
    for k in range(count):  # eight at most
        own = legs[limb[k]]
        slope[k, : own.size] = slopes[limb[k]].reshape(own.size, 2, SHARES.size, 3)[:, lifts[k]]
        reach[k, : own.size] = np.ptp(table[:, own], axis=0)
    weight = np.where(events.is_contact[:, None], SHARES * (1.0 - SHARES) ** 2, -(SHARES**2) * (1.0 - SHARES))
    slope = (slope * weight[:, None, :, None]).reshape(count, most, -1) * reach[..., None]
    square = np.swapaxes(slope, 1, 2) @ slope  # (events, places, places)
    size = np.trace(square, axis1=1, axis2=2)[:, None, None] / square.shape[1]
    damped = square + (DAMPING * size + 1e-12) * np.eye(square.shape[1])
    return np.asarray(reach * (slope @ np.linalg.solve(damped, away.reshape(count, -1, 1)))[..., 0])


def _between(start: Array, end: Array, after: Array, before: Array) -> Array:
    """Evaluate the piece of a frame at SHARES, (events, shares, channels)."""
    t = SHARES[:, None]
    start, end, after, before = (each[:, None] for each in (start, end, after, before))
    rise = t * t * (3.0 - 2.0 * t)
    return np.asarray(start + rise * (end - start) + t * (1.0 - t) ** 2 * after - t * t * (1.0 - t) * before)
