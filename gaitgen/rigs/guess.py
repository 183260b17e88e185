"""Which animal lends a rig its limb laws, feet and style, and in which unit the rig is built."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.errors import Notice
from gaitgen.formats.units import METRES_PER_UNIT, SCALED_UNITS, unit_m
from gaitgen.gait.request import Request
from gaitgen.rigs.bones import misfit
from gaitgen.rigs.doubt import Doubt

Array = npt.NDArray[np.float64]

# Of two animals whose limbs fit a rig about alike, this near in misfit, either may be meant (estimate).
NEAR_MISFIT = 0.25
ALIKE_MISFIT = 0.02  # ... and this near, the one whose size is likelier is meant
FAR_MISFIT = 0.8  # ... and one that fits worse than this is like none of them
# A rig is up to so many times larger or smaller than the animal it is most like (estimate) ...
SIZE_SPREAD = math.log(3.0)
# ... and hips of four-legged animals are inside these heights; each doubling beyond them costs so much.
HIP_LIMITS_M = (0.12, 2.2)
DOUBLING_PRICE = 2.0
# How rarely a rig is built in each unit (common practice, no source).
UNIT_PRICE = {"cm": 0.0, "m": 0.0, "mm": 1.5, "in": 0.8} | dict.fromkeys(SCALED_UNITS, 6.0)
UNITS = (*METRES_PER_UNIT, *SCALED_UNITS)


def guess_template(limbs: Mapping[str, Array], hip: float, notices: list[Notice]) -> str:
    """Choose the animal whose limbs are most like those of a rig, seen from the side.

    Parameters
    ----------
    limbs
        ``fore`` and ``hind``: joints of the left limb from the ground point of its toe, (joints, 3).
    hip
        Height of the hips, in the same unit.
    notices
        Gets a doubt that names the animal, and another that fits nearly as well.
    """
    animals = [load_animal(name) for name in animal_names()]
    cost = {a.name: sum(misfit(a, end, points, hip) for end, points in limbs.items()) for a in animals}
    species = {a.name: a.species for a in animals}
    least = min(cost.values())
    alike = [a for a in animals if cost[a.name] <= least + ALIKE_MISFIT]
    best = min(alike, key=lambda a: min(_price(hip, unit, a) for unit in UNITS)).name
    usual = Request().animal
    chosen = usual if isinstance(usual, str) and species.get(usual) == species[best] else best
    others = {name: value for name, value in cost.items() if species[name] != species[best]}
    second = min(others, key=lambda name: others[name], default=None)
    text = f"limb laws, feet and style are borrowed from {chosen}, whose limbs are most like the rig's"
    if cost[best] > FAR_MISFIT:
        text += ", though not very"
    if second is not None and cost[second] - cost[best] < NEAR_MISFIT:
        text += f"; {second} is nearly as like"
    names = ", ".join(name for name in animal_names() if name != chosen)
    notices.append(Doubt("template", f"{text}; `gaitgen fit --animal` takes another: {names}."))
    return chosen


def _price(hip: float, unit: str, template: Animal) -> float:
    """How unlikely hips of this height are in a unit, for a rig that is like some animal."""
    hip_m = hip * unit_m(unit)
    spread = math.log(hip_m / template.hip_height_m) / SIZE_SPREAD
    least, most = HIP_LIMITS_M
    beyond = max(0.0, math.log2(least / hip_m), math.log2(hip_m / most))
    return spread**2 / 2.0 + DOUBLING_PRICE * beyond + UNIT_PRICE[unit]


def guess_unit(hip: float, template: Animal, notices: list[Notice]) -> str:
    """Guess the unit from the height of the hips, beside the animal that the limbs are like."""
    unit = min(UNITS, key=lambda unit: _price(hip, unit, template))
    text = (
        f"unit guessed: {unit} (hips {hip * unit_m(unit):.3g} m, those of {template.name} "
        f"{template.hip_height_m:.2g} m); if wrong, set unit in the map."
    )
    notices.append(Doubt("unit", text))
    return unit
