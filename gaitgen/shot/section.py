"""One stretch of going between two halts: cycles, the changes between them, the start and the stop."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.shot.cycle import Cycle
from gaitgen.shot.jump import Leap, Obstacle
from gaitgen.shot.own_time import Lingers, longer_frames, own_frame, own_rate
from gaitgen.shot.piece import Piece
from gaitgen.shot.rhythm import STEADY_STRIDES, Change, change
from gaitgen.shot.speeding import STEEPEST, Within, asked_frames, eased, from_rest, least_s

Array = npt.NDArray[np.float64]

# Strides over which an animal comes into its speed, or out of it, at the least (from memory: the first step
# is half to two thirds of a full one, the second or third is full; a walk halts in one or two steps).
START_STRIDES, HALT_STRIDES = 1.5, 1.1
# So long it shifts its weight before the first foot leaves, and settles after the last has landed. [s]
SHIFT_S, SETTLE_S = 0.35, 0.4
# Feet are down for at least this share of the stride while a run begins, and ends, so that one pair of them
# takes over from the other, but their swings are not shorter than by such a share; they come to it with a
# power of how far it has slowed down (estimates).
STARTING_DUTY, HALTING_DUTY, LATER = 0.58, 0.66, 0.8
STARTS_QUICKER, HALTS_QUICKER = 0.3, 0.36
# The first foot leaves so long before any other (estimate). [s]
FIRST_S = 0.09
# Share of a stance's way by which a foot that lands for good may be ahead of where it stands.
REACHES_AHEAD = 0.46
# After it has come to rest an animal takes at the most this share of a stride to put its last foot down.
LATE_STRIDES = 0.6
FORE = (0, 1)
JUMP, STYLE = "jump", "style"


@dataclass(frozen=True, eq=False)
class Section:
    """Cycles one after the other.

    Attributes
    ----------
    cycles
        Each with its number of strides.
    starts, halts
        Whether it begins, and ends, standing.
    frame_rate_hz
        Frames per second. [Hz]
    first_foot
        Number of the foot that moves first, in LIMBS order; None lets a fore foot.
    obstacles
        What is jumped between each cycle and the next; None for nothing, and empty for none.
    within
        Strides that it takes to come into each cycle, and in the end to a halt; None for as many as it takes,
        and empty for that everywhere.
    longer_frames
        By how much longer than it is by itself the way into each cycle is, and in the end to a halt; empty
        for none. [frames]
    lingers
        Strides of each cycle that take longer than in that; empty for none.
    """

    cycles: tuple[tuple[Cycle, int], ...]
    starts: bool
    halts: bool
    frame_rate_hz: float
    first_foot: int | None = None
    obstacles: tuple[Obstacle | None, ...] = ()
    within: tuple[Within | None, ...] = ()
    longer_frames: tuple[int, ...] = ()
    lingers: tuple[Lingers, ...] = ()

    @cached_property
    def changes(self) -> tuple[Change | Leap, ...]:
        """What lies between its cycles."""
        obstacles = self.obstacles or (None,) * (len(self.cycles) - 1)
        return tuple(
            change(a, b, self.frame_rate_hz, self._within(number), self._longer(number))
            if obstacle is None
            else Leap(a, obstacle, self.frame_rate_hz)
            for number, (((a, _), (b, _)), obstacle) in enumerate(
                zip(pairwise(self.cycles), obstacles, strict=True), 1
            )
        )

    def _within(self, number: int) -> Within | None:
        """Strides in which it comes into a cycle, or to a halt, as asked."""
        return self.within[number] if self.within else None

    def _longer(self, number: int) -> int:
        """Frames by which the way into a cycle, or to a halt, is longer."""
        return self.longer_frames[number] if self.longer_frames else 0

    @cached_property
    def start_frames(self) -> int:
        """Length of the start, up to the first whole stride. [frames]"""
        return self._start[0] if self.starts else 0

    @property
    def lifts_first(self) -> int:
        """The foot that moves first, in LIMBS order."""
        return self._start[1]

    @cached_property
    def _start(self) -> tuple[int, int]:
        """Length of the start and its first foot: that which makes it shortest, of the fore feet.

        From a halt horses moved a fore foot first (Tans, Nauwelaerts & Clayton 2009, abstract).
        """
        cycle = self.cycles[0][0]
        at_least = self.shift_frames + self.speeding_frames + STEADY_STRIDES * cycle.frames
        found = []
        for foot in FORE if self.first_foot is None else (self.first_foot,):
            lifts = cycle.contact[foot] + (cycle.duty + self.more_at_start)[foot] * cycle.frames
            frames = self.shift_frames - lifts
            frames += cycle.frames * np.ceil((at_least - frames) / cycle.frames)
            found.append((int(np.ceil(frames - 1e-9)), foot))
        return min(found)

    @property
    def shift_frames(self) -> int:
        """Frames from standing to the first lift-off."""
        return max(1, round(SHIFT_S * self.frame_rate_hz))

    @cached_property
    def speeding_frames(self) -> float:
        """Length of the change from rest to the first cycle's speed. [frames]"""
        return self._ramp_frames(0, START_STRIDES)

    @cached_property
    def slowing_frames(self) -> float:
        """Length of the change from the last cycle's speed to rest. [frames]"""
        return self._ramp_frames(-1, HALT_STRIDES)

    def _ramp_frames(self, number: int, strides: float) -> float:
        """Length of the start into the first cycle (0), or of the halt out of the last (-1). [frames]"""
        cycle, asked, rate = self.cycles[number][0], self._within(number), self.frame_rate_hz
        steepest = STEEPEST * cycle.speed_m_s
        ways = (steepest, 0.0) if number == 0 else (0.0, steepest)
        if asked is not None:
            name = cycle.gait.name
            what = f"halt to {name}" if number == 0 else f"{name} to halt"
            return asked_frames(asked, cycle.frames, rate, ways, what)
        return max(strides * cycle.frames, least_s(ways, from_rest(cycle)) * rate) + self._longer(number)

    @property
    def more_at_start(self) -> Array:
        """By how much more of the stride each foot is down at the very start, (4,)."""
        duty = self.cycles[0][0].duty
        return np.clip(STARTING_DUTY - duty, 0.0, STARTS_QUICKER * (1.0 - duty))

    @property
    def more_at_end(self) -> Array:
        """The same at the very end."""
        duty = self.cycles[-1][0].duty
        return np.clip(HALTING_DUTY - duty, 0.0, HALTS_QUICKER * (1.0 - duty))

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Its parts, in order; the halt's length is that of its slowing, until the last foot has landed."""
        found, at = [], self.start_frames
        if self.starts:
            found.append(Piece("start", 0, at, (0, 0)))
        for k, (cycle, strides) in enumerate(self.cycles):
            lingers = self.lingers[k] if self.lingers else ()
            after = at + strides * cycle.frames + longer_frames(lingers)
            found.append(Piece("steady", at, after, (k, k), lingers))
            at = found[-1].after
            if k < len(self.changes):
                kind = _kind(self.changes[k])
                found.append(Piece(kind, at, at + self.changes[k].frames, (k, k + 1)))
                at = found[-1].after
        if self.halts:
            last = len(self.cycles) - 1
            found.append(Piece("halt", at, at + self._halt_frames, (last, last)))
        return tuple(found)

    @property
    def _halt_frames(self) -> int:
        cycle = self.cycles[-1][0]
        lands = STEADY_STRIDES * cycle.frames + self.slowing_frames + LATE_STRIDES * cycle.frames
        return int(np.ceil(lands + SETTLE_S * self.frame_rate_hz))

    @property
    def frames(self) -> int:
        """Length. [frames]"""
        return self.pieces[-1].after

    def course(self, frame: Array) -> Going:
        """Follow rhythm and speed at moments (samples,), also before its start and after its end. [frames]"""
        count = np.empty((frame.size, 4))
        down = np.empty_like(count)
        tempo, stance = np.empty(frame.size), np.empty(frame.size)
        rate = np.ones(frame.size)
        share = np.zeros((frame.size, len(self.cycles)))
        counted = np.zeros(4)
        for piece in self.pieces:
            first = -np.inf if piece is self.pieces[0] else piece.first
            after = np.inf if piece is self.pieces[-1] else piece.after
            here = (frame >= first) & (frame < after)
            since = frame[here] - piece.first
            a, b = (self.cycles[k][0] for k in piece.cycles)
            if piece.kind in {"change", JUMP, STYLE}:
                made = self.changes[piece.cycles[0]]
                count[here] = counted + made.count(since)
                changed = made.share(since)
                counted = counted + made.strides
            else:
                length = piece.after - piece.first - longer_frames(piece.lingers)
                rate[here] = own_rate(since, piece.lingers)
                since = own_frame(since, piece.lingers)
                if piece.kind == "start":  # counted backwards from its end
                    since, length = since - length, 0
                count[here] = counted + (since[:, None] - a.contact) / a.frames
                changed = np.zeros(since.size)
                counted = counted + length / a.frames
            mixed = np.stack([1.0 - changed, changed], axis=1)
            for column, number in enumerate(piece.cycles[: len(set(piece.cycles))]):
                share[here, number] = mixed[:, column]
            down[here] = mixed @ np.stack([a.duty, b.duty])
            tempo[here] = mixed @ np.array([1.0 / a.frames, 1.0 / b.frames])
            stance[here] = mixed @ np.array([a.stance_m, b.stance_m])
        speed = rate * stance * tempo / down.mean(axis=1) * self.frame_rate_hz
        if self.starts:
            moving = eased((frame - self.moves_frame) / self.speeding_frames)
            speed, down = speed * moving, down + (1.0 - moving)[:, None] * self.more_at_start
        if self.halts:
            slowed = eased((frame - self.slows_frame) / self.slowing_frames)
            speed, down = speed * (1.0 - slowed), down + (slowed**LATER)[:, None] * self.more_at_end
        return Going(count, down, speed, share)

    @property
    def moves_frame(self) -> float:
        """Where it begins to come into its speed. [frames]"""
        return self.shift_frames - SHIFT_S / 2.0 * self.frame_rate_hz

    @property
    def slows_frame(self) -> float:
        """Where it begins to slow down for its halt. [frames]"""
        return self.pieces[-1].first + STEADY_STRIDES * self.cycles[-1][0].frames

    @property
    def rests_frame(self) -> float:
        """Where it has come to rest. [frames]"""
        return self.slows_frame + self.slowing_frames


def _kind(change: Change | Leap) -> str:
    """Name what lies between two cycles."""
    if isinstance(change, Leap):
        return JUMP
    return STYLE if change.is_style else "change"


@dataclass(frozen=True, eq=False)
class Going:
    """Rhythm and speed over time.

    Attributes
    ----------
    count
        (samples, 4) strides of each foot, whole at its contacts.
    down
        (samples, 4) share of a stride each foot is down.
    speed_m_s
        (samples,) along the path. [m/s]
    share
        (samples, cycles) how far each cycle's manner counts; sums to 1.
    """

    count: Array
    down: Array
    speed_m_s: Array
    share: Array
