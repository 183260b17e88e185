"""What there is to know of one animal before it moves: size, limbs, feet, gaits."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.limb import Limb
from gaitgen.animal.standing import standing_positions_m
from gaitgen.gait.own_speeds import OwnSpeeds, own_speeds


@dataclass(frozen=True)
class BoneFacts:
    """One bone of a limb.

    Attributes
    ----------
    name, length_m
        Its joint without side, and its length. [m]
    angle, standing_deg
        What the trade calls the angle at its upper end, and that angle on the flexor side, standing; empty
        and None where it has none. [degrees]
    """

    name: str
    length_m: float
    angle: str
    standing_deg: float | None


@dataclass(frozen=True)
class LimbFacts:
    """The limbs of one end.

    Attributes
    ----------
    end
        ``fore`` or ``hind``.
    top_height_m, leg_length_m
        Height of the uppermost joint over the ground, standing, and length of all bones below that joint
        with the height of the foot, which is the leg stretched out. [m]
    bones
        From the top down, without the foot.
    foot, foot_name
        Kind of foot, and its joint without side.
    foot_length_m, foot_width_m, track_m
        Sole, and distance between the lines of left and right prints. [m]
    """

    end: str
    top_height_m: float
    leg_length_m: float
    bones: tuple[BoneFacts, ...]
    foot: str
    foot_name: str
    foot_length_m: float
    foot_width_m: float
    track_m: float


@dataclass(frozen=True)
class AnimalFacts:
    """One animal in numbers.

    Attributes
    ----------
    name, title, species
        ``riding_horse``, ``Riding horse``, ``horse``.
    withers_height_m, croup_height_m, hip_height_m
        Height of withers, croup and hip joint over the ground, standing. [m]
    body_mass_kg, load_share_fore, joints
        Mass, share of it on the forelegs, and number of joints. [kg], [0 to 1]
    limbs
        Fore and hind.
    gaits
        Every gait, those that it uses first.
    """

    name: str
    title: str
    species: str
    withers_height_m: float
    croup_height_m: float
    hip_height_m: float
    body_mass_kg: float
    load_share_fore: float
    joints: int
    limbs: tuple[LimbFacts, ...]
    gaits: tuple[OwnSpeeds, ...]

    @property
    def own_gaits(self) -> tuple[OwnSpeeds, ...]:
        """The gaits that it uses, slow ones first."""
        return tuple(gait for gait in self.gaits if gait.is_own)

    def as_values(self) -> dict[str, object]:
        """Return the numbers for programs."""
        return asdict(self)


def animal_facts(animal: Animal) -> AnimalFacts:
    """Gather what there is to know of an animal."""
    return AnimalFacts(
        name=animal.name,
        title=animal.title,
        species=animal.species,
        withers_height_m=animal.withers_height_m,
        croup_height_m=animal.croup_height_m,
        hip_height_m=animal.hip_height_m,
        body_mass_kg=animal.body_mass_kg,
        load_share_fore=animal.load_share_fore,
        joints=len(animal.joint_names),
        limbs=tuple(_limb_facts(animal, animal.limb(end)) for end in ENDS),
        gaits=own_speeds(animal),
    )


def _limb_facts(animal: Animal, limb: Limb) -> LimbFacts:
    lengths_m = np.linalg.norm(animal.tips_m[list(limb.joints)], axis=1)
    foot = limb.foot
    return LimbFacts(
        end=limb.end,
        top_height_m=float(standing_positions_m(animal)[limb.top, 2]),
        leg_length_m=float(lengths_m[:-1].sum()) + foot.height_m,
        bones=tuple(
            _bone(animal, row, float(length))
            for row, length in zip(limb.joints[:-1], lengths_m, strict=False)
        ),
        foot=foot.kind,
        foot_name=_plain(animal, limb.foot_joint),
        foot_length_m=foot.toe_m + foot.heel_m,
        foot_width_m=2.0 * foot.half_width_m,
        track_m=2.0 * limb.track_m,
    )


def _bone(animal: Animal, row: int, length_m: float) -> BoneFacts:
    angle = animal.angle_names[row]
    standing = float(np.degrees(animal.standing_angles_rad[row])) if angle else None
    return BoneFacts(_plain(animal, row), length_m, animal.angle_words(angle), standing)


def _plain(animal: Animal, row: int) -> str:
    return animal.joint_names[row].removesuffix("_L").removesuffix("_R")
