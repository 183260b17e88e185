"""The soles of a rig whose limbs end in a joint, without an End Site that tells where the toe is."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice
from gaitgen.rigs.doubt import Doubt

Array = npt.NDArray[np.float64]

# A last joint that is farther over the ground of the file than the first, and nearer than the second, stands
# on a sole that the file leaves out (hip heights).
OVER_GROUND = (0.01, 0.2)


def with_soles(
    heights: Array,
    here: Array,
    chains: Mapping[str, list[int]],
    toes: Mapping[str, Array],
    template: Animal,
    hip: float,
    notices: list[Notice],
) -> dict[str, Array]:
    """Put the toes on the ground of the file, where all four limbs end in joints a little over it.

    Parameters
    ----------
    heights, here
        Heights of the nodes over the 0 of the file, and their places: forward, left, up from the lowest ends
        of the limbs.
    chains, toes
        Joints of each limb, and the ground point of its toe as the ends of the file have it.
    template, hip
        The animal whose feet it has, and the height of its hips.
    notices
        Gets what was guessed.
    """
    lasts = {limb: chain[-1] for limb, chain in chains.items()}
    if any(np.linalg.norm(here[last] - toes[limb]) > OVER_GROUND[0] * hip for limb, last in lasts.items()):
        return dict(toes)
    over = heights[list(lasts.values())]
    least, most = OVER_GROUND[0] * hip, OVER_GROUND[1] * hip
    if not (least < over.min() and over.max() < most):
        text = (
            "the limbs end in joints at the height of the ground, which are taken for the toes; if soles are "
            "below them, correct toe of each limb in the map."
        )
        notices.append(Doubt("toes", text))
        return dict(toes)
    scale = hip / template.hip_height_m
    made = {}
    for limb, toe in toes.items():
        ahead = scale * template.limb("fore" if limb[1] == "F" else "hind").foot.toe_m
        made[limb] = toe + np.array([ahead, 0.0, -float(over.mean())])
    text = (
        f"the limbs end in joints {float(over.mean()):.3g} units over the 0 of the file, which is taken for "
        f"the ground, with toes as long as those of {template.name}; correct toe of each limb in the map."
    )
    notices.append(Doubt("toes", text))
    return made
