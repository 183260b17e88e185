"""Where each foot of a shot lands on ground with edges: found over all its stances at once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.sole import ROOM_M, footholds
from gaitgen.shot.flights import edges_along
from gaitgen.shot.timeline import Timeline, soles_of

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# A sole with a greater gap under it looks for a better place, and with such a one it hangs over. [m]
ROUGH_M, OVER_M = 1e-3, 0.015
# It looks so far ahead and behind, in hip heights, in so many steps (estimates).
LOOKS, LOOK_STEPS = 0.16, 33
# What a place costs: a way of so many hip heights costs 1, and as much a step that is by that longer or
# shorter than it would be, a gap of so much, and so much of the room that a sole likes to have to an edge, in
# hip heights; a gap that it hangs over costs so much more than all those (estimates).
WAY, STEP, GAP_M, ROOM, EDGE, OVER = 0.1, 0.1, 0.03, 0.3, 0.5, 30.0


def trodden(timeline: Timeline, path: Path, ground: Ground, free: Bools) -> Timeline:
    """Move feet to where their soles lie well, and steps stay nearest to what they are.

    Parameters
    ----------
    timeline, path, ground
        The shot.
    free
        (stances,) which feet may move for the sake of others, or of more room; those whose soles would not
        lie flat move all the same. Feet that stand at a halt do too: on stairs no animal stands square.
    """
    if ground.is_even:
        return timeline
    laid, hip_m = timeline.stances, timeline.cycles[0].animal.hip_height_m
    ahead = np.linspace(-LOOKS, LOOKS, LOOK_STEPS) * hip_m
    costs = _costs(timeline, path, ground, ahead, free)
    moved = np.zeros(laid.limb.size)
    for limb in np.unique(laid.limb):
        mine = np.flatnonzero(laid.limb == limb)
        moved[mine] = ahead[cheapest(costs[:, mine], ahead / (STEP * hip_m))]
    stances = replace(laid, along_m=laid.along_m + moved, moved=laid.moved | (moved != 0.0))
    return replace(timeline, stances=stances)


def _costs(timeline: Timeline, path: Path, ground: Ground, ahead: Array, free: Bools) -> Array:
    """Return what each place costs each foot, (looks, stances); infinity where it may not go."""
    laid, animal = timeline.stances, timeline.cycles[0].animal
    along = laid.along_m + ahead[:, None]
    aside = np.broadcast_to(laid.aside_m, along.shape)
    place, heading = path.beside(along, aside, laid.when / timeline.frame_rate_hz)
    soles = soles_of(animal, laid.limb)
    rough = footholds(ground, place, heading, soles, ROOM_M).rough_m
    rough = np.where(np.isfinite(rough), rough, np.inf)
    ways, gaps = (ahead / (WAY * animal.hip_height_m)) ** 2, (np.maximum(rough - ROUGH_M, 0.0) / GAP_M) ** 2
    room = ROOM * animal.hip_height_m
    centre = along - (soles.toe_m + soles.heel_m) / 2.0
    edges, _ = edges_along(ground, path, float(centre.min()) - room, float(centre.max()) + room)
    near = EDGE * (_off_m(centre, edges, room) / room) ** 2
    costs = ways[:, None] + gaps + near + OVER * (rough > OVER_M)
    here = ahead.size // 2
    stays = ~free & (rough[here] <= ROUGH_M)
    costs[:, stays] = np.inf
    costs[here, stays | ~np.isfinite(costs).any(axis=0)] = 0.0
    return np.asarray(costs)


def _off_m(place: Array, edges: Array, room_m: float) -> Array:
    """Tell how far places are from having so much room to edges, or as much as a tread has: (...). [m]"""
    known = np.concatenate([[-np.inf], edges, [np.inf]])
    after = np.searchsorted(edges, place, side="right") + 1
    before_m, after_m = place - known[after - 1], known[after] - place
    half = np.minimum((before_m + after_m) / 2.0, room_m)
    return np.asarray(np.maximum(half - np.minimum(before_m, after_m), 0.0))


def cheapest(costs: Array, ahead: Array) -> Ints:
    """Return the places (stances,) of one foot that cost least, changes of its steps counted: a shortest way.

    Parameters
    ----------
    costs
        (looks, stances) of places.
    ahead
        (looks,) how far ahead they are, in what costs 1 as a change of a step.
    """
    change = (ahead[:, None] - ahead) ** 2  # (to, from)
    whole, came = costs[:, 0], np.zeros(costs.shape, dtype=np.int64)
    for number in range(1, costs.shape[1]):
        ways = change + whole
        came[:, number] = ways.argmin(axis=1)
        whole = costs[:, number] + ways.min(axis=1)
    found = np.empty(costs.shape[1], dtype=np.int64)
    found[-1] = whole.argmin()
    for number in range(costs.shape[1] - 1, 0, -1):
        found[number - 1] = came[found[number], number]
    return found
