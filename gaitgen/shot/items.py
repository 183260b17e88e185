"""What a shot is made of: sections, halts and turns on the spot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.shot.cycle import Cycle
from gaitgen.shot.on_the_spot import TurnOnSpot
from gaitgen.shot.section import Section

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Halt:
    """Standing between two sections, or at either end: how long. [frames]"""

    frames: int


Item = Section | Halt | TurnOnSpot


def cycles_of(item: Item) -> tuple[Cycle, ...]:
    """Return the cycles of an item, in order."""
    if isinstance(item, Section):
        return tuple(cycle for cycle, _ in item.cycles)
    return (item.cycle,) if isinstance(item, TurnOnSpot) else ()
