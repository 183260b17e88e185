"""Feet that no joint of a rig turns: drawn flat on the ground, as far as the leg lets them lie there."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.motion.planting import SHORT_M, reach
from gaitgen.numerics.turns import mixed_turn, turn_about
from gaitgen.rigs.rig import Limb, Rig

Array = npt.NDArray[np.float64]

ROUNDS = 7  # of halving the share by which a heel is lifted
LEAST_CLOSING = 3  # joints of a leg whose last one keeps the turn of the sole
# A bone that stands for itself and the foot below it takes that with it, unless it is so many times as
# long (estimate: with less, drawn joints of a 5 cm rig are 6 % of its height off, where 3 is the most).
CARRIED_RATIO = 1.5
UP = np.array([0.0, 0.0, 1.0])


def flat_shares(rig: Rig, animal: Animal, toes_m: Array) -> Array:
    """Say how far each foot turns with the bone above it, (frames, 4): 1 as that does, 0 flat.

    A foot that a joint of the rig turns does so always. Another lies flat where its toe is lowest, and goes
    with the bone where that is as high as the foot is long (estimate), so that no heel sinks.

    Parameters
    ----------
    rig, animal
        The rig, and the animal that stands for it.
    toes_m
        (frames, 4, 3) ground points of the toes. [m]
    """
    shares = np.ones(toes_m.shape[:2])
    for k, (limb, chain) in enumerate(zip(rig.limbs, animal.limbs, strict=True)):
        if _is_turned(limb, animal, chain.joints):
            continue
        over = toes_m[:, k, 2] - toes_m[:, k, 2].min()
        part = np.minimum(over / (chain.foot.toe_m + chain.foot.heel_m), 1.0)
        shares[:, k] = part**2 * (3.0 - 2.0 * part)
    return shares


def closed_on(
    animal: Animal, root_m: Array, local: Array, toes_m: Array, turned: Array, shares: Array
) -> tuple[Array, Array]:
    """Close the limbs of an animal on toes, feet as flat as the legs let them lie.

    Parameters
    ----------
    animal
        The animal.
    root_m, local
        (frames, 3) place of the root [m], and (frames, joints, 3, 3) rotations in their parents' frames.
    toes_m
        (frames, 4, 3) where the toes should be. [m]
    turned, shares
        (frames, 4, 3, 3) turn of what carries each foot, from standing, and (frames, 4) how far the foot
        turns with it at the least.

    Returns
    -------
    local
        (frames, joints, 3, 3) with the limbs turned.
    misses_m
        (frames, 4) how far the toes are from where they should be. [m]
    """
    found, misses = _at(animal, root_m, local, toes_m, turned, shares)
    rows = np.flatnonzero(((misses > SHORT_M) & (shares < 1.0)).any(axis=1))
    if not rows.size:
        return found, misses
    given = animal, root_m[rows], local[rows], toes_m[rows], turned[rows]
    low, high = shares[rows], np.where(misses[rows] > SHORT_M, 1.0, shares[rows])
    for _ in range(ROUNDS):
        middle = (low + high) / 2.0
        falls_short = _at(*given, middle)[1] > SHORT_M
        low, high = np.where(falls_short, middle, low), np.where(falls_short, high, middle)
    found[rows], misses[rows] = _at(*given, high)
    return found, misses


def _at(
    animal: Animal, root_m: Array, local: Array, toes_m: Array, turned: Array, shares: Array
) -> tuple[Array, Array]:
    """Close the limbs on toes with feet that turn by some shares with what carries them."""
    heading = np.arctan2(turned[..., 1, 0], turned[..., 0, 0])
    soles = mixed_turn(turn_about(UP, heading), turned, shares[..., None])
    soles = np.where((shares == 1.0)[..., None, None], turned, soles)
    tips = animal.tips_m[[limb.foot_joint for limb in animal.limbs]]
    return reach(animal, root_m, local, toes_m - np.einsum("fkij,kj->fki", soles, tips), soles, or_all=True)


def _is_turned(limb: Limb, animal: Animal, chain: tuple[int, ...]) -> bool:
    """Tell whether the rig turns the foot: itself, or in one with the bone above it.

    That bone turns as the sole where it is no shank, and two others are there to close the leg.
    """
    last = len(chain) - 1
    if limb.joint_of(last) is not None:
        return True
    if sum(bone >= 0 for bone in limb.bones) < LEAST_CLOSING:
        return False
    above, below = np.linalg.norm([animal.offsets_m[chain[-1]], animal.tips_m[chain[-1]]], axis=1)
    return limb.joint_of(last - 1) is not None and bool(above <= CARRIED_RATIO * below)
