"""Where the answer for each part of a shot comes from: its cycle, a stand, or a window that is solved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.shot.on_the_spot import PIVOTS
from gaitgen.shot.piece import Piece
from gaitgen.shot.rhythm import STEADY_STRIDES
from gaitgen.shot.section import JUMP, SHIFT_S, STYLE
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Strides that a window begins early and ends late; what is solved there is not used.
MARGIN_STRIDES, MARGIN_S = 1.25, 0.8
# Strides of one window, where a passage is long and not straight and level.
WINDOW_STRIDES = 4
# More than so many times that are cut where they are quick.
CROWDED = 2.0
LEAST_PLAIN = 3  # strides in a row that go straight ahead on level ground, for them to be their cycle
# So long an animal goes over from standing to moving, in what the balance finds. [s]
STAND_S = 0.35
# Places along the path at which it is looked whether it is straight and level. [m]
LOOK_M = 0.25


@dataclass(frozen=True, eq=False)
class Layer:
    """One answer, and from when on it counts; it counts until the next one does.

    Attributes
    ----------
    kind
        ``stand``, ``cycle``, ``cycles`` (two of them, as far as each counts) or ``window``.
    piece
        What of the timeline it is for.
    rises
        First and last moment of going over to it from the one before. [frames]
    span
        First and last moment of a window. [frames]
    """

    kind: str
    piece: Piece
    rises: tuple[float, float]
    span: tuple[float, float] = (0.0, 0.0)


def layers(timeline: Timeline, path: Path, ground: Ground) -> tuple[Layer, ...]:
    """Choose for each part of a shot where its answer comes from."""
    rate = timeline.frame_rate_hz
    found: list[Layer] = []
    for piece in timeline.pieces:
        before, after = (timeline.cycles[k].frames for k in piece.cycles)
        first, last = float(piece.first), float(piece.after)
        early = first + STEADY_STRIDES * before
        span = first - MARGIN_STRIDES * before, last + MARGIN_STRIDES * after
        if piece.kind == "stand":
            if is_level(ground, path, timeline, piece):
                found.append(Layer("stand", piece, (first - STAND_S * rate, first)))
            else:
                found.append(
                    Layer("window", piece, (first - STAND_S * rate, first), _around(piece, timeline))
                )
        elif piece.kind in PIVOTS:
            span = first - MARGIN_S * rate, last + MARGIN_S * rate
            found += _windows(piece, (first, first + SHIFT_S * rate), span, before)
        elif piece.kind == "start":
            span = first - MARGIN_S * rate, span[1]
            found += _windows(piece, (first, first + SHIFT_S * rate), span, after)
        elif piece.kind == "halt":
            span = span[0], last + MARGIN_S * rate
            found += _windows(piece, (first, early), span, before)
        elif piece.kind == JUMP:
            found.append(Layer("window", piece, (first, early), span))
        elif piece.kind == "change":
            found += _of_change(piece, (first, early), span, timeline)
        elif piece.kind == STYLE:
            found += _of_style(piece, is_plain(ground, path, timeline, piece), early, span, found)
        else:
            found += _steady(piece, timeline, path, ground, found)
    return tuple(found)


def _of_style(
    piece: Piece, plain: bool, early: float, span: tuple[float, float], earlier: list[Layer]
) -> list[Layer]:
    """Go from one cycle to another of its rhythm; at once where the one before is that cycle as it is."""
    first, stride = float(piece.first), early - piece.first
    if plain:
        as_it_is = bool(earlier) and earlier[-1].kind in {"cycle", "cycles"}
        return [Layer("cycles", piece, (first, first if as_it_is else early))]
    return _windows(piece, (first - stride, first), span, round(stride / STEADY_STRIDES))


def _steady(
    piece: Piece, timeline: Timeline, path: Path, ground: Ground, earlier: list[Layer]
) -> list[Layer]:
    """Take a passage as its cycle where it goes straight ahead on level ground, and solve the rest."""
    stride = timeline.cycles[piece.cycles[0]].frames
    over, margin = STEADY_STRIDES * stride, MARGIN_STRIDES * stride
    found = []
    for part, plain in _parts(piece, stride, timeline, path, ground):
        first, last = float(part.first), float(part.after)
        starts = part.first == piece.first
        if plain:
            rises = (first - over, first) if starts else (first, first + over)
            if starts and earlier and earlier[-1].kind == "cycles":
                rises = first, first
            found.append(Layer("cycle", part, rises))
        else:
            found += _windows(part, (first - over, first), (first - over - margin, last + margin), stride)
    return found


def _parts(
    piece: Piece, stride: int, timeline: Timeline, path: Path, ground: Ground
) -> list[tuple[Piece, bool]]:
    """Cut a passage where it begins or ends to be plain, on whole strides; short plain parts are none."""
    strides = [replace(piece, first=a, after=b, lingers=()) for a, b in pairwise(_cuts(piece, stride))]
    strides = strides or [piece]

    def plain(each: Piece) -> bool:
        since, after = each.first - piece.first, each.after - piece.first
        lingers = any(one.first < after and one.after > since for one in piece.lingers)
        return not lingers and is_plain(ground, path, timeline, each)

    parts: list[tuple[Piece, bool]] = []
    for alike, group in groupby(strides, plain):
        run = list(group)
        whole = replace(run[0], after=run[-1].after)
        is_cycle = alike and (len(run) >= LEAST_PLAIN or len(run) == len(strides))
        if parts and parts[-1][1] == is_cycle:
            whole = replace(parts.pop()[0], after=whole.after)
        parts.append((whole, is_cycle))
    return parts


def _cuts(piece: Piece, stride: int) -> list[int]:
    """Return where the strides of a passage begin, and where its last one ends. [frames]"""
    frame = np.arange(piece.first, piece.after + 1)
    own = piece.own_frame(frame.astype(np.float64))
    count = round(float(own[-1]) / stride)
    return [round(each) for each in np.interp(stride * np.arange(count + 1), own, frame).tolist()]


def _around(piece: Piece, timeline: Timeline) -> tuple[float, float]:
    """Return a stand and a margin beside it that cuts no step: half of one would bear anything."""
    margin, laid = MARGIN_S * timeline.frame_rate_hz, timeline.stances
    first, last = piece.first - margin, piece.after + margin
    cut_early = (laid.touchdown < first) & (first < laid.liftoff) & (laid.liftoff < piece.first)
    cut_late = (piece.after < laid.touchdown) & (laid.touchdown < last) & (last < laid.liftoff)
    begins = laid.liftoff[cut_early].max(initial=first)
    return float(begins), float(laid.touchdown[cut_late].min(initial=last))


def _windows(piece: Piece, rises: tuple[float, float], span: tuple[float, float], stride: int) -> list[Layer]:
    """Cut a long piece into windows of a few strides, the first of which rises, and all of which span, so."""
    count = max(1, round((piece.after - piece.first) / (WINDOW_STRIDES * stride)))
    cuts = np.linspace(piece.first, piece.after, count + 1)
    margin, over = MARGIN_STRIDES * stride, STEADY_STRIDES * stride
    found = []
    for k, (cut, end) in enumerate(pairwise(cuts)):
        begins = span[0] if k == 0 else cut - over - margin
        ends = span[1] if k == count - 1 else end + margin
        found.append(Layer("window", piece, rises if k == 0 else (cut - over, cut), (begins, ends)))
    return found


def _of_change(
    piece: Piece, rises: tuple[float, float], span: tuple[float, float], timeline: Timeline
) -> list[Layer]:
    """Cut a change into windows of a few strides, as long as these are where it is.

    Where the one rhythm is much quicker than the other, windows of as many of the slower strides would hold
    so many of the quicker that the time they take grows with the cube of that.
    """
    longest = max(timeline.cycles[k].frames for k in piece.cycles)
    ends = np.searchsorted(timeline.frame, [piece.first, piece.after])
    strides = timeline.going.count[ends[0] : ends[1] + 1].mean(axis=1)
    count = max(1, round((piece.after - piece.first) / (WINDOW_STRIDES * longest)))
    if strides[-1] - strides[0] <= CROWDED * WINDOW_STRIDES * count:
        return _windows(piece, rises, span, longest)
    count = round((strides[-1] - strides[0]) / WINDOW_STRIDES)
    moments = np.interp(
        np.linspace(strides[0], strides[-1], count + 1), strides, timeline.frame[ends[0] : ends[1] + 1]
    )
    cuts = [*np.round(moments[:-1]).tolist(), float(piece.after)]
    long = np.diff(cuts) / WINDOW_STRIDES
    found = []
    for k, (cut, end) in enumerate(pairwise(cuts)):
        stride = float(long[max(k - 1, 0) : k + 2].max())
        over, margin = STEADY_STRIDES * stride, MARGIN_STRIDES * stride
        begins = span[0] if k == 0 else cut - over - margin
        ends_at = span[1] if k == count - 1 else end + margin
        found.append(Layer("window", piece, rises if k == 0 else (cut - over, cut), (begins, ends_at)))
    return found


def under(timeline: Timeline, piece: Piece) -> tuple[float, float]:
    """How far along the path the body is at the start and the end of a piece. [m]"""
    ends = np.array([piece.first, piece.after]) / timeline.frame_rate_hz
    first, last = timeline.pace.distance_m(ends)
    return float(first), float(last)


def is_level(ground: Ground, path: Path, timeline: Timeline, piece: Piece) -> bool:
    """Tell whether the ground is level under a piece, a body's length before, after and beside it too."""
    if ground == FLAT:
        return True
    first, last = under(timeline, piece)
    room = timeline.cycles[0].animal.withers_height_m
    along = np.arange(first - room, last + room + LOOK_M, LOOK_M)
    place_m, heading_rad, _ = path.at(along)
    left = np.stack([-np.sin(heading_rad), np.cos(heading_rad)], axis=-1)
    beside_m = place_m + room * np.array([-1.0, 0.0, 1.0])[:, None, None] * left
    heights = ground.known_m(beside_m)  # beside the way there may be none
    return bool(np.isfinite(heights[1]).all() and np.nanmax(heights) - np.nanmin(heights) < 1e-9)


def is_plain(ground: Ground, path: Path, timeline: Timeline, piece: Piece) -> bool:
    """Tell whether a cycle repeats itself as it is: straight ahead on level ground, no foot elsewhere."""
    laid = timeline.stances
    touches = (laid.touchdown <= piece.after) & (laid.liftoff >= piece.first)
    if (laid.moved & touches).any():
        return False
    if not is_level(ground, path, timeline, piece):
        return False
    first, last = under(timeline, piece)
    room = timeline.cycles[0].animal.withers_height_m
    along = np.arange(first - room, last + room + LOOK_M, LOOK_M)
    return bool(np.all(path.at(along)[2] == 0.0))
