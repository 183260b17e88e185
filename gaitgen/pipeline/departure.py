"""What trunk, limbs and hanging parts do that a stiff body would not: the force and moment it takes."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.body.body import Stiff
from gaitgen.body.momentum import momentum_rates
from gaitgen.body.trunk import Trunk
from gaitgen.hanging.followers import Hung
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.limbs.legs import LegPoses
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.turns import crossed, direction

Array = npt.NDArray[np.float64]


def departure(
    animal: Animal, grid: Grid, stiff: Stiff, trunk: Trunk, legs: LegPoses, hung: Hung | None
) -> Array:
    """Return by how much a motion needs more than its stiff body does, over its mass and inertia.

    Parameters
    ----------
    animal, grid
        The animal and the moments.
    stiff
        How a body would move that does not bend.
    trunk, legs, hung
        What trunk, limbs and hanging parts do, as the body sees them.

    Returns
    -------
    (samples, 6) acceleration forward, left, up [m/s^2], and in roll, pitch and yaw [rad/s^2], that the feet
    have to make beside those of the body.
    """
    whole = whole_body(animal)
    points, masses = _limb_lumps(animal, legs)
    points = np.concatenate([points, trunk.centres_m(animal)], axis=1)
    masses = np.concatenate([masses, _masses(animal, animal.spine)])
    if hung is not None and hung.centres_m.shape[1]:
        points = np.concatenate([points, hung.centres_m], axis=1)
        masses = np.concatenate([masses, _masses(animal, hung.weighed)])
    centre = np.array(whole.centre_m)
    away = points - centre  # (samples, lumps, 3)
    away[..., 2] -= stiff.base_m[:, None]  # the body is as high over its ground wherever that is
    moved = grid.derivative(stiff.moved_m, 2)
    roll, pitch, yaw = grid.derivative(stiff.turned_rad, 2).T[:, :, None]
    turn = np.stack([roll, -pitch, yaw], axis=2)  # about x, y, z
    alone = moved[:, None] + crossed(turn, away)
    rates = momentum_rates(whole, away, grid.derivative(points, 2) - alone, masses)
    if grid.is_periodic:  # over a stride the parts of a body that closes its loop need no force
        rates[:, :3] = grid.without_mean(rates[:, :3])
    else:  # nor without one, where turns of the body times swings of its parts would go on pushing
        swung = crossed(turn, away - away.mean(axis=0))
        rates[:, :3] += np.einsum("spk,p->sk", swung, masses) / whole.mass_kg
    return rates


def _masses(animal: Animal, joints: tuple[int, ...]) -> Array:
    return animal.mass_shares[list(joints)] * animal.body_mass_kg


@lru_cache(maxsize=32)
def _shares_along(animal: Animal) -> tuple[Array, Array]:
    """Mass of each bone of each limb, (4, bones), and its centre from its joint in the plane, complex."""
    chains = chains_of(animal)
    masses = np.zeros(chains.bones.shape)
    centres = np.zeros(chains.bones.shape, dtype=np.complex128)
    for row, limb in enumerate(animal.limbs):
        joints = list(limb.joints[:-1])
        masses[row, : len(joints)] = _masses(animal, limb.joints[:-1])
        masses[row, len(joints) - 1] += float(_masses(animal, (limb.foot_joint,))[0])
        centre = animal.mass_centres_m[joints]
        centres[row, : len(joints)] = centre[:, 0] + 1j * centre[:, 2]
    return masses, centres  # type: ignore[return-value]


def _limb_lumps(animal: Animal, legs: LegPoses) -> tuple[Array, Array]:
    """Centres of the bones of the limbs, (samples, lumps, 3), and their masses, (lumps,). [m], [kg]"""
    chains = chains_of(animal)
    masses, centres = _shares_along(animal)
    turned = direction(legs.turn_rad)  # (samples, 4, bones)
    laid = chains.bones * turned
    starts = np.cumsum(laid, axis=-1) - laid
    at = starts + centres * turned
    tilt, goes = direction(legs.reach.tilt_rad)[..., None], legs.reach.goes[..., None]
    ahead, left, up = at.real, -tilt.imag * at.imag, tilt.real * at.imag
    cos, sin = goes.real, goes.imag
    points = np.stack([cos * ahead - sin * left, sin * ahead + cos * left, up], axis=-1)
    points = points + legs.reach.top_m[:, :, None]
    return points.reshape(points.shape[0], -1, 3), masses.ravel()
