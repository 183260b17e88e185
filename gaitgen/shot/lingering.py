"""Which strides of a shot take longer than those of their cycles: round bends and, of a trot, up slopes.

A passage goes the same way in them, as much more slowly, and is its cycle again, on whole frames, where its
path is straight and level.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
import numpy.typing as npt

from gaitgen.body.under import felt_slope
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.gait.gait import Gait
from gaitgen.shot.items import Item
from gaitgen.shot.laying import lay_timeline
from gaitgen.shot.own_time import Linger, Lingers
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import Section
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Round a bend strides take longer at walk and trot (horses on circles of 10 m: Sensors 2023, 23:4232,
# abstract): by such a share of withers height over radius, up to so much (estimates).
LONGER_IN_BENDS, LONGEST_IN_BENDS = 0.08, 0.05
# Up a slope those of a trot do (horses at 4 m/s up 6 %: Sloet van Oldruitenborgh-Oosterbaan et al. 1997,
# abstract), by such a share of it; those of gaits with a lead are quicker on what is steeper than LEVEL (at
# 10 m/s up 8 %, and not up 4 %: 2024, PMC11178216, abstract); both up to so much (estimates).
LONGER_UP, QUICKER_UP, LEVEL, MOST_UP = 0.35, 0.25, 0.04, 0.04
# Steps of a trot that take a frame more and a frame less by turns throw the trunk up by a third more, as if
# it were lame (measured), so that its strides are longer by two frames or none: by two that are such a share
# of them where one would do (estimate).
MOST_FOR_TWO = 0.07
LEAST = 1e-4  # a smaller share is none


def lingering(items: tuple[Item, ...], frame_rate_hz: float, path: Path, ground: Ground) -> tuple[Item, ...]:
    """Let strides take longer, or less long, where the path of their passage bends and climbs.

    Parameters
    ----------
    items
        Sections, halts and turns on the spot in order.
    frame_rate_hz
        Frames per second. [Hz]
    path, ground
        Where they lead.
    """
    if ground == FLAT and path.is_straight:
        return items
    timeline = lay_timeline(items, frame_rate_hz, path, ground)
    way = replace(path, spins=timeline.spins)
    steady = (piece for piece in timeline.pieces if piece.kind == "steady")
    found: list[Item] = []
    for item in items:
        if not isinstance(item, Section):
            found.append(item)
            continue
        made = tuple(_lingers(timeline, p, way, ground) for p in islice(steady, len(item.cycles)))
        found.append(replace(item, lingers=made) if any(made) else item)
    return tuple(found)


def _lingers(timeline: Timeline, piece: Piece, path: Path, ground: Ground) -> Lingers:
    """Find where strides of a passage take longer, each place of its way by itself."""
    cycle = timeline.cycles[piece.cycles[0]]
    moment_s = np.arange(piece.first, piece.after + 1) / timeline.frame_rate_hz
    along = timeline.pace.distance_m(moment_s)
    inside = timeline.pace.distance_m(np.array([0.0, timeline.frames / timeline.frame_rate_hz]))
    slope = np.zeros(along.size)
    if not ground.has_steps:
        slope = felt_slope(cycle.animal, path, ground, along, (float(inside[0]), float(inside[1])), moment_s)
    bend = np.abs(path.at(along)[2]) * cycle.animal.withers_height_m
    longer = longer_share(cycle.gait, bend, slope)
    is_even = not (cycle.gait.walks or cycle.gait.has_lead)
    return _whole(longer, cycle.frames, (along.size - 1) // cycle.frames, is_even=is_even)


def _whole(longer: Array, frames: int, strides: int, *, is_even: bool) -> Lingers:
    """Let strides take longer by whole frames, all alike in a row of them, so that each lands as the last.

    The first and the last of a row come into it, and out of it.

    Parameters
    ----------
    longer
        By which share at each frame of a passage.
    frames, strides
        Length of a stride, and how many there are.
    is_even
        Whether both its steps are to take as long.
    """
    each = longer[: strides * frames].reshape(strides, frames)
    edges = np.diff(np.concatenate([[False], (np.abs(each) > LEAST).any(axis=1), [False]]).astype(np.int64))
    found: list[Linger] = []
    gone = 0
    for first, after in zip(np.flatnonzero(edges > 0), np.flatnonzero(edges < 0), strict=True):
        count = int(after - first)
        more = _more_frames(float(each[first:after].mean()), frames, is_even=is_even) * (count - 1)
        if more:
            begins = int(first) * frames + gone
            found.append(Linger(float(begins), float(begins + count * frames + more), more, float(frames)))
            gone += more
    return tuple(found)


def _more_frames(share: float, frames: int, *, is_even: bool) -> int:
    """Return by how many whole frames a stride takes longer by about such a share."""
    if not is_even:
        return round(share * frames)
    more = 2 * round(share * frames / 2.0)
    return 2 if more == 0 and round(share * frames) > 0 and MOST_FOR_TWO * frames >= 2 else more


def longer_share(gait: Gait, bend: Array, slope: Array) -> Array:
    """Return by which share strides take longer, (samples,).

    Parameters
    ----------
    gait
        The gait.
    bend
        (samples,) withers height over the radius of the path.
    slope
        (samples,) rise over run, along the path.
    """
    if gait.has_lead:
        return np.asarray(-np.clip(QUICKER_UP * (slope - LEVEL), 0.0, MOST_UP))
    longer = np.minimum(LONGER_IN_BENDS * bend, LONGEST_IN_BENDS)
    if gait.walks:
        return np.asarray(longer)
    return np.asarray(longer + np.clip(LONGER_UP * slope, 0.0, MOST_UP))
