"""How far the body of a rig sways over its feet, and how steady it holds its head meanwhile."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.animal.animal import Animal


def with_own_sway(animal: Animal, template: Animal) -> Animal:
    """Carry the trunk to the side by no greater share of the height of the hips than the template's.

    What the template's file has for it is a share of the way to prints as far apart as its own. A rig often
    stands wider, as rigs are built square. Legs that are farther apart carry it to the side all the same, and
    what a head takes back of the turns of its neck it takes back the less: a head that goes from
    side to side turns a little with it (common practice, no source).

    Parameters
    ----------
    animal, template
        The animal that stands for a rig, and the one that lends its manner, both in one gait.
    """
    own, model = (_track(each) for each in (animal, template))
    less = min(1.0, model / max(own, 1e-9))
    back = animal.back
    heads = {animal.head}
    return replace(
        animal,
        back=replace(back, walks_over_feet=less * back.walks_over_feet, over_feet=less * back.over_feet),
        hanging=tuple(
            replace(part, steady=less * part.steady) if heads.issuperset(part.joints) else part
            for part in animal.hanging
        ),
    )


def _track(animal: Animal) -> float:
    """How far its prints are from the middle, in hip heights: the mean of all limbs."""
    return float(np.mean([limb.track_m for limb in animal.limbs])) / animal.hip_height_m
