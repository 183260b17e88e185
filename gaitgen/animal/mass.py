"""The whole standing animal as one body: mass, centre, inertia."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m

# Radius of gyration of a bone and its flesh over its length: a slender rod about its middle, 1 / sqrt(12).
ROD_GYRATION = 0.2887


@dataclass(frozen=True)
class WholeBody:
    """Mass, centre and inertia of the standing animal.

    Attributes
    ----------
    mass_kg
        Of the body. [kg]
    centre_m
        (x, y, z) from under the root. [m]
    inertia_kg_m2
        About the centre, in roll, pitch and yaw. [kg m^2]
    """

    mass_kg: float
    centre_m: tuple[float, float, float]
    inertia_kg_m2: tuple[float, float, float]


@lru_cache(maxsize=32)
def whole_body(animal: Animal) -> WholeBody:
    """Add up the masses of all joints of the standing animal: points and slender rods."""
    places = standing_positions_m(animal) + animal.mass_centres_m
    masses = animal.mass_shares * animal.body_mass_kg
    centre = animal.mass_shares @ places
    away = places - centre
    own = masses * (ROD_GYRATION * np.linalg.norm(animal.tips_m, axis=1)) ** 2
    squares = away**2
    inertia = [
        float(np.sum(masses * (squares[:, a] + squares[:, b]) + own)) for a, b in ((1, 2), (0, 2), (0, 1))
    ]
    return WholeBody(
        animal.body_mass_kg,
        (float(centre[0]), 0.0, float(centre[2])),
        (inertia[0], inertia[1], inertia[2]),
    )
