"""What a shot is asked to be: passages, a path, a ground, a start and an end."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.errors import RequestError
from gaitgen.gait.request import MOST_FRAMES, Request
from gaitgen.gait.tempo import choose_tempo
from gaitgen.pipeline.settle import settle
from gaitgen.shot.cycle import Cycle, cycle_of
from gaitgen.shot.make import Shot
from gaitgen.shot.section import Section
from gaitgen.shot.timeline import Halt
from gaitgen.shot.way import Piece, eased

HALT = "halt"
# A path that turns by less than this under a passage has no say in its lead. [rad]
STRAIGHT_RAD = math.radians(5.0)


@dataclass(frozen=True)
class Passage:
    """A stretch in one gait, or a halt.

    Attributes
    ----------
    cycle
        The cycle that it repeats; None for a halt.
    strides
        How many whole strides at its own tempo.
    frames, distance_m
        Another way to say that: the nearest number of strides. [frames], [m]
    halt_frames
        Length of a halt. [frames]
    """

    cycle: Request | None = None
    strides: int | None = None
    frames: int | None = None
    distance_m: float | None = None
    halt_frames: int = 0


@dataclass(frozen=True, eq=False)
class ShotRequest:
    """A shot to make.

    Attributes
    ----------
    passages
        In order.
    starts, ends
        Whether it begins, and ends, standing.
    pieces, start_m, heading_rad
        The path: length and bend of each piece, where it starts, and facing where. [m], [1/m], [rad]
    ground
        The ground.
    """

    passages: tuple[Passage, ...]
    starts: bool = True
    ends: bool = True
    pieces: tuple[Piece, ...] = ()
    start_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    ground: Ground = field(default=FLAT)

    @property
    def first(self) -> Request:
        """The cycle of its first passage in a gait.

        Raises
        ------
        RequestError
            If there is none.
        """
        for passage in self.passages:
            if passage.cycle is not None:
                return passage.cycle
        raise RequestError("the shot has no passage in a gait; give at least one")

    def of(self, animal: str | Animal) -> ShotRequest:
        """Ask the same of another animal."""
        passages = tuple(
            each if each.cycle is None else replace(each, cycle=replace(each.cycle, animal=animal))
            for each in self.passages
        )
        return replace(self, passages=passages)


def shot_of(request: ShotRequest) -> Shot:
    """Solve the cycles of a shot and put its sections together.

    Raises
    ------
    GaitgenError
        If a passage is not usable, or two halts follow each other.
    """
    first = request.first
    built = _Building(request, eased(list(request.pieces), _animal(first).withers_height_m))
    for number, passage in enumerate(request.passages, 1):
        built.add(passage, number)
    built.end()
    frames = sum(item.frames for item in built.items)
    if frames > MOST_FRAMES:
        raise RequestError(f"the shot has {frames} frames; ask for at most {MOST_FRAMES}")
    rate = first.frame_rate_hz
    return Shot(tuple(built.items), rate, built.ways, request.start_m, request.heading_rad, request.ground)


@dataclass(eq=False)
class _Building:
    """Puts sections and halts together, passage after passage."""

    request: ShotRequest
    ways: tuple[Piece, ...]
    items: list[Section | Halt] = field(default_factory=list)
    row: list[tuple[Cycle, int]] = field(default_factory=list)
    known: dict[Request, Cycle] = field(default_factory=dict)
    gone_m: float = 0.0

    def add(self, passage: Passage, number: int) -> None:
        """Add a passage, or close the section before a halt."""
        if passage.cycle is None:
            if number > 1:
                if not self.row:
                    raise RequestError(f"passage {number} is a halt after a halt; put a gait between them")
                self._close(halts=True)
            self.items.append(Halt(passage.halt_frames))
            return
        if not self.items and self.request.starts:
            self.items.append(Halt(0))
        asked, strides, length_m = _counted(passage, number)
        asked = _with_lead(asked, self.ways, self.request, self.gone_m, self.gone_m + strides * length_m)
        self.gone_m += (strides + 1) * length_m
        if asked not in self.known:
            self.known[asked] = cycle_of(asked)
        cycle = self.known[asked]
        if self.row and self.row[-1][0] is cycle:  # it goes on as it went
            strides += self.row.pop()[1]
        self.row.append((cycle, strides))

    def end(self) -> None:
        """Close the last section."""
        if self.row:
            self._close(halts=self.request.ends)
            if self.request.ends:
                self.items.append(Halt(0))

    def _close(self, *, halts: bool) -> None:
        rate = self.row[0][0].settled.request.frame_rate_hz
        starts = bool(self.items) and isinstance(self.items[-1], Halt)
        self.items.append(Section(tuple(self.row), starts, halts, rate))
        self.row = []


def _animal(request: Request) -> Animal:
    if isinstance(request.animal, Animal):
        return request.animal
    return load_animal(str(request.animal), request.proportions)


def _counted(passage: Passage, number: int) -> tuple[Request, int, float]:
    """Return the cycle of a passage, its number of strides, and the length of one. [m]"""
    assert passage.cycle is not None  # noqa: S101
    settled = settle(passage.cycle)
    rate = settled.request.frame_rate_hz
    tempo, _ = choose_tempo(
        settled.gait,
        settled.frames / rate,
        settled.animal,
        speed_m_s=settled.request.speed_m_s,
        stride_length_m=settled.request.stride_length_m,
        duty_factor=settled.request.duty_factor,
        reach=settled.request.style.reach,
    )
    if passage.strides is not None:
        strides = passage.strides
    elif passage.frames is not None:
        strides = round(passage.frames / settled.frames)
    elif passage.distance_m is not None:
        strides = round(passage.distance_m / tempo.stride_length_m)
    else:
        raise RequestError(
            f"passage {number} does not say how long it is; give strides, frames or distance_m"
        )
    return passage.cycle, max(strides, 0), tempo.stride_length_m


def _with_lead(
    asked: Request, ways: tuple[Piece, ...], request: ShotRequest, first_m: float, last_m: float
) -> Request:
    """Lead with the inner fore foot of a turn, where nothing is asked, as animals do (from memory)."""
    settled = settle(asked)
    if asked.lead is not None or not settled.gait.has_lead or asked.contacts is not None:
        return asked
    path = Path(request.start_m, request.heading_rad, ways)
    before, after = path.at(np.array([first_m, last_m]))[1]
    if after - before < -STRAIGHT_RAD:
        return replace(asked, lead="right")
    return replace(asked, lead="left")
