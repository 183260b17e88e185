"""How far the body of a rig travels over a foot on the ground: as far as its legs reach."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.limbs.animal_chains import chains_of

Array = npt.NDArray[np.float64]

# Never a shorter stance than this share of the template's, for want of reach.
LEAST_STANCE = 0.5


def with_own_stance(animal: Animal, template: Animal, scale: float) -> Animal:
    """Shorten the stance where straighter legs have less to spare for it than the template's.

    The stance is shorter by what a leg lacks in reach on one side; the trunk's glide and sinking make up for
    the other (estimate). Where the template's file tells what a leg without a sling keeps in hand, the glide
    that such a leg has not counts too.

    Parameters
    ----------
    animal, template
        The rig's animal, with the template's stance in its own size, and the template.
    scale
        Size of the rig against the template.
    """
    lost_m = [
        scale * own.glide_m - limb.glide_m if own.path.room_without_sling_m else 0.0
        for own, limb in zip(template.limbs, animal.limbs, strict=True)
    ]
    lacking_m = float(np.max(scale * _reach_m(template) - _reach_m(animal) + np.array(lost_m)))
    own_m = animal.tempo.stance_distance_m
    stance_m = max(own_m - max(lacking_m, 0.0), LEAST_STANCE * own_m)
    return replace(animal, tempo=replace(animal.tempo, stance_distance_m=stance_m))


def _reach_m(animal: Animal) -> Array:
    """Reach of each leg ahead, at its straightest and with its top where it stands, (4,). [m]"""
    chains = chains_of(animal)
    longest = chains.laid(np.zeros((1, *chains.bones.shape))).longest_m[0]
    places = standing_positions_m(animal)
    height = np.array(
        [places[limb.joints[limb.pointing], 2] - places[limb.foot_joint, 2] for limb in animal.limbs]
    )
    return np.asarray(np.sqrt(np.maximum(longest**2 - height**2, 0.0)))
