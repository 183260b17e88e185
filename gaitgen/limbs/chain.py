"""All limbs as chains in a plane, in complex numbers (real = forward, imaginary = up), with one unknown each.

Angles are directions of bones from the trunk to the foot, counter-clockwise from forward, as seen from the
animal's right. Bones above the one that points the limb follow the line to the foot; below it, every joint
opens by a given angle and by its share of one unknown (a horse's hind leg binds hock to stifle so). Limbs of
fewer bones are filled up with bones of no length, so that all are solved in one batch.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.numerics.turns import direction

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]
Bools = npt.NDArray[np.bool_]

NEWTON_STEPS = 24
ENOUGH_RAD = 1e-10
# A limb is never longer than this share of its bones laid end to end.
REACH_SHARE = 0.985


@dataclass(frozen=True, eq=False)
class Chains:
    """The limbs of one animal as arrays; limbs in LIMBS order, bones from the top, foot left out.

    Attributes
    ----------
    bones
        (4, bones) each bone, standing, in the plane of its limb. [m]
    across_m
        (4,) how far the foot joint is to the left of the top of the limb, standing. [m]
    is_above
        (4, bones) whether the bone is above the one that points the limb.
    follows
        (4, bones) turn in space for that of the line to the foot.
    sign, opens
        (4, bones) turn in the plane for an opening of the joint; opening for the unknown.
    standing_rad
        (4, bones) included angle of the joint at the top of each bone, standing. [rad]
    low, straight, high
        (4,) least, straightest and greatest unknown. [rad]
    """

    bones: Complex
    across_m: Array
    is_above: Bools
    follows: Array
    sign: Array
    opens: Array
    standing_rad: Array
    low: Array
    straight: Array
    high: Array

    @cached_property
    def below(self) -> Complex:
        """(4, bones) the bones from the pointing one on; no length above."""
        return np.where(self.is_above, 0.0, self.bones)

    @cached_property
    def rate(self) -> Array:
        """(4, bones) turn of each bone against the pointing one for that of the unknown."""
        return np.cumsum(self.sign * self.opens, axis=-1)

    @cached_property
    def standing_line_rad(self) -> Array:
        """(4,) direction of the line from the top of each limb to its foot joint, standing. [rad]"""
        return np.asarray(np.angle(self.bones.sum(axis=1)))

    def vector(self, unknown: Array, given: Array) -> tuple[Complex, Complex, Array]:
        """Lay out the bones from the pointing one on, that one as it stands.

        Parameters
        ----------
        unknown
            (samples, 4). [rad]
        given
            (samples, 4, bones) turn of each bone against the one above, without the unknown. [rad]

        Returns
        -------
        (samples, 4) vector to the foot joint [m], its slope with the unknown [m/rad], and (samples, 4, bones)
        turn of each bone from standing against the pointing one [rad].
        """
        return self._laid(unknown, np.cumsum(given, axis=-1))

    def _laid(self, unknown: Array, given: Array) -> tuple[Complex, Complex, Array]:
        """Do what `vector` does; ``given`` is each bone's turn against the pointing one, all added up."""
        turn = given + self.rate * unknown[..., None]
        laid = self.below * direction(turn)
        return laid.sum(axis=-1), 1j * (self.rate * laid).sum(axis=-1), turn

    def longest_m(self, given: Array) -> Array:
        """Return the longest reach of the part below the trunk that is used: (samples, 4). [m]"""
        vector, _, _ = self.vector(np.broadcast_to(self.straight, given.shape[:2]), given)
        whole = REACH_SHARE * np.abs(self.below).sum(axis=-1)
        return np.asarray(np.minimum(np.abs(vector), whole))

    def solve(
        self, target_m: Complex, given: Array, *, as_far_as_can: bool | npt.NDArray[np.bool_] = False
    ) -> tuple[Array, Array]:
        """Find the unknown that makes each limb as long as its target: Newton's method in a bracket.

        Parameters
        ----------
        target_m
            (samples, 4) foot joint from the joint of the pointing bone. [m]
        given
            (samples, 4, bones) turns without the unknown. [rad]
        as_far_as_can
            Whether a limb that cannot reach its target points at it, as long or as short as it can be; for
            all of them, or (samples, 4).

        Returns
        -------
        turn
            (samples, 4, bones) turn of each bone from standing, in the plane, from the pointing one on;
            nan where the target is out of reach, if not as far as it can. [rad]
        unknown
            (samples, 4). [rad]
        """
        far, added_up = np.abs(target_m), np.cumsum(given, axis=-1)
        unknown = np.zeros(far.shape)
        low = np.broadcast_to(self.low, far.shape)
        high = np.broadcast_to(self.high, far.shape)
        for _ in range(NEWTON_STEPS):
            vector, slope, _ = self._laid(unknown, added_up)
            length = np.abs(vector)
            too_long = length > far
            low, high = np.where(too_long, low, unknown), np.where(too_long, unknown, high)
            rate = np.real(np.conj(vector) * slope) / length
            moved = unknown - (length - far) / np.where(rate > 1e-4, rate, 1e-4)
            moved = np.where((moved >= low) & (moved <= high), moved, (low + high) / 2.0)
            change = float(np.abs(moved - unknown).max())
            unknown = moved
            if change < ENOUGH_RAD:
                break
        vector, _, turn = self._laid(unknown, added_up)
        point = np.angle(target_m) - np.angle(vector)
        point = np.where(as_far_as_can | (np.abs(np.abs(vector) - far) < 1e-7), point, np.nan)
        return turn + point[..., None], unknown


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
