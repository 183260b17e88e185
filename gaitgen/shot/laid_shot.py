"""A shot that is laid out, and its timeline, before any body is carried over it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.errors import Notice
from gaitgen.shot.asked import NO_KEY, Mark, WayKey
from gaitgen.shot.items import Item
from gaitgen.shot.laying import lay_timeline
from gaitgen.shot.placing import balanced
from gaitgen.shot.timeline import Pin, Timeline


@dataclass(frozen=True, eq=False)
class Shot:
    """A shot that is laid out: who goes how, along what, over what.

    Attributes
    ----------
    items
        Sections, halts and turns on the spot in order.
    frame_rate_hz
        Frames per second. [Hz]
    start_m, heading_rad, pieces
        As of a Path, whose distance 0 is under the body in frame 1.
    ground
        The ground.
    pins
        Feet that stand on spots.
    marks
        What has to be where, when.
    notices
        What was changed for its marks.
    timed_along
        The path that its strides are timed for; None for its own.
    way_key
        What says where the path leads, for messages.
    keeps_pace
        Whether marks or jumps rest on its strides, so that none is fitted to treads or slows round a bend.
    """

    items: tuple[Item, ...]
    frame_rate_hz: float
    pieces: tuple[tuple[float, float], ...] = ((float("inf"), 0.0),)
    start_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    ground: Ground = FLAT
    pins: tuple[Pin, ...] = ()
    marks: tuple[Mark, ...] = ()
    notices: tuple[Notice, ...] = ()
    timed_along: Path | None = None
    way_key: WayKey = NO_KEY
    keeps_pace: bool = False

    @property
    def way(self) -> Path:
        """Its path, at no pace yet."""
        return Path(self.start_m, self.heading_rad, self.pieces)


@dataclass(frozen=True, eq=False)
class LaidShot:
    """A shot on its timeline.

    Attributes
    ----------
    shot
        What is laid.
    timeline, path
        As it is counted, before any foot is moved for its leg to reach.
    """

    shot: Shot
    timeline: Timeline
    path: Path

    @classmethod
    def of(cls, shot: Shot) -> LaidShot:
        """Lay a shot."""
        way = shot.way
        timeline = lay_timeline(
            shot.items,
            shot.frame_rate_hz,
            way,
            shot.ground,
            shot.timed_along,
            keeps_pace=shot.keeps_pace,
        )
        return cls(shot, timeline, replace(way, pace=timeline.pace, spins=timeline.spins))

    @cached_property
    def balanced(self) -> Timeline:
        """The timeline with feet moved to where their legs reach as far to the front as to the rear."""
        return balanced(self.timeline, self.path, self.shot.ground)
