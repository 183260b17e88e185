"""The whole shot as a timeline: sections and halts, the pace, and every stance on whole frames."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.ground import Ground
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.course.sole import Soles, footholds
from gaitgen.course.spin import Spin
from gaitgen.course.steps import Steps
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.jump import LaidLeap, Leap
from gaitgen.shot.on_the_spot import PIVOTS, TurnOnSpot
from gaitgen.shot.section import FIRST_S, JUMP, REACHES_AHEAD, Going, Piece, Section
from gaitgen.shot.slowing import slowed

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Samples a second, at least, on which rhythm and pace are followed and the body is solved.
RATE_HZ = 96.0
# What is laid out before the first frame and after the last, in strides and at least in seconds, and what of
# it is solved, so that nothing begins with the clip.
BEFORE_STRIDES, BEFORE_S = 4.5, 2.5
SOLVED_STRIDES, SOLVED_S = 2.1, 1.2
LEAST_FRAMES = 2  # of a stance or a swing
# Of the distance that it goes in the cycles a foot may go so much farther or less far; of a swing there
# so much is left where a rhythm changes (estimates).
FAR_ENOUGH = 0.06
LEAST_SWING = 0.75
# A foot that would swing for less than such a share as it sets off waits for its next swing (estimate).
FIRST_SWING = 0.55


@dataclass(frozen=True, eq=False)
class Halt:
    """Standing between two sections, or at either end: how long. [frames]"""

    frames: int


Item = Section | Halt | TurnOnSpot


@dataclass(frozen=True, eq=False)
class LaidStances:
    """Stances in frames from the first, and where along the path.

    Attributes
    ----------
    limb
        (stances,) index into LIMBS.
    touchdown, liftoff
        (stances,) [frames]
    along_m, aside_m
        (stances,) place along the path, and to its left. [m]
    stands
        (stances,) whether the foot stands for a halt.
    moved
        (stances,) whether a mark has it where its cycle would not.
    when
        (stances,) the moment whose body it is laid under, which counts where that turns on the spot. [frames]
    """

    limb: Ints
    touchdown: Array
    liftoff: Array
    along_m: Array
    aside_m: Array
    stands: npt.NDArray[np.bool_]
    moved: npt.NDArray[np.bool_]
    when: Array


@dataclass(frozen=True, eq=False)
class Timeline:
    """When and how a shot goes.

    Attributes
    ----------
    frame_rate_hz, per_frame
        Frames per second, and samples per frame. [Hz]
    frames
        Length. [frames]
    frame
        (samples,) moments, from before the first frame (0) until after the last. [frames]
    pieces
        Its parts, in frames; cycles by their place in ``cycles``.
    cycles
        Every cycle of the shot in order.
    going
        Rhythm and speed at the samples.
    pace
        The same as a pace along the path.
    stances
        Every stance.
    spins
        Turns on the spot.
    leaps
        Jumps.
    """

    frame_rate_hz: float
    per_frame: int
    frames: int
    frame: Array
    pieces: tuple[Piece, ...]
    cycles: tuple[Cycle, ...]
    going: Going
    pace: Pace
    stances: LaidStances
    spins: tuple[Spin, ...] = ()
    leaps: tuple[LaidLeap, ...] = ()

    @property
    def longest_s(self) -> float:
        """The longest stride. [s]"""
        return max(cycle.frames for cycle in self.cycles) / self.frame_rate_hz

    @property
    def solved(self) -> tuple[int, int]:
        """First sample that is solved, and the one after the last."""
        before = int(np.ceil(max(SOLVED_S, SOLVED_STRIDES * self.longest_s) * self.frame_rate_hz))
        zero = int(np.argmin(np.abs(self.frame)))
        whole = self.frames + 2 * before
        first = zero - before * self.per_frame
        return first, first + whole * self.per_frame + 1

    @cached_property
    def grid(self) -> Grid:
        """The samples that are solved."""
        first, after = self.solved
        step_s = 1.0 / (self.per_frame * self.frame_rate_hz)
        return Grid(float(self.frame[first]) / self.frame_rate_hz, step_s, after - first, is_periodic=False)

    @property
    def solved_share(self) -> Array:
        """(samples, cycles) how far each cycle counts, at the samples that are solved."""
        first, after = self.solved
        return self.going.share[first:after]

    def steps(self, path: Path, ground: Ground) -> Steps:
        """Lay the stances beside a path on the ground."""
        laid = self.stances
        place, heading = path.beside(laid.along_m, laid.aside_m, laid.when / self.frame_rate_hz)
        height, normal = self._on(ground, place, heading)
        return Steps(
            limb=laid.limb.copy(),
            touchdown_s=laid.touchdown / self.frame_rate_hz,
            liftoff_s=laid.liftoff / self.frame_rate_hz,
            place_m=np.concatenate([place, height[:, None]], axis=1),
            heading_rad=heading,
            normal=normal,
        )

    def _on(self, ground: Ground, place_m: Array, heading_rad: Array) -> tuple[Array, Array]:
        """Lay every sole on the ground: height of its toe, and its normal.

        Where there is none before the clip begins or after it has ended, the ground goes on level.

        Raises
        ------
        CourseError
            If there is none under a foot in the clip.
        """
        if ground.is_even:
            return ground.height_m(place_m), np.array(ground.normal(place_m))
        laid = self.stances
        found = footholds(ground, place_m, heading_rad, soles_of(self.cycles[0].animal, laid.limb))
        known = np.isfinite(found.height_m)
        seen = (laid.liftoff >= 0.0) & (laid.touchdown <= self.frames)
        if (seen & ~known).any():
            raise ground.hole(place_m[seen & ~known][0])
        height, normal = found.height_m.copy(), found.normal.copy()
        rows, whole = np.flatnonzero(~known), np.flatnonzero(known)
        if rows.size:
            apart = np.abs(laid.along_m[rows, None] - laid.along_m[whole])
            height[rows], normal[rows] = height[whole[apart.argmin(axis=1)]], [0.0, 0.0, 1.0]
        return height, normal


@dataclass(frozen=True)
class Pin:
    """A foot that stands on a spot: which, at which frame from 0, where (x, y) [m], and who says so."""

    limb: int
    frame: int
    place_m: tuple[float, float]
    where: str


def lay_timeline(items: tuple[Item, ...], frame_rate_hz: float, path: Path, ground: Ground) -> Timeline:
    """Lay sections and halts out one after the other, frame 0 at the start of the first.

    The pace of the path is not used: its own is what is found.
    """
    per_frame = max(1, round(RATE_HZ / frame_rate_hz))
    longest = max(cycle.frames for item in items for cycle in _cycles(item))
    before = int(np.ceil(max(BEFORE_S * frame_rate_hz, BEFORE_STRIDES * longest)))
    frames = sum(item.frames for item in items)
    frame = np.arange(-before * per_frame, (frames + before) * per_frame + 1) / per_frame
    cycles: list[Cycle] = []
    pieces: list[Piece] = []
    count, down = np.zeros((frame.size, 4)), np.ones((frame.size, 4))
    speed = np.zeros(frame.size)
    total = sum(len(_cycles(item)) for item in items)
    share = np.zeros((frame.size, total))
    at = 0
    for k, item in enumerate(items):
        first = -np.inf if k == 0 else at
        after = np.inf if k == len(items) - 1 else at + item.frames
        here = (frame >= first) & (frame < after)
        if isinstance(item, Halt):
            known = max(len(cycles) - 1, 0)
            pieces.append(Piece("stand", at, at + item.frames, (known, known)))
            share[here, known] = 1.0
        elif isinstance(item, TurnOnSpot):
            goes_on = bool(pieces) and pieces[-1].kind in PIVOTS and cycles[-1] is item.cycle
            known = len(cycles) - goes_on
            pieces.append(Piece(item.kind, at, at + item.frames, (known, known)))
            share[here, known] = 1.0
            count[here] = (frame[here, None] - at) / item.cycle.frames
            cycles += [item.cycle] * (not goes_on)
        else:
            going = item.course(frame[here] - at)
            columns = slice(len(cycles), len(cycles) + len(item.cycles))
            count[here], down[here], speed[here] = going.count, going.down, going.speed_m_s
            share[here, columns] = going.share
            pieces += [
                Piece(
                    p.kind, p.first + at, p.after + at, (p.cycles[0] + len(cycles), p.cycles[1] + len(cycles))
                )
                for p in item.pieces
            ]
            cycles += [cycle for cycle, _ in item.cycles]
        at += item.frames
    share = share[:, : len(cycles)]
    level = Pace(frame / frame_rate_hz, speed)
    spins = _spins(items, level)
    for _ in range(1 + len(spins)):  # where the body turns on the spot is where it has slowed down to
        way = replace(path, spins=spins)
        pace = slowed(level, way, ground, frames / frame_rate_hz, cycles[0].animal.hip_height_m)
        spins = _spins(items, pace)
    laid = _Laying(items, tuple(cycles), tuple(pieces), level, pace, frame_rate_hz, frame, share)
    return Timeline(
        frame_rate_hz,
        per_frame,
        frames,
        frame,
        tuple(pieces),
        tuple(cycles),
        Going(count, down, pace.speed_m_s, share),
        pace,
        laid.stances(),
        spins,
        _leaps(items),
    )


def _cycles(item: Item) -> tuple[Cycle, ...]:
    """Return the cycles of an item, in order."""
    if isinstance(item, Section):
        return tuple(cycle for cycle, _ in item.cycles)
    return (item.cycle,) if isinstance(item, TurnOnSpot) else ()


def _leaps(items: tuple[Item, ...]) -> tuple[LaidLeap, ...]:
    """Find the jumps, and when they begin."""
    found, at = [], 0
    for item in items:
        if isinstance(item, Section):
            begins = [piece.first for piece in item.pieces if piece.kind in {"change", JUMP}]
            found += [
                LaidLeap(at + first, each)
                for first, each in zip(begins, item.changes, strict=True)
                if isinstance(each, Leap)
            ]
        at += item.frames
    return tuple(found)


def _spins(items: tuple[Item, ...], pace: Pace) -> tuple[Spin, ...]:
    """Find the turns on the spot, and where along the path they are."""
    found, at = [], 0
    for item in items:
        if isinstance(item, TurnOnSpot):
            found.append(item.spin(at, float(pace.distance_m(np.array(at / item.frame_rate_hz)))))
        at += item.frames
    return tuple(found)


def soles_of(animal: Animal, limb: Ints) -> Soles:
    """Return the soles of stances, by their limbs (stances,)."""
    toe, heel, half = (
        limb_numbers(animal, f"foot.{name}")[limb] for name in ("toe_m", "heel_m", "half_width_m")
    )
    return Soles(toe, heel, half)


class _Row(NamedTuple):
    """One stance: frames, and place along the path and to its left. [m]"""

    limb: int
    touchdown: float
    liftoff: float
    along_m: float
    aside_m: float
    stands: bool
    when: float


@dataclass(eq=False)
class _Laying:
    """Finds the stances of a shot, section after section."""

    items: tuple[Item, ...]
    cycles: tuple[Cycle, ...]
    pieces: tuple[Piece, ...]
    level: Pace  # as it would be on level ground
    pace: Pace
    frame_rate_hz: float
    frame: Array
    share: Array
    rows: list[_Row] = field(default_factory=list)

    def stances(self) -> LaidStances:
        """Lay all of them."""
        at = 0
        stands = [float(self.frame[0]) - 1.0] * len(LIMBS)  # since when each foot stands
        for item in self.items:
            if isinstance(item, Section):
                stands = self._section(item, at, stands)
            elif isinstance(item, TurnOnSpot):
                stands = self._turn(item, at, stands)
            at += item.frames
        last = self.items[-1]
        if not isinstance(last, Section) or last.halts:
            for limb, since in enumerate(stands):
                self._stand(limb, since, float(self.frame[-1]) + 1.0, float(self.frame[-1]))
        rows = sorted(self.rows, key=lambda row: (row.touchdown, row.limb))
        return LaidStances(
            limb=np.array([row.limb for row in rows], dtype=np.int64),
            touchdown=np.array([row.touchdown for row in rows]),
            liftoff=np.array([row.liftoff for row in rows]),
            along_m=np.array([row.along_m for row in rows]),
            aside_m=np.array([row.aside_m for row in rows]),
            stands=np.array([row.stands for row in rows], dtype=np.bool_),
            moved=np.zeros(len(rows), dtype=np.bool_),
            when=np.array([row.when for row in rows]),
        )

    def _stand(self, limb: int, touchdown: float, liftoff: float, when: float, ahead_m: float = 0.0) -> None:
        """Stand square where the body is at a moment, or so far ahead of that. [m]"""
        animal = self.cycles[0].animal
        joint = animal.limbs[limb].foot_joint
        place = standing_positions_m(animal)[joint]
        under = float(self.pace.distance_m(np.array(when / self.frame_rate_hz)))
        along = under + float(place[0]) + animal.limbs[limb].foot.toe_m + ahead_m
        self.rows.append(_Row(limb, touchdown, liftoff, along, float(place[1]), stands=True, when=when))

    def _turn(self, item: TurnOnSpot, at: int, since: list[float]) -> list[float]:
        """Lay the stances of a turn on the spot; return since when each foot stands at its end."""
        for limb, (begun, lifts) in enumerate(zip(since, item.first_lifts().tolist(), strict=True)):
            self._stand(limb, begun, at + lifts, at)
        for each in item.stances():
            self._stand(each.limb, at + each.touchdown, at + each.liftoff, at + each.when, each.ahead_m)
        return [at + lands for lands in item.last_lands().tolist()]

    def _section(self, section: Section, at: int, since: list[float]) -> list[float]:
        """Lay the stances of one section; return since when each foot stands at its end."""
        first = at if section.starts else self.frame[0]
        after = at + section.frames if section.halts else self.frame[-1]
        frame = self.frame[(self.frame >= first) & (self.frame <= after)]
        going = section.course(frame - at)
        found = []
        for limb in range(len(LIMBS)):
            events = _events(frame, going.count[:, limb], going.down[:, limb])
            found.append(self._limb(section, at, limb, self._as_far(limb, *events), since[limb]))
        return found

    def _as_far(self, limb: int, touchdown: Array, liftoff: Array) -> tuple[Array, Array]:
        """Let a foot stay down no farther than in the cycles as a run changes; its swing makes up for it.

        Stance distances hardly change with speed (horse: Back 1996), and from a trot to a gallop swings
        shorten and lengthen (dog: Blaszczyk & Dobrzecka 1989, abstract).
        """
        changed = np.zeros(touchdown.size, dtype=np.bool_)
        for piece in self.pieces:
            if piece.kind == "change" and not self.cycles[piece.cycles[0]].gait.walks:
                changed |= (touchdown > piece.first) & (liftoff < piece.after)
        down = np.array([cycle.down[limb] for cycle in self.cycles])
        far = down / self.frame_rate_hz * np.array([cycle.speed_m_s for cycle in self.cycles])
        swing = np.array([cycle.frames for cycle in self.cycles]) - down
        share = self._share((touchdown + liftoff) / 2.0)
        gone = self.level.distance_m(self.frame / self.frame_rate_hz)
        lands = self.level.distance_m(np.where(np.isfinite(touchdown), touchdown, 0.0) / self.frame_rate_hz)
        far = share @ far
        goes = self.level.distance_m(liftoff / self.frame_rate_hz) - lands
        changed &= goes / far - 1.0 > FAR_ENOUGH
        leaves = np.round(np.interp(lands + far, gone, self.frame))
        last = np.append(touchdown[1:], np.inf) - np.maximum(
            np.round(LEAST_SWING * share @ swing), LEAST_FRAMES
        )
        leaves = np.maximum(np.minimum(leaves, last), touchdown + LEAST_FRAMES)
        return touchdown, np.where(changed, leaves, liftoff)

    def _share(self, frame: Array) -> Array:
        """Return how far each cycle counts at moments (n,): (n, cycles). [frames]"""
        return np.stack([np.interp(frame, self.frame, column) for column in self.share.T], axis=1)

    def _limb(self, section: Section, at: int, limb: int, events: tuple[Array, Array], since: float) -> float:
        """Lay the stances of one foot, from and to standing; return since when it stands at the end."""
        touchdown, liftoff = events
        if section.starts:
            leaves = at + section.shift_frames
            if limb != section.lifts_first:
                leaves += max(1, round(FIRST_S * self.frame_rate_hz))
            cycle = section.cycles[0][0]
            swings = max(FIRST_SWING * float(cycle.frames - cycle.down[limb]), LEAST_FRAMES)
            begun = int(np.flatnonzero(liftoff >= leaves - LEAST_FRAMES)[0])
            begun += int(touchdown[begun + 1] - max(liftoff[begun], leaves) < swings)
            self._stand(limb, since, max(float(liftoff[begun]), float(leaves)), at)
            touchdown, liftoff = touchdown[begun + 1 :], liftoff[begun + 1 :]
        else:
            known = np.isfinite(touchdown)
            touchdown, liftoff = touchdown[known], liftoff[known]
        ends = np.inf
        if section.halts:
            last = self._last(section, at, touchdown)
            ends = float(touchdown[last])
            touchdown, liftoff = touchdown[:last], liftoff[:last]
        middle = (touchdown + liftoff) / 2.0
        share = self._share(middle)
        centre = share @ np.array([cycle.centre_m[limb] for cycle in self.cycles])
        aside = share @ np.array([_track_m(cycle.animal, limb) for cycle in self.cycles])
        along = self.pace.distance_m(middle / self.frame_rate_hz) + centre
        self.rows += [
            _Row(limb, float(down), float(up), float(ahead), float(left), stands=False, when=float(moment))
            for down, up, ahead, left, moment in zip(touchdown, liftoff, along, aside, middle, strict=True)
        ]
        return ends

    def _last(self, section: Section, at: int, touchdown: Array) -> int:
        """Find the contact after which a foot stands: the first that reaches its place, or the last."""
        rests_s = (at + section.rests_frame) / self.frame_rate_hz
        gone = self.pace.distance_m(touchdown / self.frame_rate_hz)
        left = self.pace.distance_m(np.array(rests_s)) - gone
        near = left <= REACHES_AHEAD * section.cycles[-1][0].stance_m
        lasts = np.flatnonzero(near & (touchdown >= at + section.slows_frame))
        return int(lasts[0]) if lasts.size else touchdown.size - 1


def _track_m(animal: Animal, limb: int) -> float:
    item = animal.limbs[limb]
    return item.track_m if item.is_left else -item.track_m


def _events(frame: Array, count: Array, down: Array) -> tuple[Array, Array]:
    """Contacts and lift-offs of a foot on whole frames, from the count of its strides. [frames]

    The first contact may be before all moments: minus infinity.
    """
    numbers = np.arange(np.ceil(count[0] - down[0] - 1e-9), np.floor(count[-1] + 1e-9) + 1.0)
    touchdown = np.round(np.interp(numbers, count, frame, left=-np.inf) + 1e-6)
    liftoff = np.round(np.interp(numbers, count - down, frame, right=np.inf) + 1e-6)
    touchdown = np.concatenate([touchdown[:1], np.maximum(touchdown[1:], liftoff[:-1] + LEAST_FRAMES)])
    whole = np.isfinite(liftoff)
    liftoff = np.maximum(liftoff, touchdown + LEAST_FRAMES)
    return touchdown[whole], liftoff[whole]


def easing(frame: Array, span: tuple[float, float]) -> Array:
    """Rise from 0 to 1 over a span. [frames]"""
    return ramp((frame - span[0]) / max(span[1] - span[0], 1e-9))
