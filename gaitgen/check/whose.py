"""Whose clip it is: the animal that a rig is, or looks like, its unit, and the limits that hold for it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.library import animal_names, load_animal, may_be_of
from gaitgen.animal.toml_table import nearest
from gaitgen.check.limits import Limits, load_limits, set_names
from gaitgen.errors import Notice, RequestError
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.units import METRES_PER_UNIT, UNIT_WORDS, unit_m
from gaitgen.numerics.standard_input import is_file_name
from gaitgen.rigs.bones import template_limb_m
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.rest import rest_pose
from gaitgen.rigs.rig import axes_of
from gaitgen.rigs.rig_map import FOLLOWS, NO_BONES, RigMap

# Mean distance of the joints of a limb from the template's, in hip heights, up to which a rig looks like the
# animal; what a joint without a bone and a bone without a joint add to it. Chosen on seventeen rigs of one
# animal and four animals: at most 0.07 from their own and at least 0.08 from the others.
ALIKE, SPARE_JOINT, SPARE_BONE = 0.07, 0.15, 0.10
# How far hip heights spread about the animal's own, times or over: one that is known, one that only looks
# like it; hips of an animal nobody knows; how rarely a rig is built in each unit (common practice).
OWN_SPREAD, LIKE_SPREAD = math.log(1.6), math.log(3.0)
LIKELY_HIP_M = 0.7
UNIT_PRICE = {"cm": 0.0, "m": 0.0, "mm": 0.7, "in": 1.2}
DOUBTFUL = 1.5  # price by which the next likely unit must be worse to be out of question
UNUSED = ("jaw", "parts", "unit")  # notices of the rig's finder that say nothing here


@dataclass(frozen=True)
class Whose:
    """What is known of a clip's animal.

    Attributes
    ----------
    map
        The map of its rig.
    limits
        What it is held against.
    notices
        What was guessed.
    """

    map: RigMap
    limits: Limits
    notices: tuple[Notice, ...]


def limits_of(animal: str) -> tuple[Limits, Animal | None]:
    """Return the limits for an animal, an animal file or a set of limits, and the animal if it is one.

    Raises
    ------
    GaitgenError
        If there is no such animal or set, or its file cannot be read.
    """
    if animal not in animal_names():
        if animal in set_names():
            return load_limits(animal), None
        if not is_file_name(animal):
            known = sorted({*animal_names(), *set_names()})
            raise RequestError(
                f"there are no limits for {animal!r}{nearest(animal, known)}; use one of {', '.join(known)}, "
                "or the path of an animal file (.toml)"
            )
    own = load_animal(animal)
    return load_limits(_beside(animal, own)), own


def _beside(animal: str, own: Animal) -> str:
    """Name of the animal's limits; those of a file lie beside the animal's own."""
    is_file = own.limits.endswith(".toml")
    return str(Path(animal).parent / own.limits) if is_file else own.limits


def whose(file: BvhFile, where: str, animal: str | None = None) -> Whose:
    """Find a clip's rig, its animal and its limits.

    Parameters
    ----------
    file, where
        The clip, and its name for messages.
    animal
        The animal, animal file or set of limits that was given; None to find out.

    Raises
    ------
    GaitgenError
        If the rig is no four-legged one, or there is no such animal.
    """
    if animal is not None:
        limits, own = limits_of(animal)
        if own is not None:
            rig_map, said = find_rig(file, where, animal)
            return _sized(file, replace(rig_map, template=animal), limits, said, own, is_sure=True)
        template, rig_map, said, _ = _nearest(file, where)
        return _sized(file, rig_map, limits, said, template, is_sure=False)
    known = _by_names(file)
    if known is not None:
        rig_map, said = find_rig(file, where, known.name)
        return _sized(file, rig_map, load_limits(known.limits), said, known, is_sure=True)
    fitted, _ = find_rig(file, where)  # as `fit` reads it, its unit too
    template, rig_map, said, apart = _nearest(file, where, load_animal(fitted.template))
    if apart > ALIKE:
        text = (
            f"which animal this is, nobody said, and its limbs are like none that is known (nearest: "
            f"{template.title.lower()}); only what holds for any animal is judged. Give --animal."
        )
        found = _sized(file, rig_map, load_limits("any"), said, None, is_sure=False, unit=fitted.unit)
    else:
        limits = load_limits(load_limits(template.limits).if_guessed)
        text = (
            f"the animal is a guess from its limbs: like {_article(template.species)}, so the limits for "
            f"{limits.animal!r} hold. Give --animal if it is another."
        )
        found = _sized(file, rig_map, limits, said, template, is_sure=False, unit=fitted.unit)
    return replace(found, notices=(Notice("animal", text), *found.notices))


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def _by_names(file: BvhFile) -> Animal | None:
    """Return the animal whose joints the file has, all of them, by name; of several the one of its build."""
    names = set(file.joint_names)
    known = _one_of_each(may_be_of(file.joint_names))
    fitting = [animal for animal in known if names >= set(animal.joint_names)]
    most = max((len(animal.joint_names) for animal in fitting), default=0)
    fullest = [animal for animal in fitting if len(animal.joint_names) == most]
    return min(fullest, key=lambda animal: _unlike_build(file, animal), default=None)


def _unlike_build(file: BvhFile, animal: Animal) -> float:
    """How far the lengths of a file's bones, as shares of all of them, are from an animal's. Ratio."""
    rows = [file.joint_names.index(name) for name in animal.joint_names[1:]]
    here = np.linalg.norm(np.asarray(file.offsets)[rows], axis=1)
    own = np.linalg.norm(animal.offsets_m[1:], axis=1)
    return float(np.abs(here / max(float(here.sum()), 1e-12) - own / own.sum()).sum())


def _one_of_each(names: tuple[str, ...]) -> list[Animal]:
    """Animals of these names; of each set of limits first whom it is called after."""
    known = [load_animal(name) for name in names]
    known.sort(
        key=lambda each: (each.name != each.limits, each.species != each.limits, each.body_mass_kg, each.name)
    )
    return known


def _nearest(
    file: BvhFile, where: str, fitted: Animal | None = None
) -> tuple[Animal, RigMap, tuple[Notice, ...], float]:
    """Return the animal that a rig's limbs are most like, its map, and how far they are apart.

    ``fitted``, the one that `fit` takes by limbs and build, is that if the limbs are like its.
    """
    if fitted is not None:
        rig_map, said = find_rig(file, where, fitted.name)
        if (apart := _apart(file, rig_map, fitted)) <= ALIKE:
            return fitted, rig_map, said, apart
    tried: dict[str, tuple[float, Animal, RigMap, tuple[Notice, ...]]] = {}
    for animal in _one_of_each(animal_names()):
        if animal.limits in tried:
            continue
        rig_map, said = find_rig(file, where, animal.name)
        tried[animal.limits] = (_apart(file, rig_map, animal), animal, rig_map, said)
    apart, animal, rig_map, said = min(tried.values(), key=lambda item: item[0])
    return animal, rig_map, said, apart


def _apart(file: BvhFile, rig_map: RigMap, animal: Animal) -> float:
    """Mean distance of a standing rig's left limb joints from the animal's, the worse pair. [hip heights]"""
    axes = axes_of(rig_map)
    places = rest_pose(file, rig_map.rest).places @ axes.T
    found = []
    for end in ENDS:
        own = rig_map.limbs["LF" if end == "fore" else "LH"]
        rows = [file.joint_names.index(name) for name in own.joints]
        toe = places[rows[-1]] + axes @ np.array(own.toe)
        tops = [file.joint_names.index(rig_map.limbs[limb].joints[0]) for limb in ("LH", "RH")]
        hip = max(float(places[tops, 2].mean() - toe[2]), 1e-9)
        bones = template_limb_m(animal, end)
        shape = dict(
            zip(animal.bones(end), (bones[:-1] - bones[-1])[:, [0, 2]] / animal.hip_height_m, strict=True)
        )
        here = (places[rows] - toe)[:, [0, 2]] / hip
        matched = [
            float(np.linalg.norm(here[k] - shape[bone]))
            for k, bone in enumerate(own.bones)
            if bone not in NO_BONES
        ]
        spare = own.bones.count(FOLLOWS)
        missing = len(shape) - len(matched)
        price = sum(matched) + SPARE_JOINT * spare + SPARE_BONE * missing
        found.append(price / (len(matched) + spare + missing))
    return max(found)


def _sized(
    file: BvhFile,
    rig_map: RigMap,
    limits: Limits,
    said: tuple[Notice, ...],
    animal: Animal | None,
    *,
    is_sure: bool,
    unit: str | None = None,
) -> Whose:
    """Guess the unit from the height of the hips and the animal's, unless it is guessed already."""
    places = rest_pose(file, rig_map.rest).places @ axes_of(rig_map).T
    tops = [file.joint_names.index(rig_map.limbs[limb].joints[0]) for limb in ("LH", "RH")]
    toe = axes_of(rig_map) @ np.array(rig_map.limbs["LH"].toe)
    foot = file.joint_names.index(rig_map.limbs["LH"].joints[-1])
    hip = float(places[tops, 2].mean() - places[foot, 2] - toe[2])
    kept = tuple(notice for notice in said if notice.topic not in UNUSED)
    if not hip > 0.0:
        return Whose(rig_map, limits, kept)
    likely = LIKELY_HIP_M if animal is None else animal.hip_height_m
    spread = OWN_SPREAD if is_sure else LIKE_SPREAD

    def price(name: str) -> float:
        away = math.log(hip * unit_m(name) / likely) / spread
        return away**2 / 2.0 + UNIT_PRICE.get(name, max(UNIT_PRICE.values()))

    first = unit or min(METRES_PER_UNIT, key=price)
    second = min((name for name in METRES_PER_UNIT if name != first), key=price)
    text = f"unit guessed: {UNIT_WORDS.get(first, first)} (hips {hip * unit_m(first):.3g} m)"
    if price(second) - price(first) < DOUBTFUL:
        text += f", or else {UNIT_WORDS.get(second, second)} (hips {hip * unit_m(second):.3g} m)"
    text += "; if wrong, set unit in the map. Only speeds and forces depend on it."
    return Whose(replace(rig_map, unit=first), limits, (*kept, Notice("unit", text)))
