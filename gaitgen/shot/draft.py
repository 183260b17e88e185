"""A shot before its cycles are solved: passages with a speed, a tempo and a number of strides each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from gaitgen.course.path import Path
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import choose_tempo
from gaitgen.pipeline.settle import settle
from gaitgen.shot.asked import Passage
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.items import Halt, Item
from gaitgen.shot.jump import STRIDES, Obstacle
from gaitgen.shot.on_the_spot import Pivot, TurnOnSpot, turn_on_spot
from gaitgen.shot.section import Section
from gaitgen.shot.speeding import Within

# A path that turns by less than this under a passage has no say in its lead. [rad]
STRAIGHT_RAD = float(np.radians(5.0))


@dataclass(frozen=True, eq=False)
class Part:
    """One passage, counted.

    Attributes
    ----------
    asked
        Its cycle; None for a halt and a turn on the spot.
    strides
        How many of them.
    halt_frames
        Length of a halt. [frames]
    pace
        Factor on the speed of its cycle, for trying.
    own_tempo
        Whether the animal chooses the length of its stride.
    turn
        A turn on the spot; None for no such.
    jump
        How many of its strides are before a jump, and what is jumped; None for no such.
    within
        How many strides it takes to come into it; None for as many as it takes.
    is_rest
        Whether it is what is left of the passage before it after a mark.
    distance_m
        How far it is to go; None where that is not said. [m]
    """

    asked: Request | None
    strides: int = 0
    halt_frames: int = 0
    pace: float = 1.0
    own_tempo: bool = True
    turn: Turn | None = None
    jump: tuple[int, Obstacle] | None = None
    within: Within | None = None
    is_rest: bool = False
    distance_m: float | None = None


@dataclass(frozen=True)
class Turn:
    """A turn on the spot: the walk whose steps it takes, how far to the left, on what, its strides."""

    asked: Request
    turn_rad: float
    on: Pivot
    strides: int | None


@dataclass(frozen=True, eq=False)
class Draft:
    """Passages in order, each counted, and whether they begin and end standing.

    Attributes
    ----------
    parts
        The passages.
    starts, ends
        Whether it begins, and ends, standing.
    wait_frames
        How long it stands before it sets off. [frames]
    """

    parts: tuple[Part, ...]
    starts: bool
    ends: bool
    wait_frames: int = 0

    @property
    def asked(self) -> Iterator[Request]:
        """The cycles of its passages and turns on the spot, in order."""
        for part in self.parts:
            found = part.asked or (part.turn.asked if part.turn is not None else None)
            if found is not None:
                yield found

    def name_of(self, number: int) -> str:
        """Name a passage as its file counts it, by its number here from 0."""
        told = sum(not part.is_rest for part in self.parts[: number + 1])
        return f"{'the rest of ' if self.parts[number].is_rest else ''}passage {told}"

    def with_part(self, number: int, part: Part) -> Draft:
        """Exchange one passage, by its number from 0."""
        return replace(self, parts=(*self.parts[:number], part, *self.parts[number + 1 :]))

    def items(self, cycle_of: Callable[[Request], Cycle]) -> tuple[Laid, ...]:
        """Put sections and halts together, each with the numbers of the passages in it."""
        row = _Row()
        if self.starts and (self.parts[0].asked is not None or self.parts[0].turn is not None):
            row.laid.append(Laid(Halt(self.wait_frames), ()))
        known: dict[Request, Cycle] = {}
        for number, part in enumerate(self.parts):
            if part.turn is not None:
                row.turn(_turned(part.turn, known, cycle_of, number + 1), number)
                continue
            if part.asked is None:
                row.close(halts=True, within=part.within)
                row.laid.append(Laid(Halt(part.halt_frames), ()))
                continue
            if part.asked not in known:
                known[part.asked] = cycle_of(part.asked)
            cycle = known[part.asked]
            paced = replace(cycle, pace=part.pace) if part.pace != 1.0 else cycle
            if part.jump is None:
                row.add(paced, part.strides, number, part.within)
            else:
                before, obstacle = part.jump
                row.add(paced, before, number, part.within)
                row.jump(obstacle, max(part.strides - before - STRIDES, 0))
        if self.ends and (row.close(halts=True) or row.has_turned):
            row.laid.append(Laid(Halt(0), ()))
        row.close(halts=self.ends)
        return tuple(row.laid)


def _turned(
    turn: Turn, known: dict[Request, Cycle], cycle_of: Callable[[Request], Cycle], number: int
) -> TurnOnSpot:
    if turn.asked not in known:
        known[turn.asked] = cycle_of(turn.asked)
    return turn_on_spot(known[turn.asked], turn.turn_rad, turn.on, turn.strides, number)


@dataclass(frozen=True, eq=False)
class Laid:
    """What is laid out, and the number of the passage that each of its cycles is, the last of several."""

    item: Item
    owners: tuple[int, ...]


def owners_of(laid: tuple[Laid, ...]) -> list[int]:
    """Return the number of the passage that each cycle of a timeline is; turns in a row share one."""
    found: list[int] = []
    turning: Cycle | None = None
    for each in laid:
        cycle = each.item.cycle if isinstance(each.item, TurnOnSpot) else None
        found += each.owners if cycle is None or cycle is not turning else ()
        turning = cycle
    return found


@dataclass(eq=False)
class _Row:
    """What is laid out, and the cycles of the section that is not closed yet."""

    laid: list[Laid] = field(default_factory=list)
    cycles: list[tuple[Cycle, int]] = field(default_factory=list)
    owners: list[int] = field(default_factory=list)
    jumped: dict[int, Obstacle] = field(default_factory=dict)
    within: list[Within | None] = field(default_factory=list)

    def add(self, cycle: Cycle, strides: int, number: int, within: Within | None) -> None:
        """Add a passage; one that goes on as the one before makes that longer."""
        if self.cycles and self.cycles[-1][0] is cycle:
            strides += self.cycles.pop()[1]
            self.owners.pop()
            within = self.within.pop()
        self.cycles.append((cycle, strides))
        self.owners.append(number)
        self.within.append(within)

    def jump(self, obstacle: Obstacle, strides: int) -> None:
        """Jump something, and go on as before for so many strides."""
        self.jumped[len(self.cycles) - 1] = obstacle
        self.cycles.append((self.cycles[-1][0], strides))
        self.owners.append(self.owners[-1])
        self.within.append(None)

    @property
    def has_turned(self) -> bool:
        """Whether the last is a turn on the spot."""
        return bool(self.laid) and isinstance(self.laid[-1].item, TurnOnSpot)

    def turn(self, item: TurnOnSpot, number: int) -> None:
        """Turn on the spot, from a halt."""
        self.close(halts=True)
        if not (self.laid and isinstance(self.laid[-1].item, Halt | TurnOnSpot)):
            self.laid.append(Laid(Halt(0), ()))
        self.laid.append(Laid(item, (number,)))

    def close(self, *, halts: bool, within: Within | None = None) -> bool:
        """Make a section of the cycles; tell whether there were any."""
        if not self.cycles:
            return False
        if self.has_turned:
            self.laid.append(Laid(Halt(0), ()))
        rate = self.cycles[0][0].settled.request.frame_rate_hz
        starts = bool(self.laid) and isinstance(self.laid[-1].item, Halt)
        over = tuple(self.jumped.get(k) for k in range(len(self.cycles) - 1)) if self.jumped else ()
        into = (*self.within, within)
        section = Section(tuple(self.cycles), starts, halts, rate, obstacles=over, within=into)
        self.laid.append(Laid(section, tuple(self.owners)))
        self.cycles, self.owners, self.jumped, self.within = [], [], {}, []
        return True


def counted(passages: tuple[Passage, ...], path: Path, *, starts: bool, ends: bool) -> Draft:
    """Count the strides of each passage, as on level ground, and let it lead with the inner foot.

    It does so where nothing else is asked.

    Raises
    ------
    GaitgenError
        If a passage is not usable, or two halts follow each other.
    """
    parts: list[Part] = []
    gone_m = 0.0
    for number, passage in enumerate(passages, 1):
        if passage.cycle is None:
            if parts and parts[-1].asked is None and parts[-1].turn is None:
                raise RequestError(f"passage {number} is a halt after a halt; put a gait between them")
            parts.append(Part(None, halt_frames=passage.halt_frames, within=passage.within))
            continue
        if passage.turn_rad != 0.0:
            turn = Turn(passage.cycle, passage.turn_rad, passage.on, passage.strides)
            parts.append(Part(None, turn=turn))
            continue
        strides, length_m = _strides(passage, passage.cycle, number)
        asked = _with_lead(passage.cycle, path, gone_m, gone_m + strides * length_m)
        gone_m += (strides + 1) * length_m
        own_tempo, to_go_m = asked.frames is None, passage.distance_m
        parts.append(Part(asked, strides, own_tempo=own_tempo, within=passage.within, distance_m=to_go_m))
    return Draft(tuple(parts), starts, ends)


def _strides(passage: Passage, asked: Request, number: int) -> tuple[int, float]:
    """Return the number of strides of a passage, and the length of one. [m]"""
    settled = settle(asked)
    rate = settled.request.frame_rate_hz
    tempo, _ = choose_tempo(
        settled.gait,
        settled.frames / rate,
        settled.animal,
        speed_m_s=settled.request.speed_m_s,
        stride_length_m=settled.request.stride_length_m,
        duty_factor=settled.request.duty_factor,
        reach=settled.request.style.reach,
        usual_m_s=settled.usual_m_s,
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
    return max(strides, 0), tempo.stride_length_m


def _with_lead(asked: Request, path: Path, first_m: float, last_m: float) -> Request:
    """Lead with the inner fore foot of a turn, where nothing is asked, as animals do (from memory)."""
    settled = settle(asked)
    if asked.lead is not None or not settled.gait.has_lead or asked.contacts is not None:
        return asked
    before, after = path.at(np.array([first_m, last_m]))[1]
    if after - before < -STRAIGHT_RAD:
        return replace(asked, lead="right")
    return replace(asked, lead="left")
