"""What hangs over a whole shot, each cycle's way as far as it counts; where the head looks, and how level."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

import numpy as np
import numpy.typing as npt

from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import Trunk
from gaitgen.course.path import Frames, Path
from gaitgen.course.stance import StanceState
from gaitgen.hanging.followers import Hung, hang
from gaitgen.numerics.grid import Grid
from gaitgen.shot.carriage import at_phase
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.manner import since_s
from gaitgen.shot.rows import trunk_rows
from gaitgen.shot.sparing import spared_n
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# How far ahead the head looks, in withers heights, and in seconds of the way; and what share of the range of
# the neck it takes for that (estimates).
LOOK_BODIES, LOOK_S = 0.6, 0.35
LOOK_SHARE = 0.45
LOOK_ROUND_S = 0.9  # how far ahead it looks in a turn on the spot (estimate)
LEVEL_SHARE = 0.6  # of a slope that the neck takes back (estimate)
HANG_LEAD_IN_S = 2.0
LEAD_IN_S = 8.0  # of a shot that begins going (what hangs softest has come to rest, as measured)
REPEATS_M = 1e-4  # a root that is where it was a stride before


def hung_turns(
    timeline: Timeline,
    trunk: Trunk,
    grid: Grid,
    share: Array,
    as_cycles: Array,
    breath: Array,
    state: StanceState,
) -> dict[int, Array]:
    """Let neck, head, ears, jaw and tail follow, each cycle's way as far as it counts; their turns. [rad]"""
    local = replace(grid, local_s=timeline.longest_s)
    whole: dict[int, Array] = {}
    for numbers in _alike(timeline.cycles):
        rows = np.flatnonzero((share[:, numbers] > 0.0).any(axis=1))
        if rows.size == 0:
            continue
        first, after = max(0, rows[0] - round(HANG_LEAD_IN_S / grid.step_s)), int(rows[-1]) + 1
        hung = hung_part(timeline.cycles[numbers[0]], trunk, local, breath, (first, after), state)
        for k in numbers:
            own = _own_turns(timeline, timeline.cycles[k], grid.time_s[first:after], k)
            steady = as_cycles[first:after, k] / np.maximum(share[first:after, k], 1e-9)
            for joint, turns in hung.turns_rad.items():
                mixed = turns + steady[:, None] * (own[joint] - turns)
                whole.setdefault(joint, np.zeros((grid.count, 3)))[first:after] += (
                    share[first:after, k, None] * mixed
                )
    return whole


def _alike(cycles: tuple[Cycle, ...]) -> list[list[int]]:
    """Group the numbers of cycles that follow each other and let their parts hang alike.

    Hung apart, what still swings as the one hands over to the other at a halt would jump.
    """

    def ways(number: int) -> tuple[int, float, float, tuple[float, ...], int]:
        cycle = cycles[number]
        style = cycle.style
        is_lame = len(set(style.legs.load[:2])) > 1  # which is spared as in its own cycle
        return id(cycle.animal), style.nod, style.overlap, style.legs.load[:2], id(cycle) * is_lame

    return [list(group) for _, group in groupby(range(len(cycles)), ways)]


def hung_part(
    cycle: Cycle,
    trunk: Trunk,
    grid: Grid,
    breath: Array,
    span: tuple[int, int],
    state: StanceState,
    *,
    weighed_only: bool = False,
) -> Hung:
    """Hang a cycle's parts on some samples of a trunk, from one to before another, which are returned.

    What falls to spare a lame foreleg does so in the strides of the shot, which ``state`` tells, too.

    Where a shot begins in a stride that repeats itself, it is led in by strides of it: what hangs on a soft
    spring would else begin at rest and swing for seconds from that.
    """
    first, after = span
    stride = round(cycle.frames / cycle.settled.request.frame_rate_hz / grid.step_s)
    before = 0
    if first == 0 and after > stride and np.abs(trunk.root_m[stride] - trunk.root_m[0]).max() < REPEATS_M:
        before = stride * int(np.ceil(LEAD_IN_S / (stride * grid.step_s)))
    rows = np.concatenate([np.arange(before) % stride, np.arange(first, after)])
    spared = spared_n(cycle, state)
    hung = hang(
        cycle.animal,
        trunk_rows(trunk, rows),
        Grid(grid.start_s, grid.step_s, rows.size, is_periodic=False, local_s=grid.local_s),
        breath[rows],
        nod=cycle.style.nod,
        overlap=cycle.style.overlap,
        spared_n=None if spared is None else spared[rows],
        weighed_only=weighed_only,
    )
    turns = {joint: turned[before:] for joint, turned in hung.turns_rad.items()}
    return replace(hung, turns_rad=turns, centres_m=hung.centres_m[before:], breath=hung.breath[before:])


def _own_turns(timeline: Timeline, cycle: Cycle, time_s: Array, number: int) -> dict[int, Array]:
    """Repeat what hangs in a cycle."""
    hung, own = cycle.solved.hung, cycle.solved.course.grid
    if hung is None:
        return {}
    since = since_s(timeline, number, time_s)
    joints = list(hung.turns_rad)
    table = np.stack([hung.turns_rad[joint] for joint in joints], axis=1)
    turned = at_phase(own, table, since)
    return {joint: turned[:, k] for k, joint in enumerate(joints)}


def looking(timeline: Timeline, path: Path, frames: Frames, grid: Grid) -> Array:
    """Turn of head and neck to where the path goes, against the chest, (samples,). [rad]"""
    animal = timeline.cycles[0].animal
    standing = standing_positions_m(animal)
    here = path.distance_m(grid.time_s) + standing[animal.limb("fore").top, 0]
    ahead = LOOK_BODIES * animal.withers_height_m + LOOK_S * frames.speed_m_s
    plain = path.unspun
    there = plain.at(here + ahead)[1]
    most = LOOK_SHARE * float(animal.ranges_rad[list(animal.neck), 2, 1].sum()) if animal.neck else 0.0
    wanted = there - plain.at(here)[1]
    if path.spins:
        wanted = wanted + path.turned_rad(grid.time_s + LOOK_ROUND_S) - path.turned_rad(grid.time_s)
    return np.asarray(most * np.tanh(wanted / most)) if most > 0.0 else np.zeros(grid.count)


def kept_level(timeline: Timeline, turns: dict[int, Array], slope_rad: Array) -> dict[int, Array]:
    """Pitch the neck against the slope that the trunk follows: head low uphill, high downhill (from memory).

    Parameters
    ----------
    timeline, turns
        The shot, and how far each hanging joint is turned.
    slope_rad
        (samples,) of the ground under the body, positive where it climbs. [rad]
    """
    animal = timeline.cycles[0].animal
    if not animal.neck or np.abs(slope_rad).max() < 1e-9:
        return turns
    joint = animal.neck[0]
    added = np.zeros((slope_rad.size, 3))
    added[:, 0] = -LEVEL_SHARE * slope_rad
    return {**turns, joint: turns.get(joint, np.zeros_like(added)) + added}


def look_along(timeline: Timeline, turns: dict[int, Array], wanted_rad: Array) -> dict[int, Array]:
    """Share a turn of the head out over the joints of the neck, each as wide as its range."""
    animal = timeline.cycles[0].animal
    neck = list(animal.neck)
    if not neck:
        return turns
    width = animal.ranges_rad[neck, 2, 1]
    turned = dict(turns)
    for joint, own in zip(neck, width / width.sum(), strict=True):
        added = np.zeros((wanted_rad.size, 3))
        added[:, 2] = own * wanted_rad
        turned[joint] = turned.get(joint, np.zeros_like(added)) + added
    return turned
