"""Feet of strides that are like no cycle are put where legs reach as far to the front as to the rear."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.body.trunk import posed_trunk
from gaitgen.body.under import body_frames
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.stance import stance_state
from gaitgen.limbs.reach import reach_for
from gaitgen.shot.bearing import borne
from gaitgen.shot.carriage import UNLIKE, Carriage, carriage
from gaitgen.shot.footing import near_edges
from gaitgen.shot.layers import layers
from gaitgen.shot.manner import Manner, manner
from gaitgen.shot.timeline import Timeline
from gaitgen.shot.treading import trodden

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

ROUNDS = 6
SHIFT_SHARE = 0.6  # of what early and late reach differ by
MIDDLE = 0.5 + 1e-6
# So far a foot is moved in all, in hip heights, at the most (estimate).
FARTHEST_HIP_HEIGHTS = 0.16
# Farther than in the cycles by this the trunk may sink before a foot leaves earlier; a frame is worth so
# much, and so many are taken, of a stance that keeps so many (estimates). [m], [frames]
SINKS_MORE_M, LATE_M = 0.01, 0.05
MOST_EARLIER, LEAST_DOWN = 2, 4
# On ground that is not even feet are moved so often, and keep at least so much of their stance (estimates).
UNEVEN_ROUNDS, LEAST_KEPT = 2, 0.75
# Once the body is known a foot that is out of reach by such a share of the hip height more than the trunk
# sinks in the cycles leaves as much earlier, and by so long at the most (estimates). [s]
MUCH_LATE, MOST_EARLIER_S = 0.05, 0.08


def balanced(timeline: Timeline, path: Path, ground: Ground) -> Timeline:
    """Move the feet of strides in which a rhythm changes along the path, so that their legs reach.

    Feet that stand at a halt, that start or come to one, and those of cycles, stay. A foot that would be down
    for longer than its leg reaches, farther than the trunk sinks in any cycle, leaves the ground a frame or
    two earlier. What the body does is found without what its parts need beside it.
    """
    found, late_m = _balanced(timeline, path, ground)
    frames = np.minimum(np.ceil(np.maximum(late_m, 0.0) / LATE_M), MOST_EARLIER)
    laid = timeline.stances
    frames = np.where(laid.liftoff - laid.touchdown - frames >= LEAST_DOWN, frames, 0.0)
    if not frames.any():
        return found
    earlier = replace(timeline, stances=replace(laid, liftoff=laid.liftoff - frames))
    return _balanced(earlier, path, ground)[0]


def _balanced(timeline: Timeline, path: Path, ground: Ground) -> tuple[Timeline, Array]:
    """Move the feet, and tell by how much each is out of reach late in its stance, (stances,). [m]"""
    held, along = _held(timeline, slowed=not ground.has_steps)
    timeline = replace(timeline, stances=replace(timeline.stances, along_m=along))
    free = ~held & _changes(timeline)
    if not free.any():
        return timeline, np.zeros(free.size)
    found = _reached(timeline, path, ground, free)
    along = timeline.stances.along_m + found.moved_m
    return replace(timeline, stances=replace(timeline.stances, along_m=along)), found.late_m


def placed_anew(timeline: Timeline, body: Carriage, made: Manner, far: Bools) -> Timeline | None:
    """Move feet of changes that legs do not reach once more, by the body as it is found with all it needs.

    One that is out of reach by much late in its stance, as the body goes on over it, leaves the ground
    earlier: stance distances hardly change with speed (horse: Back 1996).

    Parameters
    ----------
    timeline, body, made
        The shot, and what was found for it.
    far
        (pieces,) in which parts of it feet may move.

    Returns
    -------
    Timeline or None
        None where all reach, as far as the trunk sinks in the cycles.
    """
    laid, animal = timeline.stances, timeline.cycles[0].animal
    free = ~_held(timeline)[0] & ~laid.moved & _changes(timeline, far)
    if not free.any():
        return None
    much_m = MUCH_LATE * animal.hip_height_m
    found = _moved(timeline, free, body, made, much_m)
    misses = free & (found.missed_m > 0.0)
    if not misses.any():
        return None
    length, rate = laid.liftoff - laid.touchdown, timeline.frame_rate_hz
    own = np.min([cycle.down for cycle in timeline.cycles], axis=0)[laid.limb]
    most = np.minimum((1.0 - LEAST_KEPT) * length, np.ceil(MOST_EARLIER_S * rate))
    most = np.floor(np.clip(length - np.minimum(own, LEAST_DOWN), 0.0, most))
    earliest = np.where(misses & (found.late_m > much_m), laid.liftoff - most, laid.liftoff)
    liftoff = np.clip(np.floor(found.out_s * rate), earliest, laid.liftoff)
    along = laid.along_m + np.where(misses, found.moved_m, 0.0)
    return replace(timeline, stances=replace(laid, along_m=along, liftoff=liftoff))


def over_uneven(timeline: Timeline, path: Path, ground: Ground) -> Timeline:
    """Keep feet off edges of the ground, move those near them so that legs reach, and lift them in time.

    A foot on a lower step that its leg would have to reach for late in its stance leaves the ground before.
    """
    for number in range(UNEVEN_ROUNDS + 1):
        free = near_edges(timeline, path, ground) & _uneven(timeline, path, ground)
        if number == 0:
            timeline = trodden(timeline, path, ground, free)
            continue
        if not free.any():
            return timeline
        moved = _reached(timeline, path, ground, free).moved_m
        along = timeline.stances.along_m + moved
        timeline = replace(timeline, stances=replace(timeline.stances, along_m=along))
        timeline = trodden(timeline, path, ground, free)
    laid, rate = timeline.stances, timeline.frame_rate_hz
    out = np.floor(_reached(timeline, path, ground, free).out_s * rate)
    least = laid.touchdown + np.ceil(LEAST_KEPT * (laid.liftoff - laid.touchdown))
    liftoff = np.where(free, np.minimum(laid.liftoff, np.maximum(out, least)), laid.liftoff)
    return replace(timeline, stances=replace(laid, liftoff=liftoff))


def _uneven(timeline: Timeline, path: Path, ground: Ground) -> Bools:
    """Tell which stances are on no part of a cycle as it is, and in the clip: (stances,)."""
    laid = timeline.stances
    found = ~laid.stands & (laid.touchdown < timeline.frames) & (laid.liftoff > 0.0)
    for layer in layers(timeline, path, ground):
        if layer.kind == "cycle":
            found &= (laid.touchdown >= layer.piece.after) | (laid.liftoff <= layer.piece.first)
    return found


@dataclass(frozen=True, eq=False)
class Reached:
    """What legs ask of free stances, (stances,) each.

    Attributes
    ----------
    moved_m
        How far each is to move along the path. [m]
    missed_m, late_m
        By how much it is out of reach as it is, and late once it is moved, beyond what trunks sink in the
        cycles. [m]
    out_s
        From when on it is so late, and by some more; infinity where it is not. [s]
    """

    moved_m: Array
    missed_m: Array
    late_m: Array
    out_s: Array


def _reached(timeline: Timeline, path: Path, ground: Ground, free: Bools) -> Reached:
    """Find how far free feet are to move so that legs reach as far to the front as to the rear."""
    grid, animal = timeline.grid, timeline.cycles[0].animal
    steps = timeline.steps(path, ground)
    state = stance_state(steps, grid.time_s).seen(body_frames(animal, path, grid.time_s))
    body, as_cycles = carriage(timeline, steps, path, ground, changes_only=True)
    body = borne(timeline, body, state, path, ground, as_cycles)
    return _moved(timeline, free, body, manner(timeline, state, body, as_cycles))


def _moved(timeline: Timeline, free: Bools, body: Carriage, made: Manner, much_m: float = 0.0) -> Reached:
    """Find it under a body; feet are late from when on they are out of reach by so much more. [m]"""
    grid, rate, animal = timeline.grid, timeline.frame_rate_hz, timeline.cycles[0].animal
    state, share = made.plan.state, timeline.solved_share
    trunk = posed_trunk(animal, body.ends, body.back)
    feet = made.plan.rolling
    places = feet.joints_m
    rooms = [
        c.animal.tempo.room_share(c.frames / rate) * limb_numbers(c.animal, "path.landing_room_m")
        for c in timeline.cycles
    ]
    room = share @ np.array(rooms)
    moved = np.zeros(timeline.stances.limb.size)
    row = _rows(timeline, state.touchdown_s * rate)
    down, early = state.planted, state.stance_share < MIDDLE
    allowed = SINKS_MORE_M + np.array([c.solved.drop_m for c in timeline.cycles]).max(axis=0)  # chest, hips
    allowed = allowed[timeline.stances.limb // 2]
    late, missed = np.zeros(free.size), np.full(free.size, -np.inf)
    for number in range(ROUNDS):
        ahead = places.copy()
        ahead[..., 0] += np.where(down, moved[row], 0.0)
        short = reach_for(trunk, ahead, feet.goes, made.given).shortfall_m
        before = _largest(short + room, row, down & early, moved.size)
        behind = _largest(short, row, down & ~early, moved.size)
        late = np.where(free & np.isfinite(behind), behind - allowed, 0.0)
        if number == 0:
            missed = np.maximum(before, behind) - allowed
        seen = free & np.isfinite(before) & np.isfinite(behind)
        shift = np.where(seen, SHIFT_SHARE * (np.where(seen, behind, 0.0) - np.where(seen, before, 0.0)), 0.0)
        most = FARTHEST_HIP_HEIGHTS * animal.hip_height_m
        moved = np.clip(moved + shift, -most, most)
    out = down & ~early & (short > allowed[row] + much_m)
    time_s = np.broadcast_to(grid.time_s[:, None], out.shape)
    return Reached(moved, missed, late, -_largest(-time_s, row, out, moved.size))


def _changes(timeline: Timeline, some: Bools | None = None) -> Bools:
    """Tell which stances are wholly or in part in a change of rhythm, or in ``some`` of them: (stances,)."""
    laid = timeline.stances
    found = np.zeros(laid.limb.size, dtype=np.bool_)
    for number, piece in enumerate(timeline.pieces):
        if piece.kind in UNLIKE and (some is None or some[number]):
            found |= (laid.touchdown < piece.after) & (laid.liftoff > piece.first)
    return found


def _held(timeline: Timeline, *, slowed: bool = True) -> tuple[Bools, Array]:
    """Tell which stances are those of a cycle or of a halt, and where they are along the path: (stances,).

    A cycle's are all that touch the ground while it goes as it is, and those from which and to which a foot
    swings as it begins and ends, so that the poses there are the cycle's. What is ``slowed`` on a slope is as
    much nearer under the body; on steps it is not, as a foot that lands far ahead is over an edge sooner.
    """
    laid = timeline.stances
    held, along = laid.stands.copy(), laid.along_m.copy()
    for piece in timeline.pieces:
        if piece.kind != "steady":
            continue
        cycle = timeline.cycles[piece.cycles[0]]
        first = -np.inf if piece is timeline.pieces[0] else piece.first
        after = np.inf if piece is timeline.pieces[-1] else piece.after
        half_m = cycle.down / 2.0 * cycle.speed_m_s / timeline.frame_rate_hz
        for limb in range(half_m.size):
            mine = np.flatnonzero((laid.limb == limb) & ~laid.stands)
            touches = (laid.touchdown[mine] < after + 0.5) & (laid.liftoff[mine] > first - 0.5)
            inside = np.flatnonzero(touches)
            # One more on either side: where the foot comes from, and where it goes, if it rolls already.
            if inside.size == 0:  # it swings all the while
                high = int(np.searchsorted(laid.touchdown[mine], first))
                low = high - 1
            else:
                heel_off = cycle.animal.limbs[limb].path.heel_off_share
                rolls = (1.0 - heel_off) * cycle.down[limb] + 1.0
                low = inside[0] - (laid.touchdown[mine[inside[0]]] > first)
                high = inside[-1] + (laid.liftoff[mine[inside[-1]]] < after + rolls)
            lands = mine[max(low, 0) : high + 1]
            ends = laid.touchdown[lands] < first
            moment = np.where(ends, laid.liftoff[lands], laid.touchdown[lands])
            under = timeline.pace.distance_m(moment / timeline.frame_rate_hz)
            longer = piece.are_longer(laid.touchdown[lands], laid.liftoff[lands]) | (
                laid.longer[lands] != 0.0
            )
            as_there = np.isfinite(moment) & ~longer  # else it is under the middle of it
            half = half_m[limb]
            if slowed:
                half = half * timeline.kept_share(moment[as_there])
            place = under[as_there] + np.where(ends[as_there], -half, half) + cycle.centre_m[limb]
            along[lands[as_there]] = place
            held[lands] = True
    return held, along


def _rows(timeline: Timeline, touchdown: Array) -> npt.NDArray[np.int64]:
    """Find the stance that each foot is in at each moment by its limb and contact: (samples, 4)."""
    laid = timeline.stances
    row = np.empty(touchdown.shape, dtype=np.int64)
    for limb in range(touchdown.shape[1]):
        mine = np.flatnonzero(laid.limb == limb)
        row[:, limb] = mine[
            np.clip(np.searchsorted(laid.touchdown[mine], touchdown[:, limb] + 0.25) - 1, 0, None)
        ]
    return row


def _largest(values: Array, row: npt.NDArray[np.int64], here: Bools, count: int) -> Array:
    """Return the largest value of each stance where it counts: (stances,)."""
    found = np.full(count, -np.inf)
    with np.errstate(invalid="ignore"):  # no number: no leg reaches there, which is told later
        np.maximum.at(found, row[here], values[here])
    return found
