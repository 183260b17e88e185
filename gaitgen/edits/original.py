"""The cycle that a refined clip started from, made again from what the clip shows.

Contacts of a refined clip are a hint and no more: a hand that lowers the trunk a little over still feet moves
those that are found. What tells is how the joints turn, most of which a hand leaves alone.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Generic, TypeVar

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.course.contacts import contacts_text
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.named_gait import near_gaits
from gaitgen.edits.moves import Moves, no_moves
from gaitgen.edits.phase import Timing, farthest_apart
from gaitgen.edits.retimed import found_moves
from gaitgen.edits.seen import Seen, apart_rad, row_alike, share_between, whole_apart_rad
from gaitgen.errors import GaitgenError, RequestError
from gaitgen.gait.gait import LEADS, LIMBS, gait_names, load_gait
from gaitgen.gait.request import Request

Made = TypeVar("Made")

SAME_SHAPE_M = 2e-6  # offsets as they are printed
SAME_SPEED = 0.004  # of the speed: as the animal chooses it
SPEED_STEP = 0.04  # of the speed: how joints go with it is found over so much
SPEED_ROUNDS = 2
FARTHEST_SPEED = 2.0  # times the animal's own, up or down
ROUND_SPEED = 0.004  # m/s from a speed of two decimals, which is then meant
AS_PRINTED_RAD = 1e-6  # no farther is a clip that nobody changed, by what its file leaves of the numbers
ASKED_SHARE = 0.1  # farther from a clip is what asks for contacts or a speed as well (estimate)
# So much less a cycle leaves that has no contacts of its own but steps or legs moved as by hand (estimate).
PLAINLY = 0.7
SURE_RAD = np.radians(0.02)  # most joints are as in the clip: that is the one
NEAR_RAD = np.radians(3.0)  # ... are near enough that no gait need be looked at that the animal never uses
RIVALS, MOST_RIVALS = 1.6, 3  # times as far as the nearest: what else may be meant, and how many of these
NEAR_FRAMES = 0.5  # in strides that differ: the contact that is in the first frame
MOVED_FRAMES = 0.75  # a contact that is farther off was asked for


@dataclass(frozen=True, eq=False)
class Started(Generic[Made]):
    """What a refined clip started from.

    Attributes
    ----------
    request
        What makes it, one stride in place.
    made
        What that makes, with steps moved as a hand moved them.
    seen
        What it shows.
    apart_rad
        How far the refined clip is from it; what a hand changed hardly counts. [rad]
    moved
        By how many frames a hand moved contacts and lift-offs.
    """

    request: Request
    made: Made
    seen: Seen
    apart_rad: float
    moved: Moves


def animal_of(own: Animal) -> str | Animal:
    """Return the name of the animal of a clip that was read, or the animal itself if it has another shape."""
    if own.name in animal_names():
        known = load_animal(own.name)
        if known.offsets_m.shape == own.offsets_m.shape:
            away = np.abs(known.offsets_m - own.offsets_m)[1:]
            if float(away.max()) < SAME_SHAPE_M:
                return own.name
    return own


@dataclass(frozen=True, eq=False)
class Maker(Generic[Made]):
    """Makes cycles, looks at them, and moves their steps by frames, as far as legs reach.

    To move leaves feet of legs that are moved whole where these turn them, to plant puts them on the ground.
    What was made once is kept in ``known``, or that it cannot be made.
    """

    make: Callable[[Request], Made]
    look: Callable[[Made], Seen]
    move: Callable[[Made, Moves], tuple[Made, Moves]]
    plant: Callable[[Made, Moves], tuple[Made, Moves]]
    known: dict[Request, tuple[Made, Seen] | None] = field(default_factory=dict)

    def tried(self, seen: Seen, request: Request) -> Started[Made] | None:
        """Make what a clip may have been, if that can be made."""
        if request not in self.known:
            self.known[request] = None
            with suppress(GaitgenError):
                made = self.make(request)
                self.known[request] = made, self.look(made)
        kept = self.known[request]
        if kept is None or kept[1].frames != seen.frames:
            return None
        return Started(request, *kept, apart_rad(seen, kept[1]), no_moves())


def started_from(
    seen: Seen,
    asked: tuple[Request, ...],
    maker: Maker[Made],
    refuse: Callable[[list[Started[Made]]], None] = lambda _: None,
) -> Started[Made]:
    """Find the cycle that a refined stride started from.

    Parameters
    ----------
    seen, asked, maker
        The refined stride, its timing a hint; whose it is and in which styles it may be; what makes cycles.
    refuse
        Refuses what was tried in all gaits, before other contacts and speeds are, where none is near.

    Raises
    ------
    RequestError
        If no gait that gaitgen knows is like it.
    """
    best: tuple[Started[Made], ...] = ()
    one = seen.frames // asked[0].strides if asked[0].seed is not None else seen.frames
    styles = [replace(each, frames=one, frame_rate_hz=seen.frame_rate_hz) for each in asked]
    searches = [_in_gaits(seen, each, maker) for each in styles]
    tried = [next(each, []) for each in searches]  # in every style, before other gaits are tried in any
    if not any(each.apart_rad < SURE_RAD for some in tried for each in some):
        for each in searches:
            deque(each, 0)  # it adds to what it has told of
        refuse([each for some in tried for each in some])
    for some in tried:
        found = _nearest(seen, some, maker)
        if found and (not best or found[0].apart_rad < best[0].apart_rad):
            best = found
    if not best:
        raise RequestError(
            "no gait of gaitgen's is like this clip; name the clip that it started from with --from"
        )
    first, *plain = (retimed(seen, each, maker) for each in best)
    apart = whole_apart_rad(seen, first.seen)
    return next((each for each in plain if whole_apart_rad(seen, each.seen) < PLAINLY * apart), first)


def retimed(seen: Seen, start: Started[Made], maker: Maker[Made]) -> Started[Made]:
    """Find contacts and lift-offs that a hand moved, and move those of the cycle."""
    moves = found_moves(start.seen, seen) if start.request.seed is None else no_moves()
    if not moves.any():
        return start
    later = []
    for move in (maker.move, maker.plant) if moves.is_whole.any() else (maker.move,):
        made, by = move(start.made, moves)
        later.append(replace(start, made=made, seen=maker.look(made), moved=by))
    return min(later, key=lambda each: whole_apart_rad(seen, each.seen))


def with_contacts(request: Request, timing: Timing, speed_m_s: float | None) -> Request:
    """Ask for contacts instead of what says them otherwise."""
    return replace(
        request,
        contacts=contacts_text(_cycle(timing)),
        speed_m_s=speed_m_s,
        froude=None,
        stride_length_m=None,
        lead=None,
        start=None,
        lag=None,
        duty_factor=None,
    )


def _in_gaits(seen: Seen, asked: Request, maker: Maker[Made]) -> Iterator[list[Started[Made]]]:
    """Make cycles of the gaits that contacts of a clip hint at, then of more, until one is near enough.

    All that were found so far are told after each round.
    """
    found: list[Started[Made]] = []
    done: set[tuple[str, str | None]] = set()
    for some, enough_rad in _gaits(seen, asked):
        for gait, lead in some:
            if (gait, lead) not in done:
                found += _of_gait(seen, replace(asked, gait=gait, lead=lead), maker)
            done.add((gait, lead))
        yield found
        if found and min(each.apart_rad for each in found) < enough_rad:
            break


def _nearest(seen: Seen, found: list[Started[Made]], maker: Maker[Made]) -> tuple[Started[Made], ...]:
    """Find what is nearest to a clip, with other contacts and speeds too.

    If that has contacts of its own, the nearest without follows: its steps or a leg may have been moved.
    """
    if not found:
        return ()
    found = sorted(found, key=lambda each: each.apart_rad)
    if (least := found[0].apart_rad) > SURE_RAD:
        for each in found[:MOST_RIVALS]:
            if each.apart_rad < RIVALS * least:
                found += _asked_more(seen, each, maker)
    found += _at_round_speed(seen, min(found, key=lambda each: each.apart_rad), maker)
    found.sort(key=lambda each: unlikely(each.apart_rad, each.request))
    plain = [each for each in found if each.request.contacts is None]
    return (found[0], *(plain[:1] if found[0].request.contacts is not None else ()))


def unlikely(apart: float, request: Request) -> float:
    """Say how unlikely a request is, by how far what it makes is from a clip: the more, the more it asks."""
    asked = (request.contacts is not None) + (request.speed_m_s is not None)
    return apart * (1.0 + ASKED_SHARE * asked)


def _gaits(seen: Seen, asked: Request) -> Iterator[tuple[tuple[tuple[str, str | None], ...], float]]:
    """List gaits and leads, those of the contacts, the animal's, all; and what is near enough. [rad]"""
    if asked.gait is not None:
        yield ((asked.gait, asked.lead),), SURE_RAD
    if seen.timing is not None:
        yield near_gaits(_cycle(seen.timing)), SURE_RAD
    animal = asked.animal if isinstance(asked.animal, Animal) else load_animal(asked.animal)
    for names, enough_rad in ((animal.gaits, NEAR_RAD), (gait_names(), 0.0)):
        gaits = [load_gait(name) for name in names]
        yield tuple((g.name, lead) for g in gaits for lead in (LEADS if g.has_lead else (None,))), enough_rad


def _of_gait(seen: Seen, asked: Request, maker: Maker[Made]) -> list[Started[Made]]:
    """Make a cycle of a gait as the animal takes it, from the moment at which it is most like the clip."""
    found = maker.tried(seen, asked)
    if found is None or found.seen.timing is None:
        return []
    row = row_alike(seen, found.seen)
    if row == 0:
        return [found]
    timing = found.seen.from_row(row).timing
    assert timing is not None  # noqa: S101
    near = 1e-6 if timing.strides == 1 else NEAR_FRAMES
    away = [min(contact, seen.frames - contact) for contact in timing.contact]
    first = [k % len(LIMBS) for k in range(len(away)) if away[k] < near]
    if timing.strides > 1 and not first:
        return [found]
    asked = (
        replace(asked, start=LIMBS[first[0]]) if first else with_contacts(asked, timing, found.seen.speed_m_s)
    )
    again = maker.tried(seen, asked)
    return [found] if again is None else [found, again]


def _asked_more(seen: Seen, found: Started[Made], maker: Maker[Made]) -> Iterator[Started[Made]]:
    """Try contacts that the clip shows, and another speed."""
    several, own, timing = [found], found.seen.timing, seen.timing
    if timing is not None and own is not None and farthest_apart(own, timing) > MOVED_FRAMES:
        made = maker.tried(seen, with_contacts(found.request, timing, None))
        several += [] if made is None else [made]
    yield from several[1:]
    for each in several:
        faster = _at_speed(seen, each, maker)
        if faster is not None:
            yield faster


def _at_speed(seen: Seen, found: Started[Made], maker: Maker[Made]) -> Started[Made] | None:
    """Find the speed of the clip, from how joints go with it; None if it is the animal's own."""
    best, own = found, found.seen.speed_m_s
    for _ in range(SPEED_ROUNDS):
        speed = best.seen.speed_m_s
        other = maker.tried(seen, replace(best.request, speed_m_s=(1.0 + SPEED_STEP) * speed))
        if other is None:
            break
        step = share_between(seen, best.seen, other.seen) * (other.seen.speed_m_s - speed)
        wanted = float(np.clip(speed + step, own / FARTHEST_SPEED, own * FARTHEST_SPEED))
        if abs(wanted - round(wanted, 2)) < ROUND_SPEED:
            wanted = round(wanted, 2)
        if abs(wanted / speed - 1.0) < SAME_SPEED and best is found:
            return None
        made = maker.tried(seen, replace(best.request, speed_m_s=wanted))
        if made is None or made.apart_rad >= best.apart_rad:
            break
        best = made
    return None if best is found else best


def _at_round_speed(seen: Seen, found: Started[Made], maker: Maker[Made]) -> list[Started[Made]]:
    """Try the speed of two decimals beside the animal's own: somebody may have asked for just that."""
    speed, is_asked = round(found.seen.speed_m_s, 2), found.request.speed_m_s is not None
    is_it = is_asked or not speed or found.apart_rad < AS_PRINTED_RAD
    made = None if is_it else maker.tried(seen, replace(found.request, speed_m_s=speed))
    return [] if made is None else [made]


def _cycle(timing: Timing) -> CycleTiming:
    return CycleTiming(timing.contact, timing.down, timing.frames)  # type: ignore[arg-type]
