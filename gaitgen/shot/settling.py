"""Feet are placed anew once the body of a shot is known, where it goes farther down and up than in cycles."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.shot.carrying import Borne, Carrying
from gaitgen.shot.placing import placed_anew

# A body that goes farther down and up than in its cycles by more than such shares of the hip height has its
# feet placed anew, once and again; of what it goes farther that is to leave so much at the most (estimates).
FARTHER, WORTH = (0.03, 0.06, 0.08), 0.9


@dataclass(frozen=True, eq=False)
class Settled:
    """A shot whose steps are laid, and the body over them."""

    carrying: Carrying
    found: Borne


def settled(carrying: Carrying) -> Settled:
    """Carry the body, and place feet that its legs do not reach anew, if it then stays nearer to its cycles.

    Feet were laid by a body without what limbs need beside it, which dips and rises otherwise.
    """
    found = carrying.carry()
    if carrying.edged or carrying.timeline.leaps or not carrying.ground.is_even:
        return Settled(carrying, found)
    hip_m = carrying.timeline.cycles[0].animal.hip_height_m
    best, farther = Settled(carrying, found), carrying.farther_m(found) / hip_m
    for enough in FARTHER:
        if farther <= enough:
            break
        again = placed_anew(carrying.timeline, found.carried, found.made)
        if again is None:
            break
        carrying = carrying.over(again)
        found = carrying.carry(found)
        now = carrying.farther_m(found) / hip_m
        if now < WORTH * farther:
            best, farther = Settled(carrying, found), now
    return best
