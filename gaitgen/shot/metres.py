"""Passages that are to go so many metres: as many strides as that takes along their path, on their ground."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import copysign

import numpy as np

from gaitgen.errors import Notice
from gaitgen.shot.draft import Draft, Laid, owners_of
from gaitgen.shot.section import JUMP
from gaitgen.shot.timeline import Timeline

Laying = tuple[Timeline, tuple[Laid, ...]]
Spans = dict[int, tuple[float, float]]

ROUNDS = 8  # strides are counted anew so often at the most; two or three times are enough as a rule
# What is farther off than such a share of a stride can be nearer with another number of them; it is told
# where it is so by more than numbers are rounded.
NEAREST, ROUNDED = 0.5, 0.01
LEAST_M = 1e-6  # of a stride where an animal stands, which is no length


def metres_met(draft: Draft, lay: Callable[[Draft], Laying]) -> Draft:
    """Give each passage that is to go so far the number of strides with which it comes nearest to that.

    One after the other: how far strides go depends on what has been before them. Strides that are shorter
    for a slope, for steps or for a hard bend count as they are.

    Parameters
    ----------
    draft
        Counted on level ground, straight ahead.
    lay
        How to lay a draft out on its way.
    """
    for number, part in enumerate(draft.parts):
        if part.distance_m is not None:
            draft = _counted(draft, number, part.distance_m, lay)
    return draft


def _counted(draft: Draft, number: int, asked_m: float, lay: Callable[[Draft], Laying]) -> Draft:
    """Find the strides of one passage, from those it has on."""
    tried: dict[int, tuple[float, Draft]] = {}
    strides = draft.parts[number].strides
    while strides not in tried and len(tried) < ROUNDS:
        now = draft.with_part(number, replace(draft.parts[number], strides=strides))
        timeline, laid = lay(now)
        first, after = spans_of(now, laid, timeline)[number]
        off_m = asked_m - _gone_m(timeline, first, after)
        tried[strides] = abs(off_m), now
        off = off_m / _stride_m(timeline, after)
        if abs(off) <= NEAREST:
            break
        strides = max(strides + (round(off) or int(copysign(1.0, off))), 0)
    return min(tried.values(), key=lambda each: each[0])[1]


def spans_of(draft: Draft, laid: tuple[Laid, ...], timeline: Timeline) -> Spans:
    """Return from which frame to which each passage goes by itself, by its number from 0. [frames]

    A passage that goes on as the one before it has the later strides of what is one part of the timeline.
    """
    owners, found = owners_of(laid), Spans()
    for piece in timeline.pieces:
        if piece.kind not in {"steady", JUMP}:
            continue
        number = owners[piece.cycles[0]]
        if number in found:
            found[number] = found[number][0], float(piece.after)
            continue
        frame = np.arange(piece.first, piece.after + 1, dtype=np.float64)
        own, cycle = piece.own_frame(frame), timeline.cycles[piece.cycles[0]]
        at, gone = float(piece.first), 0
        for before in _joined(draft, number, owners):
            gone += draft.parts[before].strides * cycle.frames
            ends = float(np.interp(gone, own, frame))
            found[before] = at, ends
            at = ends
        found[number] = at, float(piece.after)
    return found


def _joined(draft: Draft, number: int, owners: list[int]) -> list[int]:
    """Return the passages just before one that have no cycle of their own, as it goes on as they do."""
    first = number
    while first > 0 and draft.parts[first - 1].asked is not None and first - 1 not in owners:
        first -= 1
    return list(range(first, number))


def metres_notices(draft: Draft, laid: tuple[Laid, ...], timeline: Timeline, why: str) -> tuple[Notice, ...]:
    """Say which passages do not go as far as they are to, how far they go, and what to write.

    Parameters
    ----------
    draft, laid, timeline
        The shot as it is.
    why
        What its strides are for, and what to write, with {:.2f} for how far a passage goes. [m]
    """
    found, spans = [], spans_of(draft, laid, timeline)
    for number, part in enumerate(draft.parts):
        if part.distance_m is None or part.is_rest:
            continue
        last = number
        while last + 1 < len(draft.parts) and draft.parts[last + 1].is_rest:
            last += 1
        first, after = spans[number][0], spans[last][1]
        gone_m = _gone_m(timeline, first, after)
        if abs(gone_m - part.distance_m) <= (NEAREST + ROUNDED) * _stride_m(timeline, after):
            continue
        name, asked = draft.name_of(number), f"{part.distance_m:g}"
        text = f"{name} goes {gone_m:.2f} m, and not the {asked} m of its distance, {why.format(gone_m)}."
        found.append(Notice("passage", text))
    return tuple(found)


def _gone_m(timeline: Timeline, first: float, after: float) -> float:
    """Return how far the body goes from one frame to another. [m]"""
    ends = timeline.pace.distance_m(np.array([first, after]) / timeline.frame_rate_hz)
    return float(ends[1] - ends[0])


def _stride_m(timeline: Timeline, frame: float) -> float:
    """Return the length of a stride as it is at a frame. [m]"""
    row = min(int(np.searchsorted(timeline.frame, frame)), timeline.frame.size - 1)
    cycle = timeline.cycles[int(timeline.going.share[row].argmax())]
    speed = float(timeline.pace.distance_m(np.array(frame / timeline.frame_rate_hz), 1))
    return max(speed * cycle.frames / timeline.frame_rate_hz, LEAST_M)
