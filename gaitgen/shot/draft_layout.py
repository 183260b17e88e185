"""Lays a draft out as a timeline, again and again while it is changed, each cycle of it once."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.gait.request import Request
from gaitgen.shot.cycle import Cycle, laid_out
from gaitgen.shot.draft import Draft, Laid, owners_of
from gaitgen.shot.laying import lay_timeline
from gaitgen.shot.timeline import Timeline

Laying = tuple[Timeline, tuple[Laid, ...]]


@dataclass(eq=False)
class DraftLayout:
    """What stays while a draft is changed: the way, the ground and the cycles that are known."""

    path: Path
    ground: Ground
    known: dict[Request, Cycle] = field(default_factory=dict)

    def lay(self, draft: Draft) -> Laying:
        """Lay a draft out on the way."""
        laid = draft.items(self.cycle_of)
        rate = next(draft.asked).frame_rate_hz
        items = tuple(each.item for each in laid)
        return lay_timeline(items, rate, self.path, self.ground, keeps_pace=True), laid

    def cycle_of(self, asked: Request) -> Cycle:
        """Lay one cycle out, or take it where it is known.

        Raises
        ------
        GaitgenError
            If the animal cannot go so.
        """
        if asked not in self.known:
            self.known[asked] = laid_out(asked)
        return self.known[asked]

    def cycle(self, draft: Draft, number: int) -> Cycle:
        """Return the cycle of a passage, which is no stand."""
        asked = draft.parts[number].asked
        assert asked is not None  # noqa: S101
        return self.cycle_of(asked)

    def passage_at(self, draft: Draft, frame: float | None = None, *, gone_m: float = 0.0) -> int:
        """Find the passage that counts most at a frame, from 0, or where the body has gone so far."""
        timeline, laid = self.lay(draft)
        owners = owners_of(laid)
        if frame is None:
            gone = timeline.pace.distance_m(timeline.frame / timeline.frame_rate_hz)
            sample = int(np.searchsorted(gone, gone_m))
        else:
            sample = int(np.searchsorted(timeline.frame, frame))
        return owners[int(np.argmax(timeline.going.share[sample]))]
