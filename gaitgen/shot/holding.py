"""Where the trunk is held as a run becomes another gait: where legs reach, and as high as in their cycles."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.body.trunk import posed_trunk
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.limbs.reach import Reach, reach_for
from gaitgen.numerics.curves import largest_around, local_mean, ramp
from gaitgen.shot.carriage import UNLIKE, Carriage
from gaitgen.shot.held import Held, leaping
from gaitgen.shot.lowering import TOGETHER
from gaitgen.shot.manner import Manner
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Beyond what its cycles do an end of the body may rise and sink so far more, in hip heights; what is off by
# so much is held wholly, in hip heights too, and a hold comes and goes within so long (estimates). [s]
MORE_SHARE, WHOLLY_SHARE, SOFT_S = 0.006, 0.004, 0.03
# So far around a moment, in strides, counts what the trunk is let down by for legs that do not reach; there
# it sinks by that less (as in posing), but by no more than such a share of what it sinks in its cycles: held
# higher still it would have to be caught within a frame of landing (estimate). Not so with a lead, where
# joints of legs would turn quicker by up to a tenth (measured).
LOWERED_STRIDES, MOST_LESS = 0.5, 0.12
# Where a run begins out of a walk or comes to a halt, an end of the body that would sink so that a leg could
# not fold under it is kept so high that legs have this room to fold, in hip heights (estimate).
FOLD_ROOM_SHARE = 0.25
# Within a stride of where a way turns by so much of gravity, runs without a lead are held so firmly, of
# how they are straight ahead (estimates): legs miss by more there, and feet push twice in a step to keep a
# body that is held wholly.
LEANS, FIRM = 0.1, 0.25
EVEN_M = 1e-9  # less than any way of a trunk
# As an animal sets off into a run, and halts from one, its trunk goes down and up no farther than in the run
# times this power of the share of the run's speed that it has (estimate).
SLOWER = 0.8


def holding(
    timeline: Timeline,
    carried: Carriage,
    made: Manner,
    as_cycles: Array,
    before: Held | None = None,
    *,
    inward_m_s2: Array | float = 0.0,
) -> Held | None:
    """Say where chest and hips have to be lower for legs to reach, and where they rise or sink too far.

    Parameters
    ----------
    timeline, carried, made, as_cycles
        The shot, and what was found for it.
    before
        What was held to find it; None for nothing but leaps.
    inward_m_s2
        (samples,) how hard its way turns it, either way. [m/s^2]

    Returns
    -------
    Held or None
        None where nothing is to be held.
    """
    animal = timeline.cycles[0].animal
    reach, short = _reach(timeline, carried, made)
    height = np.stack([carried.chest_height_m, carried.hips_height_m], axis=1)
    drops = timeline.solved_share @ np.array([cycle.solved.drop_m for cycle in timeline.cycles])
    more, wholly_m = (share_ * animal.hip_height_m for share_ in (MORE_SHARE, WHOLLY_SHARE))
    low, high = _own(timeline)
    low, high = low - more, high + more
    missed = np.maximum(short - drops, 0.0)
    leads = timeline.solved_share @ np.array([float(cycle.gait.has_lead) for cycle in timeline.cycles]) > 0.0
    less = _let_down(timeline, missed)
    low = low + np.where(leads[:, None], less, np.minimum(less, MOST_LESS * np.maximum(-low, 0.0)))
    high = np.where(missed > 0.0, np.minimum(high, height - missed), high)
    low = np.minimum(low, high)
    meant = np.where(leads[:, None], np.clip(height, low, high), _within(height, low, high))
    moment = timeline.grid.time_s * timeline.frame_rate_hz
    changes, others = np.zeros((2, moment.size), dtype=np.bool_)
    for piece in timeline.pieces:
        walks = [timeline.cycles[k].gait.walks for k in piece.cycles]  # on struts, which hold it
        here = (moment > piece.first) & (moment < piece.after)
        if piece.kind in {"change", "halt", "start"} and not (walks[0] and walks[1]):
            changes |= here
        elif piece.kind in {"change", "halt"} and not walks[1]:
            others |= here
    near = np.where(made.plan.state.planted, made.given.laid.shortest_m - np.abs(reach.target_m), -np.inf)
    near = near.reshape(-1, 2, 2).max(axis=2) + drops
    if near[others].max(initial=-np.inf) > 0.0:
        kept = height + np.maximum(near + FOLD_ROOM_SHARE * animal.hip_height_m, 0.0)
        meant = np.where(others[:, None], np.minimum(kept, np.maximum(height, 0.0)), meant)
    else:
        others[:] = False
    off = np.abs(meant - height) * ((changes | others) & (as_cycles.sum(axis=1) <= 0.0))[:, None]
    radius = max(1, round(SOFT_S / timeline.grid.step_s))
    firm = np.where((leads | others)[:, None], 1.0, _firm(timeline, inward_m_s2)[:, None])
    held = local_mean(firm * np.minimum(off / wholly_m, 1.0), radius)
    leaps = np.zeros(moment.size)
    if timeline.leaps:
        leap = leaping(timeline) if before is None else before
        leaps = leap.leaps
        jumps = leaps[:, None] > 0.0
        over = np.where(jumps, np.maximum(short - drops, 0.0), 0.0)
        firm = local_mean(np.minimum(over / wholly_m, 1.0), radius)
        meant = np.where(jumps, firm * (height - over) + (1.0 - firm) * leap.height_m, meant)
        held = np.where(jumps, np.maximum(firm, leap.share), held)
    return Held(meant, held, leaps) if held.max() > 0.0 else None


def farther_m(timeline: Timeline, carried: Carriage, made: Manner) -> Array:
    """Tell how much farther ends of the body go down and up in starts, changes and halts than in cycles.

    Of both ends it is the root of the sum of squares. What one is let down by for legs that do not reach
    counts too; arguments as of `holding`.

    Returns
    -------
    Array
        (pieces,); 0 for other pieces. [m]
    """
    _, short = _reach(timeline, carried, made)
    drops = timeline.solved_share @ np.array([cycle.solved.drop_m for cycle in timeline.cycles])
    missed = np.maximum(short - drops, 0.0)
    height = np.stack([carried.chest_height_m, carried.hips_height_m], axis=1)
    low, high = _own(timeline)
    let_down = _let_down(timeline, np.maximum(missed, TOGETHER * missed[:, ::-1]))
    moment = timeline.grid.time_s * timeline.frame_rate_hz
    found = np.zeros(len(timeline.pieces))
    for number, piece in enumerate(timeline.pieces):
        if piece.kind in {*UNLIKE, "start"}:
            here = (moment >= piece.first) & (moment <= piece.after)
            down = (low - height + let_down)[here].max(axis=0)
            up = (height - high)[here].max(axis=0)
            found[number] = np.hypot(*(np.maximum(down, 0.0) + np.maximum(up, 0.0)))
    return found


def _firm(timeline: Timeline, inward_m_s2: Array | float) -> Array:
    """Say how firmly runs without a lead are held on a way that turns them so hard, (samples,)."""
    around = round(timeline.longest_s / timeline.grid.step_s)
    turns = np.broadcast_to(np.abs(inward_m_s2), timeline.grid.time_s.shape)
    leans = ramp(largest_around(turns, around, periodic=False) / (LEANS * GRAVITY_M_S2))
    return np.asarray(1.0 - leans * (1.0 - FIRM))


def _reach(timeline: Timeline, carried: Carriage, made: Manner) -> tuple[Reach, Array]:
    """Reach of all legs, and by how much those that are down at each end miss it, (samples, 2). [m]"""
    feet = made.plan.rolling
    trunk = posed_trunk(timeline.cycles[0].animal, carried.ends, carried.back)
    reach = reach_for(trunk, feet.joints_m, feet.goes, made.given)
    short = np.where(made.plan.state.planted, reach.shortfall_m, -np.inf)
    return reach, np.asarray(short.reshape(-1, 2, 2).max(axis=2))


def _within(height: Array, low: Array, high: Array) -> Array:
    """Keep heights between bounds, (samples, 2) each: each dip and rise shrinks as a whole. [m]

    Cut off, a trunk would stay at its bound, and feet push twice in a step, as it comes there and leaves.
    """
    middle = (low + high) / 2.0
    room = np.where(height < middle, middle - low, high - middle)
    beyond = np.abs(height - middle)
    share = np.where(beyond > room, room / np.maximum(beyond, EVEN_M), 1.0)
    found = np.empty_like(height)
    for column in range(height.shape[1]):
        under = height[:, column] < middle[:, column]
        begins = np.flatnonzero(np.concatenate([[True], under[1:] != under[:-1]]))
        least = np.minimum.reduceat(share[:, column], begins)
        found[:, column] = np.repeat(least, np.diff(np.append(begins, under.size)))
    return np.asarray(middle + found * (height - middle))


def _own(timeline: Timeline) -> tuple[Array, Array]:
    """Lowest and highest that chest and hips go in the cycles, as far as these count: (samples, 2). [m]"""
    bodies = [cycle.solved.body for cycle in timeline.cycles]
    own = [np.stack([body.chest_height_m, body.hips_height_m], axis=1) for body in bodies]
    low, high = (np.array([of(each, axis=0) for each in own]) for of in (np.min, np.max))
    so_far = _so_far(timeline)[:, None]
    return so_far * (timeline.solved_share @ low), so_far * (timeline.solved_share @ high)


def _so_far(timeline: Timeline) -> Array:
    """Say what share of what it does in runs the trunk may do in starts and halts: (samples,)."""
    first, after = timeline.solved
    moment = timeline.grid.time_s * timeline.frame_rate_hz
    share, speed = np.ones(moment.size), timeline.going.speed_m_s[first:after]
    for number, piece in enumerate(timeline.pieces):
        cycle = timeline.cycles[piece.cycles[0]]
        if piece.kind in {"start", "halt"} and not cycle.gait.walks:
            here = (moment < piece.after) & ((moment >= piece.first) | (number == 0))
            share[here] = np.clip(speed[here] / cycle.speed_m_s, 0.0, 1.0) ** SLOWER
    return share


def _let_down(timeline: Timeline, missed_m: Array) -> Array:
    """How far ends are let down around where legs miss their feet, (samples, 2). [m]"""
    around = round(LOWERED_STRIDES * timeline.longest_s / timeline.grid.step_s)
    return np.asarray(largest_around(missed_m, around, periodic=False))
