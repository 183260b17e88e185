"""Which animal lends a rig its limb laws, feet and style, and in which unit the rig is built."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.errors import Notice
from gaitgen.formats.units import RIG_UNITS_M, SCALED_UNITS, UNIT_WORDS, unit_m
from gaitgen.gait.request import Request
from gaitgen.rigs.bones import misfit
from gaitgen.rigs.build import WORDS, Build, build_of
from gaitgen.rigs.doubt import Doubt

Array = npt.NDArray[np.float64]

# Of two animals whose limbs fit a rig about alike, this near in misfit, either may be meant (estimate).
NEAR_MISFIT = 0.25
ALIKE_MISFIT = 0.02  # ... and this near, the one whose size is likelier is meant
FAR_MISFIT = 0.9  # ... and one that fits worse than this is like none of them
LEAST_APART = 0.02  # a measure that tells two animals apart by less is not told (estimate)
# Animal and unit are guessed together: so much of a price is a hip height of misfit beyond that (estimate).
MISFIT_PRICE = 100.0
# Another unit whose price is no more than the first above the best fits as well, and one within the second
# may be meant all the same: both are told (estimates; a mouse in mm and a giant in cm are within the second).
NEAR_PRICE, FAR_PRICE = 1.0, 4.0
# A rig that is so many times larger or smaller than its animal may be built to no unit at all, as one whose
# height is 1: the unit that makes it as large as that animal is told (estimate).
OTHER_SIZE = 1.6
# A rig is seldom over so many times larger or smaller than the animal it is most like (estimate) ...
SIZE_SPREAD = math.log(2.2)
# ... and hips of four-legged animals are inside these heights; each doubling beyond them costs so much.
HIP_LIMITS_M = (0.05, 2.2)
DOUBLING_PRICE = 2.0
# How rarely a rig is built in each unit (common practice, no source).
UNIT_PRICE = {"cm": 0.0, "m": 0.0, "in": 0.5, "mm": 1.5, "ft": 1.5, "dm": 2.0} | dict.fromkeys(
    SCALED_UNITS, 6.0
)
UNITS = (*RIG_UNITS_M, *SCALED_UNITS)


def guess_template_and_unit(
    limbs: Mapping[str, Array], hip: float, build: Build, wanted: str | None, notices: list[Notice]
) -> tuple[str, str]:
    """Choose the animal that is most like a rig, its limbs seen from the side, and the rig's unit.

    Both together: of animals that are about as like, the one whose size the rig has in a likely unit.

    Parameters
    ----------
    limbs
        ``fore`` and ``hind``: joints of the left limb from the ground point of its toe, (joints, 3).
    hip
        Height of the hips, in the same unit.
    build
        What it is like beside its limbs.
    wanted
        The animal, where it is named.
    notices
        Gets doubts that name the animal and the unit, and others that fit nearly as well.
    """
    names = animal_names() if wanted is None else [wanted]
    animals = {name: load_animal(name) for name in names}
    cost = {
        name: sum(misfit(animal, end, points, hip) for end, points in limbs.items())
        + build.unlike(build_of(name))
        for name, animal in animals.items()
    }
    least = min(cost.values())
    prices = {
        unit: {
            name: MISFIT_PRICE * max(cost[name] - least - ALIKE_MISFIT, 0.0) + _price(hip, unit, animal)
            for name, animal in animals.items()
        }
        for unit in UNITS
    }
    like = {unit: min(own, key=own.__getitem__) for unit, own in prices.items()}
    unit, *others = sorted(UNITS, key=lambda unit: prices[unit][like[unit]])
    template = like[unit] if wanted is not None else _chosen(like[unit], cost, build, notices)
    dearer = {other: prices[other][like[other]] - prices[unit][like[unit]] for other in others}
    near = {other: animals[like[other]] for other in others if dearer[other] <= NEAR_PRICE}
    far = [other for other in others if NEAR_PRICE < dearer[other] <= FAR_PRICE]
    notices.append(_unit_doubt(hip, unit, animals[template], near, far))
    return template, unit


def _chosen(best: str, cost: Mapping[str, float], build: Build, notices: list[Notice]) -> str:
    """Return the animal that lends its limbs: the usual one where it is of the same species."""
    species = {name: load_animal(name).species for name in cost}
    usual = Request().animal
    chosen = usual if isinstance(usual, str) and species.get(usual) == species[best] else best
    others = {name: value for name, value in cost.items() if species[name] != species[best]}
    second = min(others, key=lambda name: others[name], default=None)
    text = (
        f"limb laws, feet and style are borrowed from {chosen}, which the rig's limbs and build are most like"
    )
    if cost[best] > FAR_MISFIT:
        text += ", though not very"
    if second is not None and cost[second] - cost[best] < NEAR_MISFIT:
        text += f"; {second} is nearly as like{_told_apart(build, chosen, second)}"
    names = ", ".join(name for name in cost if name != chosen)
    likest = tuple(sorted((name for name in cost if name != chosen), key=cost.__getitem__))
    notices.append(Doubt("template", f"{text}; `gaitgen fit --animal` takes another: {names}.", likest))
    return chosen


def _told_apart(build: Build, chosen: str, second: str) -> str:
    """Say by which measure of the rig beside its limbs two animals are told apart best, if by any."""
    here, there = build.parts(build_of(chosen)), build.parts(build_of(second))
    apart = {name: abs(there[name] - here[name]) for name in here if name in WORDS}
    name = max(apart, key=apart.__getitem__, default=None)
    if name is None or apart[name] < LEAST_APART:
        return ""
    own, one, other = (getattr(each, name) for each in (build, build_of(chosen), build_of(second)))
    return (
        f" (the {WORDS[name]} is {own:.2f} of the height of the hips, in {chosen} {one:.2f}, "
        f"in {second} {other:.2f})"
    )


def _price(hip: float, unit: str, template: Animal) -> float:
    """How unlikely hips of this height are in a unit, for a rig that is like some animal."""
    hip_m = hip * unit_m(unit)
    spread = math.log(hip_m / template.hip_height_m) / SIZE_SPREAD
    least, most = HIP_LIMITS_M
    beyond = max(0.0, math.log2(least / hip_m), math.log2(hip_m / most))
    return spread**2 / 2.0 + DOUBLING_PRICE * beyond + UNIT_PRICE[unit]


def _word(unit: str) -> str:
    """Write a unit so that it reads as none of the words about it: inches, not in."""
    return UNIT_WORDS.get(unit, unit)


def _unit_doubt(hip: float, unit: str, template: Animal, near: Mapping[str, Animal], far: list[str]) -> Doubt:
    """Say what unit was guessed, by what, which others fit about as well, and which are less likely."""
    hip_m = hip * unit_m(unit)
    text = (
        f"unit guessed: {_word(unit)} (hips {hip_m:.3g} m, those of {template.name} "
        f"{template.hip_height_m:.2g} m)"
    )
    for word, animal in near.items():
        text += f"; {_word(word)} would fit about as well ({hip * unit_m(word):.3g} m"
        if animal.name != template.name:
            text += f", those of {animal.name} {animal.hip_height_m:.2g} m"
        text += ")"
    if far:
        text += "; less likely " + " or ".join(f"{_word(word)} ({hip * unit_m(word):.3g} m)" for word in far)
    if abs(math.log(hip_m / template.hip_height_m)) > math.log(OTHER_SIZE):
        text += f'; unit = "{template.hip_height_m / hip:.3g} m" makes it as large as that {template.name}'
    return Doubt("unit", f"{text}; if wrong, set unit in the map.")
