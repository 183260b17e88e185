"""Legs as chains in a plane, in complex numbers (real = forward, imaginary = up).

Angles are directions of bones from proximal to distal, counter-clockwise from forward, as seen from the
animal's right. Included angles are on the flexor side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]

NEWTON_STEPS = 12


@dataclass(frozen=True)
class ForeChain:
    """Bone lengths of a foreleg below the scapula. [m]"""

    humerus_m: float
    radius_m: float
    cannon_m: float
    pastern_m: float

    def strut(self, carpus_rad: Array, fetlock_rad: Array) -> Complex:
        """Return the vector from elbow to coffin joint with the radius along the real axis. [m]"""
        below = self.cannon_m + self.pastern_m * np.exp(1j * (fetlock_rad - np.pi))
        return np.asarray(self.radius_m + below * np.exp(1j * (carpus_rad - np.pi)))

    def longest_m(self, carpus_rad: Array, fetlock_rad: Array, greatest_elbow_rad: float) -> Array:
        """Return the longest distance from shoulder to coffin joint with the elbow inside its range. [m]"""
        strut = self.strut(carpus_rad, fetlock_rad)
        elbow = np.minimum(greatest_elbow_rad - np.angle(strut), np.pi)
        return np.sqrt(
            self.humerus_m**2 + np.abs(strut) ** 2 - 2.0 * self.humerus_m * np.abs(strut) * np.cos(elbow)
        )

    def solve(self, target_m: Complex, carpus_rad: Array, fetlock_rad: Array) -> Array:
        """Return directions (..., 4) of humerus, radius, cannon and pastern. [rad]

        The two links humerus and strut meet at the elbow, which points back. ``target_m`` is the coffin
        joint from the shoulder joint. nan where the target is out of reach.
        """
        strut = self.strut(carpus_rad, fetlock_rad)
        far = np.abs(target_m)
        cosine = (self.humerus_m**2 + far**2 - np.abs(strut) ** 2) / (2.0 * self.humerus_m * far)
        with np.errstate(invalid="ignore"):
            humerus = np.angle(target_m) - np.arccos(cosine)
        radius = np.angle(target_m - self.humerus_m * np.exp(1j * humerus)) - np.angle(strut)
        cannon = radius + carpus_rad - np.pi
        return np.stack([humerus, radius, cannon, cannon + fetlock_rad - np.pi], axis=-1)


@dataclass(frozen=True)
class HindChain:
    """Bone lengths of a hind leg [m] and its reciprocal apparatus: d(hock) = ratio x d(stifle)."""

    femur_m: float
    tibia_m: float
    cannon_m: float
    pastern_m: float
    stifle_standing_rad: float
    hock_standing_rad: float
    hock_ratio: float

    def hock_rad(self, stifle_rad: Array) -> Array:
        """Return the included angle of the hock that goes with a stifle angle. [rad]"""
        return self.hock_standing_rad + self.hock_ratio * (stifle_rad - self.stifle_standing_rad)

    def strut(self, stifle_rad: Array, fetlock_rad: Array) -> tuple[Complex, Complex]:
        """Return the vector from hip to coffin joint, the femur along the real axis, and its slope. [m]

        The slope is the derivative with the stifle angle.
        """
        turn_tibia = stifle_rad - np.pi
        turn_cannon = turn_tibia + np.pi - self.hock_rad(stifle_rad)
        tibia = self.tibia_m * np.exp(1j * turn_tibia)
        below = (self.cannon_m + self.pastern_m * np.exp(1j * (fetlock_rad - np.pi))) * np.exp(
            1j * turn_cannon
        )
        return self.femur_m + tibia + below, 1j * tibia + 1j * (1.0 - self.hock_ratio) * below

    def longest_m(self, fetlock_rad: Array, greatest_stifle_rad: float) -> Array:
        """Return the distance from hip to coffin joint at the greatest stifle angle. [m]"""
        vector, _ = self.strut(np.full_like(fetlock_rad, greatest_stifle_rad), fetlock_rad)
        return np.abs(vector)

    def solve(self, target_m: Complex, fetlock_rad: Array, limits_rad: tuple[float, float]) -> Array:
        """Return directions (..., 4) of femur, tibia, cannon and pastern. [rad]

        Newton's method on the one unknown, the stifle angle, held inside ``limits_rad``. ``target_m`` is
        the coffin joint from the hip joint. nan where the target is out of reach.
        """
        far = np.abs(target_m)
        stifle = np.full(far.shape, self.stifle_standing_rad)
        for _ in range(NEWTON_STEPS):
            vector, slope = self.strut(stifle, fetlock_rad)
            length = np.abs(vector)
            rate = np.real(np.conj(vector) * slope) / length
            stifle = np.clip(stifle - (length - far) / np.maximum(rate, 1e-3), *limits_rad)
        vector, _ = self.strut(stifle, fetlock_rad)
        stifle = np.where(np.abs(np.abs(vector) - far) < 1e-9, stifle, np.nan)
        femur = np.angle(target_m) - np.angle(vector)
        tibia = femur + stifle - np.pi
        cannon = tibia + np.pi - self.hock_rad(stifle)
        return np.stack([femur, tibia, cannon, cannon + fetlock_rad - np.pi], axis=-1)
