"""A passage with two marks: what is left of it after the first goes on at a speed of its own."""

from __future__ import annotations

import math
from dataclasses import replace

from gaitgen.gait.request import Request
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.draft import Draft, Laid, owners_of
from gaitgen.shot.timeline import Timeline

# Strides of a passage that the change of speed takes, and by how much the speeds are apart before the second
# is looked for, so that they are two.
CHANGES, APART = 3, 1e-4


def split(draft: Draft, laid: tuple[Timeline, tuple[Laid, ...]], row: int, cycle: Cycle) -> Draft | None:
    """Cut the passage that counts at a frame after the stride in which that is; None where it is too short.

    Parameters
    ----------
    draft, laid
        The shot, and that laid out.
    row
        The frame, from 0.
    cycle
        That of the passage.
    """
    timeline, items = laid
    owners = owners_of(items)
    piece = next((p for p in timeline.pieces if p.kind == "steady" and p.first - 1 <= row <= p.after), None)
    if piece is None:
        return None
    number = owners[piece.cycles[0]]
    part = draft.parts[number]
    before = math.ceil(max(row - piece.first, 0) / cycle.frames)
    left = part.strides - before - CHANGES
    if part.asked is None or part.jump is not None or left < 0:
        return None
    asked: Request = replace(
        cycle.settled.asked, speed_m_s=(1.0 + APART) * cycle.speed_m_s, froude=None, stride_length_m=None
    )
    halves = (
        replace(part, strides=before),
        replace(part, asked=asked, strides=left, within=None, is_rest=True),
    )
    return replace(draft, parts=(*draft.parts[:number], *halves, *draft.parts[number + 1 :]))
