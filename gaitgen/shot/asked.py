"""What a shot is asked to be: passages, a path, a ground, marks, a start and an end."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gaitgen.animal.animal import Animal
from gaitgen.course.ground import FLAT, Ground
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request
from gaitgen.shot.jump import Obstacle
from gaitgen.shot.on_the_spot import Pivot
from gaitgen.shot.speeding import Within
from gaitgen.shot.way import Piece

HALT = "halt"


@dataclass(frozen=True)
class Passage:
    """A stretch in one gait, a halt, or a turn on the spot.

    Attributes
    ----------
    cycle
        The cycle that it repeats, or whose steps it takes; None for a halt.
    strides
        How many whole strides at its own tempo.
    frames, distance_m
        Another way to say that: the nearest number of strides. [frames], [m]
    halt_frames
        Length of a halt. [frames]
    turn_rad, on
        How far it turns to the left on the spot, and on which end; 0 for no such turn. [rad]
    within
        How many strides it takes to come into it; None for as many as it takes.
    """

    cycle: Request | None = None
    strides: int | None = None
    frames: int | None = None
    distance_m: float | None = None
    halt_frames: int = 0
    turn_rad: float = 0.0
    on: Pivot = "haunches"
    within: Within | None = None


@dataclass(frozen=True)
class Mark:
    """Where something has to be, and when.

    Attributes
    ----------
    place_m
        (x, y) on the ground. [m]
    frame
        When, from 1; None for whenever it comes there.
    foot
        The foot that is on it, by its place in LIMBS; None for the body.
    halts
        Whether the animal halts there.
    where
        Its file and line, for messages.
    name
        What messages call it.
    """

    place_m: tuple[float, float]
    frame: int | None = None
    foot: int | None = None
    halts: bool = False
    where: str = "a mark"
    name: str = "mark"


Way = tuple[tuple[Piece, ...], tuple[float, float], float]  # pieces, start [m], heading [rad]


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
    marks
        What has to be met on the way, in order.
    jumps
        What is jumped on the way, in order.
    timed_along
        The path that its strides are timed for, as pieces, start and heading; None for its own.
    """

    passages: tuple[Passage, ...]
    starts: bool = True
    ends: bool = True
    pieces: tuple[Piece, ...] = ()
    start_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    ground: Ground = field(default=FLAT)
    marks: tuple[Mark, ...] = ()
    jumps: tuple[Obstacle, ...] = ()
    timed_along: Way | None = None

    @property
    def turns(self) -> bool:
        """Whether it turns on the spot."""
        return any(passage.turn_rad != 0.0 for passage in self.passages)

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

    def along(self, pieces: list[Piece], start_m: tuple[float, float], heading_rad: float) -> ShotRequest:
        """Ask the same along another path, given as in ShotRequest, and keep its strides as they are.

        Raises
        ------
        RequestError
            If it turns on the spot: from there on its own path turns with it, and no other can.
        """
        if self.turns:
            raise RequestError(
                "a shot with a turn on the spot goes along its own path alone, as the rest of that turns "
                "with the animal; change the legs of its path, or make two shots"
            )
        timed = self.timed_along or (self.pieces, self.start_m, self.heading_rad)
        return replace(
            self, pieces=tuple(pieces), start_m=start_m, heading_rad=heading_rad, timed_along=timed
        )

    def at_rate(self, frame_rate_hz: float) -> ShotRequest:
        """Ask the same at another number of frames a second; what is counted in frames stays as many."""
        passages = tuple(
            each
            if each.cycle is None
            else replace(each, cycle=replace(each.cycle, frame_rate_hz=frame_rate_hz))
            for each in self.passages
        )
        return replace(self, passages=passages)

    def of(self, animal: str | Animal) -> ShotRequest:
        """Ask the same of another animal."""
        passages = tuple(
            each if each.cycle is None else replace(each, cycle=replace(each.cycle, animal=animal))
            for each in self.passages
        )
        return replace(self, passages=passages)
