"""Style factors: how far the motion departs from the neutral, physical one."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from gaitgen.errors import RequestError

LEAST, GREATEST = 0.0, 3.0


@dataclass(frozen=True)
class Style:
    """Factors, 1 = the physical motion; each scales one thing. [0 to 3]

    Attributes
    ----------
    bounce
        Rise and fall of hips and chest.
    sway
        Sideways shift of hips and chest, and roll and bend of the back.
    nod
        Swing of neck and head.
    lift
        Height of the swinging hooves and fold of the swinging legs.
    overlap
        Swing of ears, jaw and tail.
    weight
        How far the fetlocks sink under load.
    reach
        Distance a foot covers on the ground.
    """

    bounce: float = 1.0
    sway: float = 1.0
    nod: float = 1.0
    lift: float = 1.0
    overlap: float = 1.0
    weight: float = 1.0
    reach: float = 1.0

    def __post_init__(self) -> None:
        """Refuse factors that are no factor.

        Raises
        ------
        RequestError
            For a factor that is not a finite number between 0 and 3 (lift and reach: 0.3 and 3).
        """
        for item in fields(self):
            value = getattr(self, item.name)
            least = 0.3 if item.name in {"lift", "reach"} else LEAST
            if not (math.isfinite(value) and least <= value <= GREATEST):
                message = (
                    f"style factor {item.name} is {value:g}; give a number between {least:g} and {GREATEST:g}"
                )
                raise RequestError(message)
