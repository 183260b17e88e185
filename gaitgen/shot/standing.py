"""When an animal stands: all its feet are down, and its body has come to rest."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.shot.timeline import Timeline

AROUND = ("halt", "stand", "start")  # pieces of which any part may be standing
# A body that goes along its way by less than so many hip heights a second rests, and an animal stands if it
# does so for such a time: as whoever judges the clip has it (estimates). [hip heights/s], [s]
RESTS, LEAST_S = 0.14, 0.3


class Doing(NamedTuple):
    """What is done between two frames, from 0: the number of its piece, or None where it stands."""

    piece: int | None
    first: int
    after: int


def doings(timeline: Timeline) -> tuple[Doing, ...]:
    """Part a shot into what is done, in order: its pieces, but standing from the last foot down on.

    It stands until the first foot leaves, however long it takes to settle and to shift its weight. A turn on
    the spot is told as a whole, with both.
    """
    owner = np.full(timeline.frames, -1)
    for number, piece in enumerate(timeline.pieces):
        if piece.kind != "stand":
            owner[piece.first : piece.after] = number
    for first, last in stands(timeline):
        for piece in timeline.pieces:
            if piece.kind in AROUND:
                owner[max(first, piece.first) : max(min(last, piece.after), piece.first)] = -1
    cuts = [0, *(np.flatnonzero(np.diff(owner)) + 1).tolist(), timeline.frames]
    return tuple(
        Doing(None if owner[first] < 0 else int(owner[first]), first, after)
        for first, after in pairwise(cuts)
        if after > first
    )


def stands(timeline: Timeline) -> list[tuple[int, int]]:
    """Find where all feet are down and the body rests: first and last frame of each, from 0."""
    frame = np.arange(timeline.frames + 1)
    down = np.zeros((frame.size, 4), dtype=np.bool_)
    laid = timeline.stances
    for limb, touchdown, liftoff in zip(laid.limb, laid.touchdown, laid.liftoff, strict=True):
        down[(frame >= touchdown) & (frame <= liftoff), limb] = True
    rests_m_s = RESTS * timeline.cycles[0].animal.hip_height_m
    speed = timeline.pace.distance_m(frame / timeline.frame_rate_hz, 1)
    still = down.all(axis=1) & (np.abs(speed) < rests_m_s)
    return [each for each in _runs(still) if each[1] - each[0] >= LEAST_S * timeline.frame_rate_hz]


def _runs(true: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of each run of what is true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]]).astype(np.int8)))
    return [(int(first), int(after) - 1) for first, after in edges.reshape(-1, 2)]
