"""Changes a draft for one mark after the other: its speeds, strides and waits."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import Path
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.request import MOST_FRAMES
from gaitgen.shot.asked import Mark
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.draft import Draft
from gaitgen.shot.draft_layout import DraftLayout, Laying
from gaitgen.shot.far_mark import (
    told_beside,
    told_far,
    told_far_foot,
    told_far_halt,
    told_swings,
    told_turns,
    told_unmet,
)
from gaitgen.shot.halting import halt_for, rest_m, rest_row
from gaitgen.shot.jump import Obstacle
from gaitgen.shot.pinning import lands, longer_frames, stance_at
from gaitgen.shot.repacing import Reached, Repacing, paced
from gaitgen.shot.restriding import Restriding
from gaitgen.shot.splitting import split
from gaitgen.shot.take_off import over_m, with_jump
from gaitgen.shot.timeline import Pin, Timeline
from gaitgen.shot.way import nearest_m

# How much slower and faster a passage goes for a halt before strides are added or left out (estimates).
LIKED_SLOW, LIKED_FAST = 0.87, 1.15
# A body that is farther from its mark than so much of a stride, as near as it can be, goes as it was asked to
# (estimate).
NEAR_STRIDES = 0.5
# Nearer than this a mark is met; so far beside the path a body may be without a word. [m]
MET_M, BESIDE_M = 0.01, 0.3
SAID_SHARE = 0.02  # a change of speed that is worth a word
# A foot that has to be down at a frame is so for so many before it leaves. [frames]
LEAST_DOWN = 2


@dataclass(eq=False)
class Meeting:
    """Meets one mark after the other."""

    draft: Draft
    layout: DraftLayout
    first: int = 0  # passage that may still be changed
    along_m: float = 0.0  # of the mark before
    row: int | None = None  # of the mark before, where that has a frame
    is_timed: bool = False  # whether a mark before has one
    pins: list[Pin] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)

    def meet(self, mark: Mark) -> None:
        """Change what is before a mark, and after the mark before it."""
        path = self._turned(mark)
        along = nearest_m(path, mark.place_m, self.along_m)
        if self._is_aside(mark, path, along):
            return
        first, asked, told, is_left = self.first, self.draft, len(self.notices), False
        self._make_room(mark)
        if mark.halts:
            is_split = self.draft is not asked
            self._halt(mark, along)
            last = self.first - 1
            if is_split and abs(rest_m(self._lay(self.draft), last) - along) > self._near_m(last):
                self.draft, self.first = asked, first  # what is far off leaves the passages as they were
                del self.notices[told:]
                self._reach(mark, along, first - 1, lambda each: rest_m(each, first - 1))
        elif mark.foot is not None:
            number = self._passage(mark)
            pin = self._step(mark, mark.foot, along)
            is_left = self._is_beyond(mark, pin, number, (asked, first, told))
        else:
            timeline, _ = self._lay(self.draft)
            moment = self._row(mark, timeline) / timeline.frame_rate_hz
            is_left = not self._reach(
                mark,
                along,
                self._passage(mark),
                lambda each: float(each[0].pace.distance_m(np.array(moment))),
            )
        self.along_m = self.along_m if is_left else along
        self.row = None if mark.frame is None or mark.halts or is_left else mark.frame - 1
        self.is_timed |= mark.frame is not None

    def _is_aside(self, mark: Mark, path: Path, along_m: float) -> bool:
        """Say how far beside the path a body mark is, and whether that is too far to go for it."""
        aside = float(np.hypot(*(path.at(np.array(along_m))[0] - np.array(mark.place_m))))
        if mark.foot is not None or aside <= BESIDE_M:
            return False
        last = self._halt_after(mark) if mark.halts else self._passage(mark)
        turns = not mark.halts and self.draft.parts[last].turn is not None
        is_left = not turns and aside > self._near_m(last)
        self._say(mark, told_beside(mark, aside, along_m, path, turns=turns, is_left=is_left))
        if is_left and mark.halts:
            self.first = max(self.first, last + 1)
            self.row = None
        return is_left

    def _turned(self, mark: Mark) -> Path:
        """Return the way as it lies at a mark; what is before a turn on the spot is held, as its place is.

        Raises
        ------
        RequestError
            If a foot is to be on a spot in such a turn, whose steps go by the turn.
        """
        laying = self._lay(self.draft)
        number = self._halt_after(mark) if mark.halts else self._passage(mark)
        parts = self.draft.parts
        if mark.foot is not None and parts[number].turn is not None:
            raise RequestError(told_turns(mark, self.draft.name_of(number)))
        turns = [n for n, part in enumerate(parts[:number]) if part.turn is not None]
        spins = laying[0].spins[: len(turns)]
        if turns:
            self.first = max(self.first, turns[-1] + 1)
            self.along_m = max(self.along_m, spins[-1].at_m)
        return replace(self.layout.path, spins=spins)

    def _halt_after(self, mark: Mark) -> int:
        laying = self._lay(self.draft)
        path = replace(self.layout.path, spins=laying[0].spins)
        return halt_for(mark, laying, (self.first, MOST_FRAMES if self.row is None else self.row), path)

    def _make_room(self, mark: Mark) -> None:
        """Let what is left of the passage of the mark before go at a speed of its own, for one in it."""
        number = self._halt_after(mark) if mark.halts else self._passage(mark)
        if self.row is None or number >= self.first:
            return
        laid = self._lay(self.draft)
        found = split(self.draft, laid, self.row, self._cycle(self.draft, self.first - 1))
        if found is not None and (mark.frame is None or mark.frame - 1 <= self._lay(found)[0].frames):
            self.draft = found

    def jump(self, obstacle: Obstacle) -> None:
        """Put a jump into its passage, and come to it at the right speed."""
        self.draft, number = with_jump(self.draft, obstacle, self.layout, self.first)
        mark = Mark((0.0, 0.0), where=obstacle.where.at, name="take-off")
        self._reach(mark, obstacle.at_m, number, over_m)

    def _say(self, mark: Mark, text: str) -> None:
        self.notices.append(Notice("mark", f"{mark.where}: the {mark.name} {text}."))

    def _for(self, mark: Mark, text: str) -> None:
        """Say what was changed for a mark, which may be met by it or not."""
        self.notices.append(Notice("mark", f"{mark.where}: for the {mark.name} {text}."))

    def _lay(self, draft: Draft) -> Laying:
        return self.layout.lay(draft)

    def _row(self, mark: Mark, timeline: Timeline) -> int:
        """Return the frame of a mark, from 0."""
        assert mark.frame is not None  # noqa: S101
        if mark.frame - 1 > timeline.frames:
            raise RequestError(
                f"{mark.where}: frame is {mark.frame}, and the shot ends at frame {timeline.frames + 1}; "
                "give an earlier frame, or its passages more strides"
            )
        return mark.frame - 1

    def _passage(self, mark: Mark) -> int:
        """Find the passage that counts most at the frame of a mark."""
        return self.layout.passage_at(self.draft, self._row(mark, self._lay(self.draft)[0]))

    def _reach(self, mark: Mark, target_m: float, last: int, reached: Reached) -> bool:
        """Scale the speeds of free passages, up to a last one, until something is reached, or leave them.

        What a foot is off by its step is moved by in the end, as far as it goes: what is left is said there.
        """
        span = [n for n in range(self.first, last + 1) if self.draft.parts[n].asked is not None]
        free, self.first = self.first, max(self.first, last + 1)
        before = {n: self._cycle(self.draft, n).speed_m_s for n in span}
        asked = self.draft
        self.draft = Repacing(self.layout, span, before).reach(asked, target_m, reached)
        off = reached(self._lay(self.draft)) - target_m
        unmet = abs(off) > MET_M and mark.foot is None
        if unmet and span and mark.frame is not None and not mark.halts and abs(off) > self._near_m(last):
            laying = self._lay(asked)
            path = replace(self.layout.path, spins=laying[0].spins)
            self._say(mark, told_far(mark, target_m, laying[0], self._lay(self.draft)[0], path))
            self.first = free  # the next mark has them
            self.draft = asked
            return False
        for n in span:
            now = self._cycle(self.draft, n).speed_m_s
            if abs(now / before[n] - 1.0) > SAID_SHARE:
                self._for(mark, f"{self.draft.name_of(n)} goes at {now:.2f} m/s instead of {before[n]:.2f}")
        if unmet:
            laying = self._lay(self.draft)
            frame = rest_row(laying[1], last) + 1 if mark.halts else mark.frame
            path = replace(self.layout.path, spins=laying[0].spins)
            self._say(mark, told_unmet(mark, (target_m, off), frame, path, is_held=not span))
        return True

    def _near_m(self, number: int) -> float:
        """How far a mark may be missed for passages to go for it as near as they can. [m]"""
        if self.draft.parts[number].asked is None:
            return 0.0
        cycle = self._cycle(self.draft, number)
        return NEAR_STRIDES * cycle.speed_m_s * cycle.frames / cycle.settled.request.frame_rate_hz

    def _cycle(self, draft: Draft, number: int) -> Cycle:
        return self.layout.cycle(draft, number)

    def _is_beyond(self, mark: Mark, pin: Pin, number: int, before: tuple[Draft, int, int]) -> bool:
        """Leave passages as they were before a foot was to be on a spot, if it lands too far from it."""
        timeline, _ = self._lay(self.draft)
        far, place = lands(timeline, replace(self.layout.path, spins=timeline.spins), pin)
        if far <= self._near_m(number):
            self.pins.append(pin)
            return False
        self.draft, self.first, told = before
        del self.notices[told:]
        self._say(mark, told_far_foot(pin.limb, far, place))
        return True

    def _step(self, mark: Mark, limb: int, along_m: float) -> Pin:
        """Put a foot on a spot at a frame, as near as its passages can."""
        timeline, _ = self._lay(self.draft)
        row = self._row(mark, timeline)
        _, late = stance_at(timeline, limb, row)
        if late > 0.0 and self.draft.starts and self.first == 0:
            wait = int(np.ceil(late)) + LEAST_DOWN
            self.draft = replace(self.draft, wait_frames=self.draft.wait_frames + wait)
            self._for(mark, f"the animal stands for {wait} frames before it sets off")

        def reached(each: Laying) -> float:
            found, _ = stance_at(each[0], limb, row)
            return float(each[0].stances.along_m[found])

        self._reach(mark, along_m, self._passage(mark), reached)
        timeline, _ = self._lay(self.draft)
        number, late = stance_at(timeline, limb, row)
        pin = Pin(limb, row, mark.place_m, mark.where)
        if longer_frames(timeline, pin):
            self._for(
                mark, f"{LIMBS[limb]} stays down until frame {mark.frame}, a frame longer than it would"
            )
        elif late != 0.0:
            down = timeline.stances.touchdown[number], timeline.stances.liftoff[number]
            self._say(mark, told_swings(mark, limb, down))
        return pin

    def _halt(self, mark: Mark, along_m: float) -> None:
        """Come to rest on a mark, with more or fewer strides where the speed alone would change much."""
        last = self._halt_after(mark)

        def reached(each: Laying) -> float:
            return rest_m(each, last)

        span = [n for n in range(self.first, last + 1) if self.draft.parts[n].asked is not None]
        slow, fast = (reached(self._lay(paced(self.draft, span, k))) for k in (LIKED_SLOW, LIKED_FAST))
        asked, told = self.draft, len(self.notices)
        if not slow <= along_m <= fast:
            restriding = Restriding(self.layout, span)
            self.draft = restriding.reaching(asked, along_m, reached, MET_M)
            for text in restriding.said(asked, self.draft):
                self._for(mark, text)
        self._reach(mark, along_m, last, reached)
        if span and abs(reached(self._lay(self.draft)) - along_m) > self._near_m(last):
            del self.notices[told:]
            layings = self._lay(asked), self._lay(self.draft)
            path = replace(self.layout.path, spins=layings[0][0].spins)
            self._say(mark, told_far_halt(along_m, layings, last, path, passages=len(span)))
            self.draft = asked
            return
        if mark.frame is None:
            return
        rests = rest_row(self._lay(self.draft)[1], last)
        wait = mark.frame - 1 - rests
        if wait > 0 and self.draft.starts and not self.is_timed:
            self.draft = replace(self.draft, wait_frames=self.draft.wait_frames + wait)
            self._for(mark, f"the animal stands for {wait} frames before it sets off")
        elif wait != 0 and abs(reached(self._lay(self.draft)) - along_m) <= MET_M:  # else that is said
            self._say(
                mark,
                f"is met at frame {rests + 1}, not {mark.frame}; give more or fewer strides, or another gait",
            )
