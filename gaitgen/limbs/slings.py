"""Slings: the tops of the limbs ride and glide on the trunk."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import BackPose
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.limbs.foot_path import FootPlan
from gaitgen.numerics.curves import bump
from gaitgen.numerics.rotations import axis_angle_matrix

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A sling under twice its standing load rides up by 1 / (1 + this) of what it comes down by when unloaded
# (estimate).
STIFFENING = 0.5
# So much farther than without load it comes down half-way through swing (estimate).
SWING_DIP = 0.3
FARTHEST_SLING = 0.9  # sine of the greatest turn of a sling


def standing_n_kg(animal: Animal) -> Array:
    """Load of each foot at rest, (4,). [N/kg]"""
    share = animal.load_share_fore
    return np.array([share, share, 1.0 - share, 1.0 - share]) * GRAVITY_M_S2 / 2.0


def slings_rad(animal: Animal, plan: FootPlan, over_n_kg: Array, bounce: float) -> Array:
    """Let the tops of the limbs ride and glide on the trunk: roll, yaw of the slings, (samples, 4, 2). [rad]

    The muscles of the sling give with the load: up on the trunk in stance, down in swing, yielding after
    contact (cat, X-ray: Boczek-Funcke et al. 1996, Eur J Neurosci, abstract); the form is an estimate.
    Forward while the foot is ahead and back while it is behind.

    Parameters
    ----------
    animal, plan
        The animal, and where its feet are.
    over_n_kg
        (samples, 4) load of each foot over its standing load. [N/kg]
    bounce
        Style factor on the ride.
    """
    has_sling, under, length = _at_rest(animal)
    if not has_sling.any():
        return np.zeros((*over_n_kg.shape, 2))
    load = over_n_kg / standing_n_kg(animal)
    ride = load / (1.0 + STIFFENING * np.maximum(load, 0.0)) - SWING_DIP * bump(plan.state.swing_share, 0.5)
    up = limb_numbers(animal, "ride_m") * bounce * ride
    ahead = limb_numbers(animal, "glide_m") * (plan.toe_m[..., 0] - under)
    ahead = ahead / (animal.tempo.stance_distance_m / 2.0)
    turned = np.stack([up, -ahead], axis=2) / length[:, None]
    held = np.minimum(np.maximum(turned, -FARTHEST_SLING), FARTHEST_SLING)
    return np.where(has_sling[:, None], np.arcsin(held), 0.0)


@lru_cache(maxsize=32)
def _at_rest(animal: Animal) -> tuple[Bools, Array, Array]:
    """Which limbs have slings, where feet stand ahead of the root, and lengths of the slings, (4,). [m]"""
    tops, feet = ([getattr(limb, name) for limb in animal.limbs] for name in ("top", "foot_joint"))
    under = standing_positions_m(animal)[feet, 0] + limb_numbers(animal, "foot.toe_m")
    has_sling = np.array([limb.sling is not None for limb in animal.limbs])
    return has_sling, under, animal.offsets_m[tops, 1]


def sling_rotations(sling_rad: Array) -> Array:
    """Rotation of a sling from roll and yaw (..., 2): (..., 3, 3)."""
    return axis_angle_matrix("Z", sling_rad[..., 1]) @ axis_angle_matrix("X", sling_rad[..., 0])


@lru_cache(maxsize=32)
def carriers(animal: Animal) -> tuple[Bools, Array, Array]:
    """Which limbs hang on the chest, (4,); way to their slings, and on to their tops, (4, 3). [m]"""
    on_chest = np.array([limb.girdle == animal.chest for limb in animal.limbs])
    slings = [np.zeros(3) if limb.sling is None else animal.offsets_m[limb.sling] for limb in animal.limbs]
    tops = animal.offsets_m[[limb.top for limb in animal.limbs]]
    return on_chest, np.stack(slings), tops


def tops_m(animal: Animal, back: BackPose, sling_rad: Array) -> Array:
    """Top of each limb from the root, as the pelvis sees it: (samples, 4, 3). [m]"""
    on_chest, to_sling, to_top = carriers(animal)
    top = to_sling + (sling_rotations(sling_rad) @ to_top[..., None])[..., 0]
    seen = back.chest_joint_m[:, None] + top @ np.swapaxes(back.chest_in_pelvis, 1, 2)
    return np.where(on_chest[:, None], seen, top)
