"""Scales the speeds of passages until something is reached: a mark, a take-off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from gaitgen.errors import GaitgenError
from gaitgen.pipeline.settle import settle
from gaitgen.shot.draft import Draft
from gaitgen.shot.draft_layout import DraftLayout, Laying

# How much slower and faster than it would a passage goes for a mark, at the most (estimates: an animal walks
# and trots at such speeds without another gait).
SLOWEST, FASTEST = 0.7, 1.35
ROUNDS, TEMPO_ROUNDS = 4, 2

Reached = Callable[[Laying], float]


@dataclass(frozen=True, eq=False)
class Repacing:
    """Finds speeds of some passages of a draft.

    Attributes
    ----------
    layout
        What lays the draft out.
    span
        The passages that are free, by number.
    before_m_s
        The speed at which each of them would go by itself. [m/s]
    """

    layout: DraftLayout
    span: list[int]
    before_m_s: dict[int, float]

    def reach(self, draft: Draft, target_m: float, reached: Reached) -> Draft:
        """Scale the speeds until ``reached`` is ``target_m``, or as near as the gaits allow."""
        for tried in range(ROUNDS if self.span else 0):

            def off(factor: float, now: Draft = draft) -> float:
                return reached(self.layout.lay(paced(now, self.span, factor))) - target_m

            factor = _root(off, self._limits(draft))
            if abs(factor - 1.0) < 1e-7:
                break
            respeeded = self._respeeded(draft, factor, retimed=tried < TEMPO_ROUNDS)
            if respeeded is None:
                break
            draft = respeeded
        return draft

    def _limits(self, draft: Draft) -> tuple[float, float]:
        """Return how much slower and faster, against now, all passages may go."""
        now = [self.layout.cycle(draft, n).speed_m_s / self.before_m_s[n] for n in self.span]
        return max(SLOWEST / each for each in now), min(FASTEST / each for each in now)

    def _respeeded(self, draft: Draft, factor: float, *, retimed: bool) -> Draft | None:
        """Ask for passages at other speeds, and the tempo that the animal has at those; None if it cannot."""
        try:
            for n in self.span:
                part, cycle = draft.parts[n], self.layout.cycle(draft, n)
                own = cycle.settled.asked
                asked = replace(own, speed_m_s=factor * cycle.speed_m_s, froude=None, stride_length_m=None)
                if retimed and part.own_tempo:
                    asked = replace(asked, frames=settle(replace(asked, frames=None)).frames)
                self.layout.cycle_of(asked)
                draft = draft.with_part(n, replace(part, asked=asked))
        except GaitgenError:  # beyond what the animal can
            return None
        return draft


def paced(draft: Draft, span: list[int], factor: float) -> Draft:
    """Let passages go faster by a factor, each at its own tempo."""
    for n in span:
        draft = draft.with_part(n, replace(draft.parts[n], pace=factor))
    return draft


def _root(off: Callable[[float], float], limits: tuple[float, float]) -> float:
    """Find where a rising curve, which may jump, is zero, or the nearest end."""
    from scipy.optimize import brentq

    if abs(off(1.0)) < 1e-6:
        return 1.0
    low, high = limits
    if low >= high or off(low) >= 0.0:
        return low
    if off(high) <= 0.0:
        return high
    return float(brentq(off, low, high, xtol=1e-8))
