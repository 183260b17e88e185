"""Pelvis, back and chest over time, from what the body and the feet do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import axis_angle_matrix, pitch_roll_yaw_matrix

Array = npt.NDArray[np.float64]
_SAGITTAL = np.array([1.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class Ends:
    """Where the middle of the shoulder blades' tops and of the hips are meant to be, as the body sees them.

    Attributes
    ----------
    hips_m
        (samples, 3) middle of the hip joints. [m]
    chest_left_m, chest_up_m
        (samples,) middle of the tops of the forelimbs; how far forward it is follows from the back. [m]
    """

    hips_m: Array
    chest_left_m: Array
    chest_up_m: Array

    def lowered(self, chest_m: float | Array, hips_m: float | Array) -> Ends:
        """Return the same, each end lower by this much, or by this much at each moment. [m]"""
        hips = self.hips_m.copy()
        hips[:, 2] -= hips_m
        return Ends(hips, self.chest_left_m, self.chest_up_m - chest_m)

    def shifted(self, shift_m: Array) -> Ends:
        """Return the same, all of it farther ahead, to the left and up, (samples, 3). [m]"""
        return Ends(self.hips_m + shift_m, self.chest_left_m + shift_m[:, 1], self.chest_up_m + shift_m[:, 2])


@dataclass(frozen=True, eq=False)
class BackPose:
    """The bent back: rotations of its joints, and the chest as the pelvis sees it.

    Attributes
    ----------
    turns_rad
        (samples, joints of the back, 3) pitch, roll and yaw of each joint but the root. [rad]
    pelvis_roll_rad
        (samples,) of the pelvis. [rad]
    chest_in_pelvis
        (samples, 3, 3).
    chest_joint_m
        (samples, 3) the chest's joint, from the root, in the pelvis. [m]
    link_m
        (samples, 3) from the middle of the hips to that of the tops of the forelimbs, in the pelvis. [m]
    """

    turns_rad: Array
    pelvis_roll_rad: Array
    chest_in_pelvis: Array
    chest_joint_m: Array
    link_m: Array

    def rolled(self, more_rad: Array) -> BackPose:
        """Return the same back with the whole trunk rolled farther, (samples,). [rad]"""
        return replace(self, pelvis_roll_rad=self.pelvis_roll_rad + more_rad)

    @cached_property
    def level_link_m(self) -> Array:
        """(samples, 3) the link with the pelvis rolled, but neither pitched nor turned. [m]"""
        return (axis_angle_matrix("X", self.pelvis_roll_rad) @ self.link_m[..., None])[..., 0]


@dataclass(frozen=True, eq=False)
class Trunk:
    """The trunk over time, as the body sees it.

    Attributes
    ----------
    root_m
        (samples, 3) root joint. [m]
    pelvis
        (samples, 3, 3) rotation of the root from standing.
    back
        Turns of the joints between pelvis and chest.
    """

    root_m: Array
    pelvis: Array
    back: BackPose

    @cached_property
    def chest(self) -> Array:
        """(samples, 3, 3) rotation of the chest from standing."""
        return np.asarray(self.pelvis @ self.back.chest_in_pelvis)

    @cached_property
    def chest_joint_m(self) -> Array:
        """(samples, 3) joint of the chest. [m]"""
        return self.root_m + (self.pelvis @ self.back.chest_joint_m[..., None])[..., 0]

    def centres_m(self, animal: Animal) -> Array:
        """Follow the centres of mass of the joints of the trunk: (samples, joints of the back + 1, 3). [m]"""
        turns = self.back.turns_rad
        made = pitch_roll_yaw_matrix(turns[..., 0], turns[..., 1], turns[..., 2])
        place, turned = self.root_m, self.pelvis
        centres = [place + turned @ animal.mass_centres_m[animal.spine[0]]]
        for k, joint in enumerate(animal.spine[1:]):
            place = place + turned @ animal.offsets_m[joint]
            turned = turned @ made[:, k]
            centres.append(place + turned @ animal.mass_centres_m[joint])
        return np.stack(centres, axis=1)

    def local(self, animal: Animal, rows: npt.NDArray[np.int64]) -> dict[int, Array]:
        """Return the rotation of each joint of the trunk in its parent's frame at some samples."""
        turns = self.back.turns_rad[rows]
        made = pitch_roll_yaw_matrix(turns[..., 0], turns[..., 1], turns[..., 2])
        local = {row: made[:, k] for k, row in enumerate(animal.spine[1:])}
        local[animal.spine[0]] = self.pelvis[rows]
        return local


def bent_back(
    animal: Animal,
    flexion_rad: Array,
    bending_rad: Array,
    pelvis_roll_rad: Array,
    chest_roll_rad: Array,
    apart_rad: Array | float = 0.0,
) -> BackPose:
    """Share flexion, bending and twist of the back out among its joints, each as wide as its range.

    Parameters
    ----------
    animal
        The animal.
    flexion_rad
        (samples,) pelvis pitched nose up against the chest. [rad]
    bending_rad
        (samples,) pelvis turned to the left against the chest. [rad]
    pelvis_roll_rad, chest_roll_rad
        (samples,) right side down. [rad]
    apart_rad
        (samples, joints of the back) what each joint flexes beyond its share; none in all. [rad]
    """
    whole = np.stack([-flexion_rad, chest_roll_rad - pelvis_roll_rad, -bending_rad], axis=1)
    turns = whole[:, None, :] * _shares(animal)
    turns[..., 0] -= apart_rad
    return back_of(animal, turns, pelvis_roll_rad)


def waved_apart(animal: Animal, grid: Grid, flexion_rad: Array, sooner_s: float) -> Array:
    """Let flexion run along the back from the chest to the pelvis: what each joint has beyond its share.

    Parameters
    ----------
    animal, grid
        The animal, and the moments.
    flexion_rad
        (samples,) flexion of the whole back, which stays as it is. [rad]
    sooner_s
        By how much the joint next to the chest bends before the one at the pelvis. [s]

    Returns
    -------
    Array
        (samples, joints of the back). [rad]
    """
    share = _shares(animal)[:, 0]
    sooner = sooner_s * np.linspace(-0.5, 0.5, share.size)
    period = grid.span_s if grid.is_periodic else None
    moved = [np.interp(grid.time_s + each, grid.time_s, flexion_rad, period=period) for each in sooner]
    waves = np.stack(moved, axis=1) * share
    return np.asarray(waves - waves.sum(axis=1, keepdims=True) * share)


def back_of(animal: Animal, turns: Array, pelvis_roll_rad: Array) -> BackPose:
    """Pose the back whose joints turn so: (samples, joints of the back, 3) pitch, roll, yaw. [rad]"""
    joints = list(animal.spine[1:])
    made = pitch_roll_yaw_matrix(turns[..., 0], turns[..., 1], turns[..., 2])
    turned = made[:, 0]
    place = np.broadcast_to(animal.offsets_m[joints[0]], (pelvis_roll_rad.size, 3))
    for k, joint in enumerate(joints[1:], start=1):
        place = place + turned @ animal.offsets_m[joint]
        turned = turned @ made[:, k]
    hips, top = _middles_m(animal)
    return BackPose(turns, pelvis_roll_rad, turned, place, place + turned @ top - hips)


@lru_cache(maxsize=32)
def _shares(animal: Animal) -> Array:
    """Share of each joint of the back in pitch, roll and yaw: (joints, 3)."""
    width = np.ptp(animal.ranges_rad[list(animal.spine[1:])], axis=2)
    total = width.sum(axis=0)
    return np.where(total > 0.0, width / np.where(total > 0.0, total, 1.0), 1.0 / len(width))


@lru_cache(maxsize=32)
def _middles_m(animal: Animal) -> tuple[Array, Array]:
    """Middle of the hips from the root, and of the forelimbs' tops from the chest, standing, (3,). [m]"""
    standing = standing_positions_m(animal)
    fore, hind = animal.limb("fore").top, animal.limb("hind").top
    return (standing[hind] - standing[0]) * _SAGITTAL, (standing[fore] - standing[animal.chest]) * _SAGITTAL


def posed_trunk(animal: Animal, ends: Ends, back: BackPose) -> Trunk:
    """Place pelvis and back so that hips and chest are where the ends say.

    The bends of the back are given; roll of the pelvis too. Its pitch and yaw follow in closed form
    from the vector between the hips and the tops of the forelimbs; not a number where one is higher over the
    other, or farther aside of it, than the back is long, and no leg reaches.
    """
    hips, _ = _middles_m(animal)
    link, rise = back.level_link_m, ends.chest_up_m - ends.hips_m[:, 2]
    length = np.hypot(link[:, 0], link[:, 2])
    rise = np.where(np.abs(rise) <= length, rise, np.nan)
    pitch = np.arcsin(rise / length) - np.arctan2(link[:, 2], link[:, 0])
    ahead = np.sqrt(length**2 - rise**2)
    flat = np.hypot(ahead, link[:, 1])
    aside = ends.chest_left_m - ends.hips_m[:, 1]
    aside = np.where(np.abs(aside) <= flat, aside, np.nan)
    yaw = np.arcsin(aside / flat) - np.arctan2(link[:, 1], ahead)
    pelvis = pitch_roll_yaw_matrix(pitch, back.pelvis_roll_rad, yaw)
    return Trunk(ends.hips_m - pelvis @ hips, pelvis, back)
