"""Strides of a clip without a period, and the stretches they make: one gait, a change, a halt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.check.shot.standing import Stand
from gaitgen.course import steps
from gaitgen.course.named_gait import summarise
from gaitgen.course.steps import Steps
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

LEFT_HIND = LIMBS.index("LH")
ALIKE = 0.08  # of a stride: strides of one gait whose lengths differ by no more go on evenly
LEAST_ALIKE = 1.6  # frames, since contacts are on whole frames
SHIFT = 0.08  # of a stride: so much the feet of two strides may land apart from each other
MOST_ODD = 2  # strides between others that are alike, which are a fault of theirs and no change
HALT_S = 0.3  # all feet down for so long, and the body slow
HALT_SPEED = 0.14  # hip heights a second
PART = 1.1  # strides: what is left over at an end of a clip is no longer
HALT = "a halt"  # as what a stretch changes from or to
GOES, CHANGES, STANDS, JUMPS = "goes", "changes", "stands", "jumps"


@dataclass(frozen=True, eq=False)
class Stride:
    """From one contact of the left hind foot to its next.

    Attributes
    ----------
    first, last
        Rows of the two contacts.
    contact, duty
        (4,) as shares of the stride, in LIMBS order; nan where a foot does not land once.
    name
        Of the gait; empty where there is none.
    """

    first: int
    last: int
    contact: Array
    duty: Array
    name: str

    @property
    def frames(self) -> int:
        """Length."""
        return self.last - self.first


@dataclass(frozen=True)
class Stretch:
    """Some rows of a clip in which an animal does one thing.

    Attributes
    ----------
    what
        GOES, CHANGES, STANDS or JUMPS.
    gait
        Name of the gait it goes in; of a change, from what to what; empty where nobody knows.
    first, last
        Rows; the last is the first of what follows.
    period
        Length of a stride where it goes, of the shortest beside a change; 0 where there is none. [frames]
    """

    what: str
    gait: str
    first: int
    last: int
    period: float = 0.0


def strides_of(every: Sequence[Stand], frames: int, animal: Animal) -> list[Stride]:
    """Cut a clip of so many frames into strides."""
    own = [[s for s in every if s.limb == limb] for limb in range(4)]
    lands = [[s for s in feet if s.first > 0] for feet in own]
    starts = [s.first for s in lands[LEFT_HIND]]
    return [_stride(a, b, lands, frames, animal) for a, b in pairwise(starts)]


def _stride(first: int, last: int, lands: Sequence[Sequence[Stand]], frames: int, animal: Animal) -> Stride:
    """Take what each foot does between two contacts of the left hind foot."""
    length = last - first
    contact, duty = np.full(4, np.nan), np.full(4, np.nan)
    for limb in range(4):
        # a foot that lands with the left hind foot may do so a frame before it
        here = [s for s in lands[limb] if first - 0.15 * length <= s.first < last - 0.15 * length]
        if limb == LEFT_HIND:
            here = [s for s in lands[limb] if s.first == first]
        if len(here) == 1 and here[0].last < frames - 1:
            contact[limb] = (here[0].first - first) / length
            duty[limb] = (here[0].last - here[0].first) / length
    return Stride(first, last, contact, duty, _named(contact, duty, animal))


def end_names(every: Sequence[Stand], frames: int, animal: Animal) -> tuple[str, str]:
    """Name the gaits of the first and last stride, from one event of any foot to its next; empty if none."""
    own = [[s for s in every if s.limb == limb] for limb in range(4)]
    lands = [[s for s in feet if s.first > 0 and s.last < frames - 1] for feet in own]
    events = [[s.first for s in feet if s.first > 0] for feet in own]
    events += [[s.last for s in feet if s.last < frames - 1] for feet in own]
    spans = {(a, b) for rows in events for a, b in pairwise(rows)}
    names = (_named(*_in_span(*span, lands), animal) for span in sorted(spans, key=lambda each: each[::-1]))
    first = next((name for name in names if name), "")
    names = (_named(*_in_span(*span, lands), animal) for span in sorted(spans, reverse=True))
    return first, next((name for name in names if name), "") if first else ""


def _in_span(first: int, last: int, lands: Sequence[Sequence[Stand]]) -> tuple[Array, Array]:
    """Contact and duty, (4,), of the feet that land once from a row on until another; nan for others."""
    contact, duty, length = np.full(4, np.nan), np.full(4, np.nan), last - first
    for limb, feet in enumerate(lands):
        here = [s for s in feet if first <= s.first < last]
        if len(here) == 1:
            contact[limb] = (here[0].first - first) / length
            duty[limb] = (here[0].last - here[0].first) / length
    return contact, duty


def _named(contact: Array, duty: Array, animal: Animal) -> str:
    """Name the gait of a stride of an animal."""
    if np.isnan(contact + duty).any() or not 0.0 < duty.min() <= duty.max() < 1.0:
        return ""
    try:
        found = summarise(
            Steps(
                limb=np.arange(4),
                touchdown_s=contact % 1.0,
                liftoff_s=contact % 1.0 + duty,
                place_m=np.zeros((4, 2)),
                heading_rad=np.zeros(4),
                loop=steps.Loop(1.0),
            ),
            animal,
        )
    except GaitError:
        return ""
    name = found.name.partition(",")[0] if found.name.startswith("walk") else found.name
    return name if found.lead is None or found.lead in name else f"{name}, {found.lead} lead"


def stretches_of(
    strides: Sequence[Stride],
    down: npt.NDArray[np.bool_],
    speed: Array,
    frame_rate_hz: float,
    ends: tuple[str, str] = ("", ""),
) -> list[Stretch]:
    """Put strides together.

    Parameters
    ----------
    strides
        In order.
    down
        (frames, 4) which feet stand.
    speed
        (frames,) of the body. [hip heights a second]
    frame_rate_hz
        Frames a second.
    ends
        Gaits of the first and the last stride, where these are known.

    Returns
    -------
    In order, from the first row to the last without a gap.
    """
    frames = len(down)
    still = down.all(axis=1) & (speed < HALT_SPEED)
    halts = [pair for pair in runs(still) if pair[1] - pair[0] >= HALT_S * frame_rate_hz]
    fixed = [Stretch(STANDS, "", first, last) for first, last in halts]
    fixed += [piece for piece in _even(strides, halts) if not _crosses(piece.first, piece.last, halts)]
    fixed.sort(key=lambda piece: piece.first)
    made, at = list[Stretch](), 0
    for piece in fixed:
        if piece.first > at:
            made.append(Stretch(CHANGES, "", at, piece.first))
        elif made and made[-1].what == piece.what == GOES and made[-1].gait != piece.gait:
            made.append(Stretch(CHANGES, "", at, at))  # strides of one gait and of another, with none between
        made.append(replace(piece, first=max(piece.first, at)))
        at = made[-1].last
    if at < frames - 1:
        made.append(Stretch(CHANGES, "", at, frames - 1))
    made = [each for each in _settled(_to_the_ends(made, frames)) if each.last > each.first]
    first, last = (HALT if still[row] else end for row, end in zip((0, -1), ends, strict=True))
    return [_changing(made, k, strides, (first, last)) for k in range(len(made))]


def with_jumps(made: Sequence[Stretch], jumps: Sequence[tuple[int, int]]) -> list[Stretch]:
    """Put jumps, from their first row to their last, in place of what stretches would be there."""
    cut: list[Stretch] = []
    for piece in made:
        spans = [(piece.first, piece.last)]
        for first, last in jumps:
            spans = [part for a, b in spans for part in ((a, min(b, first)), (max(a, last), b))]
            spans = [(a, b) for a, b in spans if b > a]
        cut += [replace(piece, first=a, last=b) for a, b in spans]
    cut += [Stretch(JUMPS, "", first, last) for first, last in jumps]
    return sorted(cut, key=lambda piece: piece.first)


def _settled(made: Sequence[Stretch]) -> list[Stretch]:
    """Give the stride beside a change to it, where one is left: its feet go evenly before its body does."""
    pieces = list(made)
    for k, piece in enumerate(made):
        if piece.what != GOES:
            continue
        by = round(piece.period)
        for side, other in ((-1, k - 1), (1, k + 1)):
            own = pieces[k]
            if not 0 <= other < len(made) or made[other].what != CHANGES or own.last - own.first < 2 * by:
                continue
            if side < 0:
                pieces[k] = replace(own, first=own.first + by)
                pieces[other] = replace(pieces[other], last=own.first + by)
            else:
                pieces[k] = replace(own, last=own.last - by)
                pieces[other] = replace(pieces[other], first=own.last - by)
    return pieces


def _changing(made: Sequence[Stretch], k: int, strides: Sequence[Stride], ends: tuple[str, str]) -> Stretch:
    """Say from what to what (or through what) it changes, and how long the shortest stride beside it is."""
    own = made[k]
    if own.what != CHANGES:
        return own
    beside = [made[k + by] if 0 <= k + by < len(made) else None for by in (-1, 1)]
    inside = [s for s in strides if s.name and own.first <= s.first and s.last <= own.last]
    names = [
        (HALT if each.what == STANDS else each.gait)
        if each is not None
        else ends[at] or (inside[at].name if inside else "")
        for each, at in zip(beside, (0, -1), strict=True)
    ]
    if names == [HALT, HALT] and inside:  # a few steps of a gait, too few to be strides that are alike
        names.insert(1, inside[len(inside) // 2].name)
    periods = [each.period for each in beside if each is not None and each.period]
    periods += [float(s.frames) for s in inside]
    return replace(own, gait=" to ".join(names) if all(names) else "", period=min(periods, default=0.0))


def _crosses(start: int, end: int, halts: Sequence[tuple[int, int]]) -> bool:
    return any(first < end and last > start for first, last in halts)


def _even(strides: Sequence[Stride], halts: Sequence[tuple[int, int]]) -> list[Stretch]:
    """Put strides that are alike into stretches; some odd ones between them, but no halt, belong to these."""
    named = [k for k, stride in enumerate(strides) if stride.name]
    groups: list[list[int]] = []
    for k in named:
        last = groups[-1][-1] if groups else -MOST_ODD - 2
        goes_on = k - last - 1 <= MOST_ODD and not _crosses(strides[last].last, strides[k].first, halts)
        if groups and goes_on and _alike(strides, groups[-1], k):
            groups[-1].append(k)
        else:
            groups.append([k])
    kept = [group for group in groups if len(group) > 1]
    return [
        Stretch(
            GOES,
            strides[group[0]].name,
            strides[group[0]].first,
            strides[group[-1]].last,
            float(np.median([strides[k].frames for k in group])),
        )
        for group in kept
    ]


def _alike(strides: Sequence[Stride], group: Sequence[int], k: int) -> bool:
    """Whether a stride goes on as those of a group do."""
    new = strides[k]
    last = strides[group[-1]]
    period = float(np.median([strides[each].frames for each in group]))
    if new.name != last.name or abs(new.frames - period) > max(LEAST_ALIKE, ALIKE * period):
        return False
    apart = (new.contact - last.contact + 0.5) % 1.0 - 0.5
    return float(np.abs(apart).max()) < max(SHIFT, 1.6 / period)


def _to_the_ends(made: list[Stretch], frames: int) -> list[Stretch]:
    """Let what is at the ends of a clip and shorter than a stride belong to what is beside it."""
    if len(made) > 1 and made[0].what == CHANGES and made[1].what == GOES:
        by = made[0].last - made[0].first
        made = [replace(made[1], first=0), *made[2:]] if by <= PART * made[1].period else made
    if len(made) > 1 and made[-1].what == CHANGES and made[-2].what == GOES:
        by = made[-1].last - made[-1].first
        made = [*made[:-2], replace(made[-2], last=frames - 1)] if by <= PART * made[-2].period else made
    return made
