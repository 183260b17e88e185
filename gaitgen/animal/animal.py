"""The joint tree of one animal, standing: parents, offsets, ranges, masses, shape."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

PAIR_CHAINS: Mapping[str, tuple[str, ...]] = {
    "fore": ("scapula", "humerus", "radius", "fore_cannon", "fore_pastern", "fore_hoof"),
    "hind": ("femur", "tibia", "hind_cannon", "hind_pastern", "hind_hoof"),
}
SPINE = ("pelvis", "lumbar_2", "lumbar_1", "thorax_4", "thorax_3", "thorax_2", "thorax_1")

# Included angle of a limb joint = standing angle + sign * pitch of the bone below it.
ANGLE_SIGN: Mapping[str, float] = {
    "humerus": 1.0,
    "radius": -1.0,
    "fore_cannon": 1.0,
    "fore_pastern": 1.0,
    "femur": -1.0,
    "tibia": 1.0,
    "hind_cannon": -1.0,
    "hind_pastern": 1.0,
}


@dataclass(frozen=True)
class Hoof:
    """One hoof, as boxes see it: the coffin joint over a flat sole.

    Attributes
    ----------
    coffin_height_m
        Coffin joint above the sole, standing. [m]
    toe_m
        Toe's ground point ahead of the coffin joint. [m]
    heel_m
        Heel's ground point behind the coffin joint, positive. [m]
    half_width_m
        Half the width of the sole. [m]
    """

    coffin_height_m: float
    toe_m: float
    heel_m: float
    half_width_m: float


@dataclass(frozen=True)
class Follower:
    """A part that follows its base as a damped oscillator.

    Attributes
    ----------
    natural_frequency_hz
        Undamped natural frequency. [Hz]
    damping_ratio
        Share of critical damping. [0 to 2]
    drive
        How strongly the motion of the base is felt; 1 is a passive uniform rod.
    """

    natural_frequency_hz: float
    damping_ratio: float
    drive: float


@dataclass(frozen=True)
class BackMotion:
    """Total ranges of the back over a walking stride, peak to peak. [rad]

    Attributes
    ----------
    flexion_rad
        Flexion and extension of the pelvis against the chest, two cycles a stride. [rad]
    bending_rad
        Lateral bending of the pelvis against the chest, one cycle. [rad]
    pelvis_axial_rad
        Roll of the pelvis, one cycle. [rad]
    chest_axial_rad
        Roll of the chest, one cycle. [rad]
    """

    flexion_rad: float
    bending_rad: float
    pelvis_axial_rad: float
    chest_axial_rad: float


@dataclass(frozen=True, eq=False)
class Animal:
    """One animal's joint tree in its standing pose.

    In the standing pose every joint frame is aligned with the world (x forward, y left, z up), so a
    joint rotation is a change from standing. The origin of the world is under the root.

    Attributes
    ----------
    name, title, species
        ``riding_horse``, ``Riding horse``, ``horse``.
    joint_names
        Root first, parents before children; paired joints end in ``_L`` or ``_R``.
    parents
        (joints,) index of the parent, -1 for the root.
    offsets_m
        (joints, 3) joint from its parent's joint, standing; the root's is its position, (0, 0, height). [m]
    tips_m
        (joints, 3) end of the joint's own bone from the joint, standing; for a leaf this is its End
        Site, for a hoof the ground point of the toe. [m]
    mass_shares
        (joints,) share of the body mass that moves with each joint; sums to 1.
    ranges_rad
        (joints, 3, 2) least and greatest pitch, roll and yaw of the joint's rotation from standing,
        R = Rz(yaw) Ry(-pitch) Rx(roll). Pitch is positive nose up. [rad]
    standing_angles_rad
        (joints,) included angle of a limb joint on its flexor side when standing; nan elsewhere. [rad]
    radii_m
        (joints, 2) radius of the flesh around the joint's bone at its joint and at its tip. [m]
    body_mass_kg, withers_height_m, croup_height_m
        Whole-body size. [kg], [m]
    hooves
        ``{"fore": Hoof, "hind": Hoof}``.
    track_m
        Half the distance between left and right hoof prints, ``{"fore": ..., "hind": ...}``. [m]
    load_share_fore
        Share of the body weight on the forelegs, standing, from the masses.
    followers
        Follower of ``neck``, ``head``, ``ear``, ``jaw``, ``tail``.
    back
        Ranges of the back.
    landmarks_m
        Named points as (joint name, offset from the joint in standing axes), such as ``withers``,
        ``croup``, ``poll``, ``muzzle``, ``point_of_hock``. [m]
    outline
        Extra shapes for drawing: (joint name, offset [m], radius [m], group). The balls of one group are
        joined one to the next (barrel, croup, crest, ...).
    stifle_hock_ratio
        Ratio d(hock)/d(stifle) of the reciprocal apparatus.
    mass_centres_m
        (joints, 3) centre of each joint's mass from the joint, standing; the middle of its bone if not
        given. [m]
    mass_height_power
        Power of the withers height with which body mass grows within the species.
    """

    name: str
    title: str
    species: str
    joint_names: tuple[str, ...]
    parents: npt.NDArray[np.int64]
    offsets_m: Array
    tips_m: Array
    mass_shares: Array
    ranges_rad: Array
    standing_angles_rad: Array
    radii_m: Array
    body_mass_kg: float
    withers_height_m: float
    croup_height_m: float
    hooves: Mapping[str, Hoof]
    track_m: Mapping[str, float]
    load_share_fore: float
    followers: Mapping[str, Follower]
    back: BackMotion
    landmarks_m: Mapping[str, tuple[str, tuple[float, float, float]]]
    outline: tuple[tuple[str, tuple[float, float, float], float, str], ...]
    stifle_hock_ratio: float
    mass_centres_m: Array = field(default_factory=lambda: np.empty((0, 3)))
    mass_height_power: float = 3.0
    index: Mapping[str, int] = field(init=False)

    def __post_init__(self) -> None:
        """Lock the arrays and make the index of names."""
        if self.mass_centres_m.shape[0] == 0:
            object.__setattr__(self, "mass_centres_m", self.tips_m / 2.0)
        for array in (
            self.parents,
            self.offsets_m,
            self.tips_m,
            self.mass_shares,
            self.ranges_rad,
            self.standing_angles_rad,
            self.radii_m,
            self.mass_centres_m,
        ):
            array.setflags(write=False)
        object.__setattr__(self, "index", {name: i for i, name in enumerate(self.joint_names)})

    def joint(self, name: str) -> int:
        """Return the index of a joint.

        Raises
        ------
        AnimalError
            If there is no such joint.
        """
        if name not in self.index:
            message = f"{self.name} has no joint {name!r}; it has {', '.join(self.joint_names)}"
            raise AnimalError(message)
        return self.index[name]

    @property
    def hip_height_m(self) -> float:
        """Height of the hip joint over the ground, standing. [m]"""
        return float(self.offsets_m[0, 2] + self.offsets_m[self.joint("femur_L"), 2])
