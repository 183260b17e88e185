"""Sections and halts one after the other as a timeline."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.course.spin import Spin
from gaitgen.shot.bend_slowing import round_bends
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.down_longer import longer_down
from gaitgen.shot.flights import Striding
from gaitgen.shot.items import Halt, Item, cycles_of
from gaitgen.shot.jump import LaidLeap, Leap
from gaitgen.shot.laid_stances import StanceLaying
from gaitgen.shot.on_the_spot import PIVOTS, TurnOnSpot
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import JUMP, SETTLE_S, SHIFT_S, STYLE, Going, Section
from gaitgen.shot.slowing import slowed
from gaitgen.shot.timeline import Timeline, easing

Array = npt.NDArray[np.float64]

# Samples a second, at least, on which rhythm and pace are followed and the body is solved.
RATE_HZ = 96.0
# What is laid out before the first frame and after the last, in strides and at least in seconds, and what of
# it is solved, so that nothing begins with the clip.
BEFORE_STRIDES, BEFORE_S = 4.5, 2.5


def lay_timeline(
    items: tuple[Item, ...],
    frame_rate_hz: float,
    path: Path,
    ground: Ground,
    timed_along: Path | None = None,
    *,
    keeps_pace: bool = False,
) -> Timeline:
    """Lay sections and halts out one after the other, frame 0 at the start of the first.

    The pace of the path is not used: its own is what is found. Feet are down for as long as along another
    path, if they are ``timed_along`` that. Strides take whole treads of steps, and trots slow down round hard
    bends, unless the shot ``keeps_pace`` since marks or jumps rest on that.
    """
    per_frame = max(1, round(RATE_HZ / frame_rate_hz))
    longest = max(cycle.frames for item in items for cycle in cycles_of(item))
    before = int(np.ceil(max(BEFORE_S * frame_rate_hz, BEFORE_STRIDES * longest)))
    frames = sum(item.frames for item in items)
    frame = np.arange(-before * per_frame, (frames + before) * per_frame + 1) / per_frame
    cycles, pieces, going = _rhythm(items, frame, frame_rate_hz)
    share = going.share
    level = Pace(frame / frame_rate_hz, going.speed_m_s)
    spins = _spins(items, level)
    end_s = frames / frame_rate_hz
    striding = Striding(not keeps_pace, going.count, going.down, cycles, share, frame_rate_hz)
    is_trot = [not (keeps_pace or cycle.gait.walks or cycle.gait.has_lead) for cycle in cycles]
    trots = share @ np.array(is_trot, dtype=np.float64)
    for _ in range(1 + len(spins)):  # where the body turns on the spot is where it has slowed down to
        wide = slowed(level, replace(path, spins=spins), ground, end_s, striding)
        pace = round_bends(wide, path, trots)
        spins = _spins(items, pace)
    timed = pace
    if timed_along is not None:
        timed = slowed(level, replace(timed_along, spins=spins), ground, end_s, striding)
        timed = round_bends(timed, timed_along, trots)
    longer = longer_down(cycles, share, timed, replace(timed_along or path, spins=spins), ground, end_s)
    laid = StanceLaying(items, cycles, pieces, level, pace, frame_rate_hz, frame, share, longer)
    return Timeline(
        frame_rate_hz,
        per_frame,
        frames,
        frame,
        pieces,
        cycles,
        replace(going, speed_m_s=pace.speed_m_s),
        level,
        wide,
        pace,
        laid.stances(),
        spins,
        _leaps(items),
    )


def _rhythm(
    items: tuple[Item, ...], frame: Array, frame_rate_hz: float
) -> tuple[tuple[Cycle, ...], tuple[Piece, ...], Going]:
    """Follow strides, feet that are down, speed and cycles through items one after the other, (samples,)."""
    cycles: list[Cycle] = []
    pieces: list[Piece] = []
    count, down = np.zeros((frame.size, 4)), np.ones((frame.size, 4))
    speed = np.zeros(frame.size)
    total = sum(len(cycles_of(item)) for item in items)
    share = np.zeros((frame.size, total))
    at = 0
    for k, item in enumerate(items):
        first = -np.inf if k == 0 else at
        after = np.inf if k == len(items) - 1 else at + item.frames
        here = (frame >= first) & (frame < after)
        if isinstance(item, Halt):
            known = max(len(cycles) - 1, 0)
            pieces.append(Piece("stand", at, at + item.frames, (known, known)))
            share[here, known] = 1.0
        elif isinstance(item, TurnOnSpot):
            goes_on = bool(pieces) and pieces[-1].kind in PIVOTS and cycles[-1] is item.cycle
            known = len(cycles) - goes_on
            pieces.append(Piece(item.kind, at, at + item.frames, (known, known)))
            share[here, known] = 1.0
            count[here] = (frame[here, None] - at) / item.cycle.frames
            cycles += [item.cycle] * (not goes_on)
        else:
            going = item.course(frame[here] - at)
            columns = slice(len(cycles), len(cycles) + len(item.cycles))
            count[here], down[here], speed[here] = going.count, going.down, going.speed_m_s
            share[here, columns] = going.share
            pieces += [_moved(piece, at, len(cycles)) for piece in item.pieces]
            cycles += [cycle for cycle, _ in item.cycles]
        at += item.frames
    share = _handed_over(share[:, : len(cycles)], pieces, frame, frame_rate_hz)
    return tuple(cycles), tuple(pieces), Going(count, down, speed, share)


def _moved(piece: Piece, frames: int, cycles: int) -> Piece:
    """Move a part of a section to where that is in a shot, and count its cycles from those before it."""
    first, after = piece.cycles
    numbers = first + cycles, after + cycles
    return replace(piece, first=piece.first + frames, after=piece.after + frames, cycles=numbers)


def _handed_over(share: Array, pieces: list[Piece], frame: Array, frame_rate_hz: float) -> Array:
    """Let the manner of one cycle go over into that of the next while the animal stands between them.

    It does so from when the last foot has landed until the first leaves again, (samples, cycles).
    """
    share = share.copy()
    for piece, following in pairwise(pieces):
        before, after = piece.cycles[1], following.cycles[0]
        if before == after:
            continue
        stands_at = piece.first if piece.kind == "stand" else piece.after
        span = stands_at - SETTLE_S * frame_rate_hz, following.first + SHIFT_S * frame_rate_hz
        here = (frame > span[0]) & (frame < span[1])
        share[here, after] = easing(frame[here], span)
        share[here, before] = 1.0 - share[here, after]
    return share


def _leaps(items: tuple[Item, ...]) -> tuple[LaidLeap, ...]:
    """Find the jumps, and when they begin."""
    found, at = [], 0
    for item in items:
        if isinstance(item, Section):
            begins = [piece.first for piece in item.pieces if piece.kind in {"change", JUMP, STYLE}]
            found += [
                LaidLeap(at + first, each)
                for first, each in zip(begins, item.changes, strict=True)
                if isinstance(each, Leap)
            ]
        at += item.frames
    return tuple(found)


def _spins(items: tuple[Item, ...], pace: Pace) -> tuple[Spin, ...]:
    """Find the turns on the spot, and where along the path they are."""
    found, at = [], 0
    for item in items:
        if isinstance(item, TurnOnSpot):
            found.append(item.spin(at, float(pace.distance_m(np.array(at / item.frame_rate_hz)))))
        at += item.frames
    return tuple(found)
