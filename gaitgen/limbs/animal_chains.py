"""The limbs of an animal laid out as chains, as its file has them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.limbs.chain import Chains


@lru_cache(maxsize=32)
def chains_of(animal: Animal) -> Chains:
    """Lay the limbs of an animal out as arrays."""
    most = max(len(limb.joints) for limb in animal.limbs) - 1
    shape = (len(animal.limbs), most)
    bones = np.zeros(shape, dtype=np.complex128)
    is_above, follows = np.zeros(shape, dtype=np.bool_), np.zeros(shape)
    sign, opens, standing = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    across = np.zeros(shape[0])
    limits = np.zeros((shape[0], 3))
    for row, limb in enumerate(animal.limbs):
        for k, joint in enumerate(limb.joints[1:]):
            offset = animal.offsets_m[joint]
            bones[row, k] = complex(offset[0], offset[2])
            across[row] += offset[1]
        count = len(limb.joints) - 1
        joints = list(limb.joints[:-1])
        is_above[row, : limb.pointing] = True
        follows[row, :count] = [law.follows for law in limb.laws]
        opens[row, :count] = [law.opens for law in limb.laws]
        sign[row, :count] = np.nan_to_num(animal.angle_signs[joints])
        standing[row, :count] = np.nan_to_num(animal.standing_angles_rad[joints])
        limits[row] = _limits(animal, row)
    sign[is_above] = 0.0
    sign[np.arange(shape[0]), [limb.pointing for limb in animal.limbs]] = 0.0
    return Chains(bones, across, is_above, follows, sign, opens, standing, *limits.T)


def _limits(animal: Animal, row: int) -> tuple[float, float, float]:
    """Least, straightest and greatest unknown that the joints which open with it allow. [rad]"""
    limb = animal.limbs[row]
    low, straight, high = -np.inf, np.inf, np.inf
    for joint, law in zip(limb.joints, limb.laws, strict=False):
        if law.opens == 0.0:
            continue
        standing = float(animal.standing_angles_rad[joint])
        ends = animal.angle_signs[joint] * animal.ranges_rad[joint, 0] / law.opens
        low, high = max(low, float(ends.min())), min(high, float(ends.max()))
        if np.isfinite(law.straightest_rad):
            straight = min(straight, (law.straightest_rad - standing) / law.opens)
    return low, min(straight, high), high
