"""Marks: the speeds, strides and waits of a shot are changed until what has to be there is there.

What cannot be comes as near as the gaits allow, and a notice says how near.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.errors import Notice
from gaitgen.shot.asked import Mark
from gaitgen.shot.draft import Draft
from gaitgen.shot.draft_layout import DraftLayout
from gaitgen.shot.jump import Obstacle
from gaitgen.shot.meeting import Meeting
from gaitgen.shot.timeline import Pin


@dataclass(frozen=True, eq=False)
class Met:
    """A draft whose marks are met, the feet that stand on spots, and what was changed for it."""

    draft: Draft
    pins: tuple[Pin, ...] = ()
    notices: tuple[Notice, ...] = ()


def met(draft: Draft, marks: tuple[Mark, ...], path: Path, ground: Ground) -> Met:
    """Change speeds, strides and waits so that all marks are met, in order.

    Raises
    ------
    GaitgenError
        If a mark is after the end of the shot, or a halt is asked for where there is none; with its line.
    """
    meeting = Meeting(draft, DraftLayout(path, ground))
    for mark in marks:
        meeting.meet(mark)
    return Met(meeting.draft, tuple(meeting.pins), tuple(meeting.notices))


def jumped(draft: Draft, jumps: tuple[Obstacle, ...], path: Path, ground: Ground) -> Met:
    """Put jumps into their passages, and change speeds so that the take-off is right for each.

    Raises
    ------
    GaitgenError
        If a jump is too high, or in no canter or gallop, or not on the way; with its number.
    """
    meeting = Meeting(draft, DraftLayout(path, ground))
    for obstacle in jumps:
        meeting.jump(obstacle)
    return Met(meeting.draft, (), tuple(meeting.notices))
