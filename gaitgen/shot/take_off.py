"""Puts a jump into the passage in which the body comes to its obstacle."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from gaitgen.errors import RequestError
from gaitgen.shot.draft import Draft
from gaitgen.shot.draft_layout import DraftLayout, Laying
from gaitgen.shot.jump import STRIDES, Obstacle, too_high

LEAST_BEFORE = 1  # strides of a passage before a jump in it
RATHER_SLOWER = 0.2  # it comes to a jump in one stride more if more than this of one is left (estimate)


def over_m(laying: Laying) -> float:
    """Return how far the body has gone where it is over the last obstacle that is in a draft. [m]"""
    timeline, _ = laying
    return timeline.leaps[-1].over_m(timeline.pace)


def with_jump(draft: Draft, obstacle: Obstacle, layout: DraftLayout, first: int) -> tuple[Draft, int]:
    """Give a jump the stride of the canter that comes nearest to its obstacle.

    Parameters
    ----------
    draft
        Without the jump.
    obstacle
        What is jumped.
    layout
        What lays the draft out.
    first
        The first passage that is free for it.

    Returns
    -------
    tuple
        The draft with the jump, and the number of its passage.

    Raises
    ------
    GaitgenError
        If the jump is too high, or in no canter or gallop, or not on the way; all of that, with its lines.
    """
    timeline, _ = layout.lay(draft)
    said, allowed = too_high(timeline.cycles[0].animal, obstacle)
    try:
        found = _placed(draft, allowed, layout, first)
    except RequestError as fault:
        said.append(str(fault))
    if said:
        raise RequestError("; and ".join(said))
    return found


def _placed(draft: Draft, obstacle: Obstacle, layout: DraftLayout, first: int) -> tuple[Draft, int]:
    """Find its passage and its stride, or say what is needed for one; as `with_jump`."""
    timeline, _ = layout.lay(draft)
    end_m = float(timeline.pace.distance_m(np.array(timeline.frames / timeline.frame_rate_hz)))
    at = f"{obstacle.where.at}: "
    if obstacle.at_m >= end_m:
        raise RequestError(
            f"{at}at is {obstacle.at_m:g}, and the shot ends at {end_m:.2f} m; give it "
            "nearer, or its passages more strides"
        )
    number = layout.passage_at(draft, gone_m=obstacle.at_m)
    part, cycle = draft.parts[number], layout.cycle(draft, number)
    if not cycle.gait.jumps:
        raise RequestError(
            f"{at}at is {obstacle.at_m:g}, in passage {number + 1}, "
            f"{cycle.gait.with_article}; an obstacle is jumped in a canter: put one there"
        )
    if part.jump is not None or number < first:
        raise RequestError(
            f"{at}this is the second obstacle in passage {number + 1}; end the passage "
            "between them and begin another, with another speed or lead"
        )
    stride_m = cycle.speed_m_s * cycle.frames / timeline.frame_rate_hz
    early = draft.with_part(number, replace(part, jump=(0, obstacle)))
    over = over_m(layout.lay(early))
    before = _strides_before(obstacle.at_m - over, stride_m)
    if not LEAST_BEFORE <= before <= part.strides - STRIDES:
        at_m, needed = obstacle.at_m, before
        if before < LEAST_BEFORE:
            at_m = math.ceil(10.0 * (at_m + (LEAST_BEFORE - before) * stride_m)) / 10.0
            needed = _strides_before(at_m - over, stride_m)
        wanted = [f"at = {at_m:g}, or more"] if at_m != obstacle.at_m else []
        if needed + STRIDES > part.strides:
            wanted.append(f"the passage strides = {needed + STRIDES} or more")
        raise RequestError(
            f"{at}a jump needs {LEAST_BEFORE} stride before it and {STRIDES} for it in "
            f"passage {number + 1}, which has {part.strides}, {max(before, 0)} of them before it; "
            f"give {', and '.join(wanted)}"
        )
    return draft.with_part(number, replace(part, jump=(before, obstacle))), number


def _strides_before(way_m: float, stride_m: float) -> int:
    """Count the strides of the canter on the way to where a jump without any would be over. [m]"""
    return math.ceil(way_m / stride_m - RATHER_SLOWER)
