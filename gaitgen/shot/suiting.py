"""How long an animal takes to come into a run and out of it: as long as keeps its body up best."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from heapq import heapify, heappop, heappush
from itertools import chain, islice, pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.body import Body
from gaitgen.course.ground import FLAT
from gaitgen.course.path import Path
from gaitgen.errors import GaitgenError
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import end_middle_m
from gaitgen.shot.carriage import Carriage, carriage
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.items import Halt, Item
from gaitgen.shot.laid_shot import LaidShot, Shot
from gaitgen.shot.make import Made, make_laid, make_shot
from gaitgen.shot.section import Section
from gaitgen.shot.snapping import turning
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# A way into a gait in which an end of the body goes farther down and up than in its cycles by such a share of
# the hip height may take longer, by so many strides, each worth so much of it (estimates).
DEEP, TRIED_STRIDES, STRIDE_COST = 0.05, (0.25, 0.5, 0.75, 1.0), 0.04
# Of how much farther it goes at least such a share is left once its feet are where legs reach (estimate; 0.65
# was the least of 188 ways of four animals).
LEAST_LEFT = 0.6
# So many may be added to a start into a run in which it goes twice as far with any of those: a small animal's
# strides are so quick that it has hardly come to its speed in one more (estimates).
MORE_STRIDES, TWICE = (1.5, 2.0, 2.5), 2.0
# Of those, so many are made at the most until legs reach in one and do not snap, and no end of the body comes
# lower than in its cycles by more than such a share of the hip height; and of starts and halts the longer
# ones after them if legs snap much, beyond so many times what looks smooth (estimates). If they do in all,
# that is taken in which they do least.
MADE, SUNK, MUCH = 6, 0.06, 1.1
# A foot that lets off and pushes again by so many body weights within a stance of a run is as bad as a leg
# that snaps; a stance that is longer than such a share of its stride is none of a run (estimates).
AGAIN, RUN_SHARE = 0.35, 0.5


def suited(section: Section) -> Section:
    """Take as long into each gait, and to a halt, as keeps the body up, where nothing else is asked.

    How low short legs come in a run depends on which foot is where as they change: the body is looked at
    without what limbs need beside it, for a few lengths of each change.
    """
    count, rate = len(section.cycles), section.frame_rate_hz
    longer = [0] * (count + 1)
    asked = section.within or (None,) * (count + 1)
    cycles = [cycle for cycle, _ in section.cycles]
    if section.starts and asked[0] is None:
        longer[0] = _best(None, cycles[0], rate, section.first_foot)
    for number, (before, after) in enumerate(pairwise(cycles), 1):
        if asked[number] is None and not (section.obstacles and section.obstacles[number - 1]):
            longer[number] = _best(before, after, rate, None)
    if section.halts and asked[count] is None:
        longer[count] = _best(cycles[-1], None, rate, None)
    return replace(section, longer_frames=tuple(longer)) if any(longer) else section


@lru_cache(maxsize=256)
def _best(before: Cycle | None, after: Cycle | None, frame_rate_hz: float, first_foot: int | None) -> int:
    """Return by how much longer the way from one cycle into another is best; None stands. [frames]"""
    cycles = [each for each in (before, after) if each is not None]
    if all(each.gait.walks for each in cycles):
        return 0
    stride = min(each.frames for each in cycles)

    def laid(longer: int) -> LaidShot:
        lengths = (longer, 0) if before is None else (0, longer) if after is None else (0, longer, 0)
        starts, halts = before is None, after is None
        return _alone(tuple(cycles), starts, halts, frame_rate_hz, first_foot, lengths)

    far = _farther(laid(0))
    if far <= DEEP:
        return 0
    order = _best_first(far, lambda n: laid(round(stride * n)), starts=before is None)
    made: list[tuple[float, int, int]] = []
    snaps = float("inf")
    more = [] if before and after else [round(stride * n) for n in MORE_STRIDES]
    for longer in chain((round(stride * n) for n in islice(order, MADE)), more):
        if longer in {each[-1] for each in made}:
            continue
        if len(made) >= MADE and snaps <= MUCH:
            break
        rough, sunk = _roughness(laid(longer))
        if max(rough, sunk) <= 1.0:
            return longer
        made.append((max(rough, sunk), len(made), longer))
        snaps = min(snaps, rough)
    return min(made)[2]


def _best_first(far: float, laid: Callable[[float], LaidShot], *, starts: bool) -> Iterator[float]:
    """Say by how many strides a way is best longer, from the best on; ``far`` is how far it goes as it is.

    A length is looked at with its feet moved to where legs reach only once no other can be better. Feet of a
    start are not moved.
    """
    if starts:
        found = {0.0: far, **{n: _farther(laid(n)) for n in TRIED_STRIDES}}
        if min(found.values()) > TWICE * DEEP:
            found |= {n: _farther(laid(n)) for n in MORE_STRIDES}
        yield from sorted(found, key=lambda n: (found[n] + STRIDE_COST * n, n))
        return
    rough = [
        (LEAST_LEFT * _farther(laid(n), is_rough=True) + STRIDE_COST * n, n, False) for n in TRIED_STRIDES
    ]
    waiting = [(far, 0.0, True), *rough]
    heapify(waiting)
    while waiting:
        _, n, is_known = heappop(waiting)
        if is_known:
            yield n
        else:
            heappush(waiting, (_farther(laid(n)) + STRIDE_COST * n, n, True))


def make_alone(section: Section) -> Made:
    """Make a shot of one section, straight ahead on level ground, between stands where it starts and halts.

    Kept, as it may have been made while the lengths of its changes were looked for.

    Raises
    ------
    GaitgenError
        If a foot cannot be put down where it must.
    """
    asked = any(section.within) or any(section.obstacles) or any(strides for _, strides in section.cycles)
    if asked:
        return make_shot(Shot(_between_stands(section), section.frame_rate_hz))
    cycles = tuple(cycle for cycle, _ in section.cycles)
    lengths = section.longer_frames or (0,) * (len(cycles) + 1)
    rate = section.frame_rate_hz
    return _made(_alone(cycles, section.starts, section.halts, rate, section.first_foot, lengths))


@lru_cache(maxsize=8)
def _alone(
    cycles: tuple[Cycle, ...],
    starts: bool,
    halts: bool,
    frame_rate_hz: float,
    first_foot: int | None,
    longer_frames: tuple[int, ...],
) -> LaidShot:
    """Lay a section of these cycles without a stride of their own; kept for the next look at it."""
    whole = tuple((each, 0) for each in cycles)
    section = Section(whole, starts, halts, frame_rate_hz, first_foot, longer_frames=longer_frames)
    return LaidShot.of(Shot(_between_stands(section), frame_rate_hz))


@lru_cache(maxsize=MADE)
def _made(laid: LaidShot) -> Made:
    """Make what is laid; kept for whoever asked for just that."""
    return make_laid(laid)


def _roughness(laid: LaidShot) -> tuple[float, float]:
    """Tell how far legs snap in a section, and its body sinks, beyond 1; infinity where legs do not reach."""
    try:
        with np.errstate(invalid="ignore"):
            made = _made(laid)
    except GaitgenError:
        return float("inf"), float("inf")
    rough = max(turning(made.clip, made.timeline).roughness, _pushes_again(made) / AGAIN)
    return rough, _lower(made) / SUNK


def _pushes_again(made: Made) -> float:
    """Tell by how much a foot lets off and pushes again at the most in a stance of a run, in body weights."""
    clip, steps = made.clip, made.clip.steps
    strides = [each.frames for each in made.timeline.cycles if not each.gait.walks]
    if clip.plan is None or not strides:
        return 0.0
    events = np.stack([steps.touchdown_s, steps.liftoff_s], axis=1) * clip.frame_rate_hz
    found = 0.0
    for limb, (first, after) in zip(steps.limb, np.round(events).astype(np.int64), strict=True):
        if first < 0 or after > clip.frames or after - first > RUN_SHARE * max(strides):
            continue
        force = clip.plan.force_n[first + 1 : after, limb]
        before, behind = np.maximum.accumulate(force), np.maximum.accumulate(force[::-1])[::-1]
        found = max(found, float((np.minimum(before, behind) - force).max(initial=0.0)))
    return found / (clip.animal.body_mass_kg * GRAVITY_M_S2)


def _lower(made: Made) -> float:
    """Tell how much lower an end of the body comes than in its cycles, of the hip height."""
    clip, animal = made.clip, made.clip.animal
    places = clip.joints
    standing = standing_positions_m(animal)[:, 2]
    lower = 0.0
    for number, end in enumerate(("fore", "hind")):
        height = end_middle_m(animal, *places, end)[:, 2] - standing[animal.limb(end).top]
        own = [
            _ends(each.solved.body)[:, number].min() - each.solved.drop_m[number]
            for each in made.timeline.cycles
        ]
        lower = max(lower, min(own) - float(height.min()))
    return lower / animal.hip_height_m


def _between_stands(section: Section) -> tuple[Item, ...]:
    stands: tuple[Item, ...] = (Halt(0),)
    return (*stands * section.starts, section, *stands * section.halts)


def _farther(laid: LaidShot, *, is_rough: bool = False) -> float:
    """Tell how much farther it goes, or infinity where ends go farther apart than a trunk is long.

    Roughly, it is told before its feet are moved to where legs reach.
    """
    with np.errstate(invalid="ignore"):
        found = _farther_of_hip(laid.timeline if is_rough else laid.balanced, laid.path)
    return found if np.isfinite(found) else float("inf")


def _farther_of_hip(timeline: Timeline, path: Path) -> float:
    """Tell how much farther an end of the body goes down and up than in its cycles, of the hip height."""
    steps = timeline.steps(path, FLAT)
    body, _ = carriage(timeline, steps, path, FLAT, changes_only=True, also_starts=True)
    moment = timeline.grid.time_s * timeline.frame_rate_hz
    here = (moment >= 0.0) & (moment <= timeline.frames)
    own = np.stack([_reach_m(_ends(cycle.solved.body)) for cycle in timeline.cycles]).max(axis=0)
    farther = _reach_m(_ends(body)[here]) - np.maximum(own, 0.0)
    return float(np.maximum(farther, 0.0).sum(axis=0).max() / timeline.cycles[0].animal.hip_height_m)


def _reach_m(ends: Array) -> Array:
    """Return how far each end goes down and up: (2, ends). [m]"""
    return np.stack([-ends.min(axis=0), ends.max(axis=0)])


def _ends(body: Body | Carriage) -> Array:
    """Return heights of chest and hips, (samples, 2). [m]"""
    return np.stack([body.chest_height_m, body.hips_height_m], axis=1)
