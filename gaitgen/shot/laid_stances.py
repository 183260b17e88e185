"""The stances of a shot on whole frames, and where along its path they are."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.pace import Pace
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.items import Item
from gaitgen.shot.on_the_spot import TurnOnSpot
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import FIRST_S, REACHES_AHEAD, Section

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LEAST_FRAMES = 2  # of a stance or a swing
# Of the distance that it goes in the cycles a foot may go so much farther or less far; of a swing there
# so much is left where a rhythm changes (estimates).
FAR_ENOUGH = 0.06
LEAST_SWING = 0.75
# A foot that would swing for less than such a share as it sets off waits for its next swing (estimate).
FIRST_SWING = 0.55


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
    longer
        (stances,) by which share of its time it is down for longer than in its cycle.
    """

    limb: Ints
    touchdown: Array
    liftoff: Array
    along_m: Array
    aside_m: Array
    stands: npt.NDArray[np.bool_]
    moved: npt.NDArray[np.bool_]
    when: Array
    longer: Array


class _Row(NamedTuple):
    """One stance: frames, and place along the path and to its left. [m]"""

    limb: int
    touchdown: float
    liftoff: float
    along_m: float
    aside_m: float
    stands: bool
    when: float
    longer: float = 0.0


@dataclass(eq=False)
class StanceLaying:
    """Finds the stances of a shot, section after section."""

    items: tuple[Item, ...]
    cycles: tuple[Cycle, ...]
    pieces: tuple[Piece, ...]
    level: Pace  # as it would be on level ground
    pace: Pace
    frame_rate_hz: float
    frame: Array
    share: Array
    longer: Array  # (samples, 4) share of its time that each foot is down for longer
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
            longer=np.array([row.longer for row in rows]),
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
        here = (self.frame >= first) & (self.frame <= after)
        frame, longer = self.frame[here], self.longer[here]
        going = section.course(frame - at)
        found = []
        for limb in range(len(LIMBS)):
            events = _events(frame, going.count[:, limb], going.down[:, limb], longer[:, limb])
            found.append(self._limb(section, at, limb, self._as_far(limb, *events), since[limb]))
        return found

    def _as_far(self, limb: int, touchdown: Array, liftoff: Array) -> tuple[Array, Array]:
        """Let a foot stay down no farther than in the cycles as a run changes; its swing makes up for it.

        Nor is it, from run to run, down for less long than in either: whole frames may take that away.
        Stance distances hardly change with speed (horse: Back 1996), and from a trot to a gallop swings
        shorten and lengthen (dog: Blaszczyk & Dobrzecka 1989, abstract).
        """
        changes, runs = (np.zeros(touchdown.size, dtype=np.bool_) for _ in range(2))
        for piece in self.pieces:
            walks = [self.cycles[k].gait.walks for k in piece.cycles]
            if piece.kind == "change" and not walks[0]:
                inside = (touchdown > piece.first) & (liftoff < piece.after)
                runs |= inside
                changes |= inside & (not walks[1])
        down = np.array([cycle.down[limb] for cycle in self.cycles])
        far = down / self.frame_rate_hz * np.array([cycle.speed_m_s for cycle in self.cycles])
        swing = np.array([cycle.frames for cycle in self.cycles]) - down
        share = self._share((touchdown + liftoff) / 2.0)
        gone = self.level.distance_m(self.frame / self.frame_rate_hz)
        lands = self.level.distance_m(np.where(np.isfinite(touchdown), touchdown, 0.0) / self.frame_rate_hz)
        far = share @ far
        goes = self.level.distance_m(liftoff / self.frame_rate_hz) - lands
        runs &= goes / far - 1.0 > FAR_ENOUGH
        leaves = np.where(runs, np.round(np.interp(lands + far, gone, self.frame)), liftoff)
        least = np.maximum(np.round(self._least_down(limb, share)), LEAST_FRAMES)
        leaves = np.where(changes, np.maximum(leaves, touchdown + least), leaves)
        last = np.append(touchdown[1:], np.inf) - np.maximum(
            np.round(LEAST_SWING * share @ swing), LEAST_FRAMES
        )
        last = np.where(runs, last, np.maximum(last, liftoff))
        leaves = np.maximum(np.minimum(leaves, last), touchdown + LEAST_FRAMES)
        return touchdown, np.where(changes | runs, leaves, liftoff)

    def _least_down(self, limb: int, share: Array) -> Array:
        """Return how long a foot is down in the cycle that counts in which it is so least, (n,). [frames]

        It goes as far as there where the body is as fast, and less far where it is slower.
        """
        down = np.array([cycle.down[limb] for cycle in self.cycles])
        return np.asarray(np.where(share > 0.0, down, np.inf).min(axis=1))

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
        longer = np.interp(liftoff, self.frame, self.longer[:, limb])
        columns = touchdown, liftoff, along, aside, middle, longer
        self.rows += [
            _Row(limb, down, up, ahead, left, stands=False, when=moment, longer=more)
            for down, up, ahead, left, moment, more in zip(*(c.tolist() for c in columns), strict=True)
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


def _events(frame: Array, count: Array, down: Array, longer: Array) -> tuple[Array, Array]:
    """Contacts and lift-offs of a foot on whole frames, from the count of its strides. [frames]

    What is down for longer than in its cycle is so for whole frames, alike from stride to stride. The first
    contact may be before all moments: minus infinity.
    """
    down = down * (1.0 + longer)
    numbers = np.arange(np.ceil(count[0] - down[0] - 1e-9), np.floor(count[-1] + 1e-9) + 1.0)
    lands = np.interp(numbers, count, frame, left=-np.inf)
    leaves = np.interp(numbers, count - down, frame, right=np.inf)
    touchdown, liftoff = np.round(lands + 1e-6), np.round(leaves + 1e-6)
    whole = np.isfinite(lands) & np.isfinite(leaves) & (np.interp(leaves, frame, longer) != 0.0)
    liftoff[whole] = touchdown[whole] + np.round((leaves - lands)[whole])
    touchdown = np.concatenate([touchdown[:1], np.maximum(touchdown[1:], liftoff[:-1] + LEAST_FRAMES)])
    whole = np.isfinite(liftoff)
    liftoff = np.maximum(liftoff, touchdown + LEAST_FRAMES)
    return touchdown[whole], liftoff[whole]
