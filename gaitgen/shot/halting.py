"""The halts of a shot that is laid out: which of them a mark is for, and when the animal rests there."""

from __future__ import annotations

import numpy as np

from gaitgen.course.path import Path
from gaitgen.errors import RequestError
from gaitgen.shot.asked import Mark
from gaitgen.shot.draft import Laid
from gaitgen.shot.draft_layout import Laying
from gaitgen.shot.section import Section


def rest_row(laid: tuple[Laid, ...], last: int) -> int:
    """Return the frame, from 0, from which the animal stands after a passage, by its number."""
    at = 0
    for each in laid:
        at += each.item.frames
        if last in each.owners:
            return at
    return at


def rest_m(laying: Laying, last: int) -> float:
    """Return how far along its path the body is as it rests after a passage. [m]"""
    timeline, laid = laying
    return float(timeline.pace.distance_m(np.array(rest_row(laid, last) / timeline.frame_rate_hz)))


def halt_for(mark: Mark, laying: Laying, after: tuple[int, int], path: Path) -> int:
    """Find the passage after which the animal halts nearest to a mark.

    ``after`` are the first passage that may be it, and a frame, from 0, after which one before may be too.

    Raises
    ------
    RequestError
        If there is no halt from there on, with the line of the mark.
    """
    timeline, laid = laying
    halts = [each.owners[-1] for each in laid if isinstance(each.item, Section) and each.item.halts]
    halts = [last for last in halts if last >= after[0] or rest_row(laid, last) > after[1]]
    if not halts:
        raise RequestError(
            f"{mark.where}: halt is true, and no halt comes after the mark before it; add a passage with "
            'halt = 24, or end = "stand"'
        )
    moments = np.array([rest_row(laid, last) for last in halts]) / timeline.frame_rate_hz
    places, _, _ = path.at(timeline.pace.distance_m(moments), moments)
    return halts[int(np.argmin(np.linalg.norm(places - np.array(mark.place_m), axis=1)))]
