"""From what is asked to a shot that is laid out: passages counted, marks met, cycles solved."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.request import MOST_FRAMES, Request
from gaitgen.shot.asked import ShotRequest
from gaitgen.shot.asked_strides import asked_strides_notices
from gaitgen.shot.cycle import Cycle, cycle_of
from gaitgen.shot.draft import Draft, Laid, counted
from gaitgen.shot.draft_layout import DraftLayout
from gaitgen.shot.laid_shot import LaidShot, Shot
from gaitgen.shot.laying import lay_timeline
from gaitgen.shot.lingering import lingering
from gaitgen.shot.marks import Met, jumped, met
from gaitgen.shot.metres import metres_met, metres_notices
from gaitgen.shot.section import Section
from gaitgen.shot.suiting import suited
from gaitgen.shot.timeline import Timeline
from gaitgen.shot.way import eased


def shot_of(request: ShotRequest) -> Shot:
    """Solve the cycles of a shot and put its sections together.

    Raises
    ------
    GaitgenError
        If a passage is not usable, two halts follow each other, or a mark is none.
    """
    first = request.first
    withers_m = _animal(first).withers_height_m
    ways = eased(list(request.pieces), withers_m)
    path = Path(request.start_m, request.heading_rad, ways)
    timed: Path | None = None
    if request.timed_along is not None and not request.marks:  # which are met by strides along their own path
        pieces, start_m, heading_rad = request.timed_along
        timed = Path(start_m, heading_rad, eased(list(pieces), withers_m))
    _refuse_beside_jumps(request)
    draft = counted(request.passages, path, starts=request.starts, ends=request.ends)
    kept, laid = _laid(request, draft, path, timed)
    items = tuple(each.item for each in laid)
    frames = sum(item.frames for item in items)
    if frames == 0:
        raise RequestError("the shot has no frames; give a passage strides = 1 or more, or add a halt")
    if frames > MOST_FRAMES:
        raise RequestError(f"the shot has {frames} frames; ask for at most {MOST_FRAMES}")
    shot = Shot(
        items,
        first.frame_rate_hz,
        ways,
        request.start_m,
        request.heading_rad,
        request.ground,
        kept.pins,
        request.marks,
        (*kept.notices, *_passed_through(kept.draft), *asked_strides_notices(items)),
        timed,
        request.way_key,
        keeps_pace=bool(request.marks or request.jumps),
    )
    return replace(shot, notices=(*shot.notices, *_metres_missed(shot, kept.draft, laid)))


def _laid(request: ShotRequest, draft: Draft, path: Path, timed: Path | None) -> tuple[Met, tuple[Laid, ...]]:
    """Count its strides on their way, meet its marks or jumps, and put its sections together."""
    ground = request.ground
    is_level = ground == FLAT and path.is_straight
    if request.marks or request.jumps:  # which are met by what comes before them, as long as that is
        draft = draft if is_level else metres_met(draft, DraftLayout(path, ground).lay)
        kept = (
            jumped(draft, request.jumps, path, ground)
            if request.jumps
            else met(draft, request.marks, path, ground)
        )
        return kept, kept.draft.items(cycle_of)
    layout = _Solved(timed or path, ground)
    draft = draft if is_level else metres_met(draft, layout.lay)
    return Met(draft), layout.items(draft)


@dataclass(eq=False)
class _Solved:
    """Lays a draft without marks and jumps out as it will be, each cycle of it solved once.

    Attributes
    ----------
    path, ground
        Where it leads.
    known
        Cycles that are solved.
    """

    path: Path
    ground: Ground
    known: dict[Request, Cycle] = field(default_factory=dict)

    def items(self, draft: Draft) -> tuple[Laid, ...]:
        """Put sections and halts together, with as long changes and strides as the animal takes there."""
        laid = draft.items(self._cycle_of)
        items = tuple(suited(each.item) if isinstance(each.item, Section) else each.item for each in laid)
        items = lingering(items, next(draft.asked).frame_rate_hz, self.path, self.ground)
        return tuple(replace(each, item=item) for each, item in zip(laid, items, strict=True))

    def lay(self, draft: Draft) -> tuple[Timeline, tuple[Laid, ...]]:
        """Lay it out on the way."""
        laid, rate = self.items(draft), next(draft.asked).frame_rate_hz
        return lay_timeline(tuple(each.item for each in laid), rate, self.path, self.ground), laid

    def _cycle_of(self, asked: Request) -> Cycle:
        if asked not in self.known:
            self.known[asked] = cycle_of(asked)
        return self.known[asked]


def _metres_missed(shot: Shot, draft: Draft, laid: tuple[Laid, ...]) -> tuple[Notice, ...]:
    """Tell of passages that do not go as far as they are to."""
    if all(part.distance_m is None for part in draft.parts):
        return ()
    why = "as no number of strides comes nearer there; write distance = {:.2f}"
    if shot.timed_along is not None:
        why = "as its strides are those of the path in the shot file; one given there has its own"
    if shot.keeps_pace:
        first = "marks" if shot.marks else "jumps"
        why = f"as {first} come first; write distance = {{:.2f}}, or move the {first}"
    return metres_notices(draft, laid, LaidShot.of(shot).timeline, why)


def laid_along(shot: Shot, request: ShotRequest) -> Shot:
    """Lay a shot, stride by stride as it is, along the path of a request; its marks lie on its own path."""
    said = tuple(notice for notice in shot.notices if notice.topic != "mark")
    if shot.marks:
        text = (
            "marks are not met along another path; strides and speeds are those of the clip changed by hand."
        )
        said = (*said, Notice("mark", text))
    return replace(
        shot,
        pieces=eased(list(request.pieces), _animal(request.first).withers_height_m),
        start_m=request.start_m,
        heading_rad=request.heading_rad,
        way_key=request.way_key,
        pins=(),
        marks=(),
        notices=said,
        timed_along=shot.timed_along or shot.way,
    )


def _refuse_beside_jumps(request: ShotRequest) -> None:
    """Refuse marks and turns on the spot where the animal jumps.

    Raises
    ------
    RequestError
        With the first.
    """
    if request.jumps and request.marks:
        raise RequestError(
            f"{request.marks[0].where}: a shot with a jump has no marks, as the speeds of its passages "
            "are those that bring the animal to the take-off; take out each [[mark]], or make two shots, one "
            'with end = "going" and another with start = "going"'
        )
    if request.jumps and request.turns:
        turning = next(n for n, each in enumerate(request.passages, 1) if each.turn_rad != 0.0)
        raise RequestError(
            f"{request.jumps[0].where.at}: a shot with a jump has no turn on the spot (passage {turning}), "
            "after which its path turns with the animal; make two shots, one that ends before passage "
            f"{turning} and another that begins with it, or take out one of the two"
        )


def _passed_through(draft: Draft) -> tuple[Notice, ...]:
    """Tell of passages that have no whole stride of their own."""
    return tuple(
        Notice(
            "passage",
            f"{draft.name_of(number)} has no whole stride of its own, so the shot only passes through its "
            "gait; make it longer, or give strides = 1, to see one.",
        )
        for number, part in enumerate(draft.parts)
        if part.asked is not None and part.strides == 0 and not part.is_rest
    )


def _animal(request: Request) -> Animal:
    if isinstance(request.animal, Animal):
        return request.animal
    return load_animal(str(request.animal), request.proportions)
