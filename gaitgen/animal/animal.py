"""One animal, all of it from its file: joint tree, limbs, feet, back, what hangs, size, manners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.hanging_part import HangingPart
from gaitgen.animal.limb import ENDS, LIMBS, Limb
from gaitgen.animal.look import Look
from gaitgen.animal.manner import Back, Going, Tempo
from gaitgen.animal.own_gait import OwnGait
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]
Ball = tuple[str, tuple[float, float, float], float, str]

__all__ = ["ENDS", "LIMBS", "Animal", "Back", "Ball", "Going", "Tempo"]


@dataclass(frozen=True, eq=False)
class Animal:
    """One animal in its standing pose.

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
        Site, for a foot the ground point of the toe. [m]
    mass_shares
        (joints,) share of the body mass that moves with each joint; sums to 1.
    ranges_rad
        (joints, 3, 2) least and greatest pitch, roll and yaw of the joint's rotation from standing,
        R = Rz(yaw) Ry(-pitch) Rx(roll). Pitch is positive nose up. [rad]
    standing_angles_rad
        (joints,) included angle of a limb joint on its flexor side when standing; nan elsewhere. [rad]
    angle_signs
        (joints,) included angle = standing angle + sign x pitch of the joint; nan elsewhere.
    angle_names
        (joints,) what the trade calls that angle, such as ``stifle``; empty elsewhere.
    angle_also
        Other words for some of these angles: ``carpus`` is a horse's ``knee``.
    radii_m
        (joints, 2) radius of the flesh around the joint's bone at its joint and at its tip. [m]
    body_mass_kg, withers_height_m, croup_height_m
        Whole-body size. [kg], [m]
    limbs
        In LIMBS order.
    spine
        Joints of the back, root first, chest last.
    hanging
        What hangs, bases before what hangs on them.
    head
        Joint of the head, or None.
    load_share_fore
        Share of the body weight on the forelegs, standing, from the masses.
    back, tempo
        How the trunk moves; what hardly changes with speed.
    gaits, own_gaits
        Names of the gaits that the animal uses, and numbers of them that it has its own way.
    goings
        What of the animal itself is another way in a gait, by name of the gait.
    landmarks_m
        Named points as (joint name, offset from the joint in standing axes), such as ``withers``. [m]
    outline
        Extra shapes for drawing: (joint name, offset [m], radius [m], group). The balls of one group are
        joined one to the next (barrel, croup, crest, ...).
    outline_layers
        Layer that a group is drawn in; groups without one lie on the trunk, the head or their limb.
    look
        Colours, and groups of the outline that pass into the trunk under them.
    mass_centres_m
        (joints, 3) centre of each joint's mass from the joint, standing; the middle of its bone if not
        given. [m]
    mass_height_power
        Power of the withers height with which body mass grows within the species.
    limits
        Name of the set of limits by which a clip of this animal is checked, or of a file (.toml) beside
        its own.
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
    angle_signs: Array
    angle_names: tuple[str, ...]
    radii_m: Array
    body_mass_kg: float
    withers_height_m: float
    croup_height_m: float
    limbs: tuple[Limb, ...]
    spine: tuple[int, ...]
    hanging: tuple[HangingPart, ...]
    head: int | None
    load_share_fore: float
    back: Back
    tempo: Tempo
    gaits: tuple[str, ...]
    landmarks_m: Mapping[str, tuple[str, tuple[float, float, float]]]
    outline: tuple[Ball, ...]
    outline_layers: Mapping[str, str]
    look: Look = field(default_factory=Look)
    mass_centres_m: Array = field(default_factory=lambda: np.empty((0, 3)))
    mass_height_power: float = 3.0
    limits: str = "horse"
    own_gaits: Mapping[str, OwnGait] = field(default_factory=dict)
    goings: Mapping[str, Going] = field(default_factory=dict)
    angle_also: Mapping[str, str] = field(default_factory=dict)
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
            self.angle_signs,
            self.radii_m,
            self.mass_centres_m,
        ):
            array.setflags(write=False)
        object.__setattr__(self, "index", {name: i for i, name in enumerate(self.joint_names)})

    def in_gait(self, gait: str, like: Sequence[str] = ()) -> Animal:
        """Return the animal as it goes in a gait, or in one that is like it; the same object each time."""
        return _in_gait(self, next((name for name in (gait, *like) if name in self.goings), None))

    def with_head_lower(self, lower_rad: float) -> Animal:
        """Return the animal with all that nods carried lower; the same object each time. [rad]"""
        return self if lower_rad == 0.0 else _with_head_lower(self, lower_rad)

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

    def limb(self, end: str, side: str = "L") -> Limb:
        """Return one limb; ``end`` is ``fore`` or ``hind``."""
        return self.limbs[2 * ENDS.index(end) + (side == "R")]

    def bones(self, end: str) -> tuple[str, ...]:
        """Return the joints of one pair of limbs from the top to the foot, without their side."""
        return tuple(self.joint_names[row][:-2] for row in self.limb(end).joints)

    def angle_words(self, angle: str) -> str:
        """Name an angle with its other word, if it has one: ``carpus (knee)``."""
        return f"{angle} ({self.angle_also[angle]})" if angle in self.angle_also else angle

    def part(self, name: str) -> HangingPart | None:
        """Return one of the parts that hang, or None."""
        return next((part for part in self.hanging if part.name == name), None)

    def part_names(self, name: str) -> tuple[str, ...]:
        """Return the joints of one of the parts that hang, from the base outward; none without it."""
        part = self.part(name)
        return () if part is None else tuple(self.joint_names[row] for row in part.joints)

    @property
    def spine_names(self) -> tuple[str, ...]:
        """Joints of the back, root first, chest last."""
        return tuple(self.joint_names[row] for row in self.spine)

    @property
    def neck(self) -> tuple[int, ...]:
        """Joints between the trunk and the head, from the trunk outward; none without a head."""
        rows: list[int] = []
        row = -1 if self.head is None else int(self.parents[self.head])
        while row >= 0 and row not in self.spine:
            rows.append(row)
            row = int(self.parents[row])
        return tuple(reversed(rows))

    def below(self, row: int) -> tuple[int, ...]:
        """Return a joint and all that hangs on it."""
        rows = [row]
        for joint in range(row + 1, len(self.parents)):
            if int(self.parents[joint]) in rows:
                rows.append(joint)
        return tuple(rows)

    @property
    def chest(self) -> int:
        """The joint of the trunk nearest the neck."""
        return self.spine[-1]

    @property
    def hip_height_m(self) -> float:
        """Height of the hip joint over the ground, standing. [m]"""
        row, height = self.limb("hind").top, 0.0
        while row >= 0:
            height, row = height + float(self.offsets_m[row, 2]), int(self.parents[row])
        return height


@lru_cache(maxsize=64)
def _with_head_lower(animal: Animal, lower_rad: float) -> Animal:
    parts = (
        replace(part, rest_rad=part.rest_rad - lower_rad) if part.kind == "nod" else part
        for part in animal.hanging
    )
    return replace(animal, hanging=tuple(parts))


@lru_cache(maxsize=64)
def _in_gait(animal: Animal, gait: str | None) -> Animal:
    going = animal.goings.get(gait or "")
    if going is None:
        return animal
    return replace(animal, back=going.back, tempo=going.tempo, limbs=going.limbs, hanging=going.hanging)
