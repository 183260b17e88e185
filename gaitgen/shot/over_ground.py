"""How feet are led over uneven ground: over edges, each swing in the way that is easiest for its leg."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.course.path import Frames
from gaitgen.shot.clearing import Cleared, over_edges
from gaitgen.shot.easiest import WAYS, easiest
from gaitgen.shot.manner import Manner, manner
from gaitgen.shot.posing import Posed, pose
from gaitgen.shot.settling import Settled


def over_ground(over: Settled, level: Manner, frames: Frames) -> Manner:
    """Lead feet over uneven ground, from how they would go over ``level`` one.

    Swinging feet come up to their legs there, as in a run, and near edges each takes its easiest way.

    Parameters
    ----------
    over
        The shot, its body carried.
    level
        How feet go and joints bend over level ground.
    frames
        How the body goes along its path.
    """
    carrying, found = over.carrying, over.found
    timeline, ground, edged = carrying.timeline, carrying.ground, carrying.edged
    grid = timeline.grid

    def made_over(cleared: Cleared) -> Manner:
        own = level
        if edged:
            own = manner(
                timeline, carrying.state, found.carried, found.as_cycles, cleared.folds, lets_go=True
            )
        return replace(own, plan=cleared.plan, runs=np.ones_like(own.runs))

    def posed_over(cleared: Cleared) -> Posed:
        with np.errstate(invalid="ignore"):
            return pose(
                timeline,
                found.carried,
                made_over(cleared),
                found.as_cycles,
                ground,
                carrying.slope_rad,
                edged=edged,
                for_needs=np.arange(0, grid.count, timeline.per_frame),
            )

    ways = [
        over_edges(level.plan, frames, ground, grid, waits=edged, share=each)
        for each in (WAYS if edged else WAYS[:1])
    ]
    return made_over(easiest(timeline, ways, posed_over, frames, ground) if edged else ways[0])
