"""Gives the passages before a halt more or fewer whole strides, so that it comes to rest on its mark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from gaitgen.shot.draft import Draft, Part
from gaitgen.shot.draft_layout import DraftLayout
from gaitgen.shot.repacing import Reached, Repacing


@dataclass(frozen=True, eq=False)
class Restriding:
    """Changes how many strides some passages of a draft have.

    Attributes
    ----------
    layout
        What lays the draft out.
    span
        The passages that are free, by number.
    """

    layout: DraftLayout
    span: list[int]

    def reaching(self, draft: Draft, target_m: float, reached: Reached, enough_m: float) -> Draft:
        """Take strides with which a mark is met, at some speed, or nearly if there are none.

        How far a shot goes at a speed jumps by a stride where a start or a change takes one more, so that a
        stride more or less in one passage, or one of them in another, may meet what no speed does: of those
        that do, the one that goes nearest by itself is taken.

        Parameters
        ----------
        draft
            What misses the mark by much.
        target_m, reached
            Where along the path the mark is, and how to tell how far a draft as it is laid out goes. [m]
        enough_m
            What is a hit. [m]
        """
        speeds = {n: self.layout.cycle(draft, n).speed_m_s for n in self.span}
        repacing = Repacing(self.layout, self.span, speeds)

        def hits(each: Draft) -> bool:
            best = repacing.reach(each, target_m, reached)
            return abs(reached(self.layout.lay(best)) - target_m) <= enough_m

        def off_m(each: Draft) -> float:
            return abs(reached(self.layout.lay(each)) - target_m)

        draft = self._farther(draft, target_m - reached(self.layout.lay(draft)))
        return draft if hits(draft) else next(filter(hits, sorted(self._beside(draft), key=off_m)), draft)

    def said(self, before: Draft, after: Draft) -> list[str]:
        """Say which passages have other strides than before."""
        found = []
        for n in self.span:
            strides, asked = after.parts[n].strides, before.parts[n].strides
            if strides != asked:
                count = "stride" if strides == 1 else "strides"
                found.append(f"{after.name_of(n)} has {strides} {count} instead of {asked}")
        return found

    def _farther(self, draft: Draft, more_m: float) -> Draft:
        """Go so much farther by whole strides, the last passages first.

        Each keeps one of those it has, as long as others can be shorter: a gait that an animal only passes
        through on its way to a halt is not seen, and hard on its legs.
        """
        rate = self.layout.lay(draft)[0].frame_rate_hz
        for kept in (1, 0):
            left = max(kept, int(any(_can_be_shorter(draft.parts[n]) for n in self.span)))
            for n in reversed(self.span):
                cycle, part = self.layout.cycle(draft, n), draft.parts[n]
                stride_m = cycle.speed_m_s * cycle.frames / rate
                least = part.strides if part.jump is not None else min(left, part.strides)
                strides = max(least, part.strides + round(more_m / stride_m))
                more_m -= (strides - part.strides) * stride_m
                draft = draft.with_part(n, replace(part, strides=strides))
        return draft

    def _beside(self, draft: Draft) -> Iterator[Draft]:
        """Yield drafts with a stride more or less, or one in another passage, of those that keep one."""
        for n in reversed(self.span):
            for more in (1, -1):
                found = _with_more(draft, n, more)
                if found is None:
                    continue
                yield found
                others = (_with_more(found, other, -more) for other in reversed(self.span) if other > n)
                yield from (each for each in others if each is not None)


def _can_be_shorter(part: Part) -> bool:
    return part.jump is None and part.strides > 1


def _with_more(draft: Draft, number: int, more: int) -> Draft | None:
    """Give a passage so many strides more; None if it would keep none, or has a jump."""
    part = draft.parts[number]
    if part.jump is not None or part.strides + more < 1:
        return None
    return draft.with_part(number, replace(part, strides=part.strides + more))
