"""Feet are placed anew once the body of a shot is known, where it goes farther down and up than in cycles."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaitgen.shot.carrying import Borne, Carrying
from gaitgen.shot.placing import placed_anew

# Changes and halts in which the ends of the body go farther down and up than in its cycles by more than such
# shares of the hip height have their feet placed anew, once and again; of what they go farther that is to
# leave so much at the most (estimates).
FARTHER, WORTH = (0.05, 0.1, 0.12), 0.95


@dataclass(frozen=True, eq=False)
class Settled:
    """A shot whose steps are laid, and the body over them."""

    carrying: Carrying
    found: Borne


def settled(carrying: Carrying) -> Settled:
    """Carry the body, and place feet that its legs do not reach anew, if it then stays nearer to its cycles.

    Feet were laid by a body without what limbs need beside it, which dips and rises otherwise. All this is
    done without the style's sway, which is laid over the body in the end.
    """
    plain = carrying.without_sway
    best = _settled(plain)
    if plain is carrying:
        return best
    timeline = replace(best.carrying.timeline, cycles=carrying.timeline.cycles)
    own = replace(best.carrying, timeline=timeline)
    return Settled(own, own.swayed(best.found))


def _settled(carrying: Carrying) -> Settled:
    found = carrying.carry()
    best, farther = Settled(carrying, found), carrying.farther(found)
    is_plain = carrying.ground.is_even and not (carrying.edged or carrying.timeline.leaps)
    for enough in FARTHER if is_plain else ():
        again = placed_anew(carrying.timeline, found.carried, found.made, farther > enough)
        if again is None:
            break
        carrying = carrying.over(again)
        found = carrying.carry(found)
        now = carrying.farther(found)
        if np.linalg.norm(now) < WORTH * np.linalg.norm(farther):
            best, farther = Settled(carrying, found), now
    return Settled(best.carrying, best.carrying.again(best.found))
