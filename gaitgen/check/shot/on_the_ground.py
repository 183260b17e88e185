"""Which stances of a clip are on the ground, and not of feet that are held still in the air."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.check.shot.ground import FoundGround, found_ground
from gaitgen.check.shot.standing import Stand
from gaitgen.course.ground import Ground

# Hip heights over the ground: so high a foot stands on nothing; not so high, it stands but for a moment.
HIGH, HOVERS, SHORT = 0.1, 0.012, 0.6


def on_the_ground(
    every: list[Stand], hip_height_m: float, surface: Ground | None = None
) -> tuple[list[Stand], FoundGround | None]:
    """Leave out feet that are held still in the air, for they stand on nothing; and find the ground.

    Parameters
    ----------
    every
        Where toes keep their place.
    hip_height_m
        Of the animal. [m]
    surface
        The ground, where it is known.

    Returns
    -------
    Those that stand on the ground, in their order, and the ground; None if there are too few to tell it.
    """
    ground = found_ground(every, hip_height_m, surface)
    if ground is None:
        return every, None
    order = list(ground.stands)
    over = ground.over_m / hip_height_m
    if surface is not None:
        over = over - np.median(over)
    held = (over > HIGH) | ((over > HOVERS) & _is_short(order))
    if not held.any():
        return every, ground
    kept = {id(stand) for stand, is_held in zip(order, held, strict=True) if not is_held}
    every = [stand for stand in every if id(stand) in kept]
    return every, found_ground(every, hip_height_m, surface)


def _is_short(order: Sequence[Stand]) -> npt.NDArray[np.bool_]:
    """Whether stances are short against those of the same foot before and after them."""
    short = np.zeros(len(order), dtype=bool)
    for limb in range(4):
        own = [k for k, stand in enumerate(order) if stand.limb == limb]
        length = np.array([order[k].last - order[k].first for k in own], dtype=np.float64)
        if len(own) > 2:
            long = np.pad(length, 1, mode="reflect")
            short[own] = length < SHORT * np.minimum(long[:-2], long[2:])
    return short
