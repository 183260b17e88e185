"""Which joint of a rig is which part of the animal, and the space the rig is built in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Rest = Literal["zero", "first frame"]
Legs = Literal["as they stand", "under the body"]
Limits = tuple[float, float]
Triple = tuple[float, float, float]

UPS = ("x", "y", "z", "-x", "-y", "-z")
FOLLOWS = "-"
"""Stands for a joint of a limb that turns with the joint above it."""
SLING = "sling"
"""Stands for a joint that lets the top of a limb ride and glide on the trunk."""
NO_BONES = (FOLLOWS, SLING)


@dataclass(frozen=True)
class LimbMap:
    """One limb of a rig.

    Attributes
    ----------
    joints
        From the top of the limb to its last joint.
    bones
        For each joint, the bone of the template that it turns (``humerus``, ``fore_cannon``, ...), SLING
        for one that lets the top of the limb ride, or FOLLOWS for a helper that turns with the joint above.
    toe
        Ground point of the toe from the last joint, standing, in the file's axes and unit.
    goal
        A helper that goes where the foot goes, or None.
    """

    joints: tuple[str, ...]
    bones: tuple[str, ...]
    toe: Triple
    goal: str | None = None


@dataclass(frozen=True)
class HangingMap:
    """Joints of a rig that hang and swing.

    Attributes
    ----------
    joints
        From the base outward.
    like
        The part of the template whose quickness, damping and drive they have.
    """

    joints: tuple[str, ...]
    like: str


@dataclass(frozen=True)
class WalkOfEnd:
    """What lets the legs of one end fold once at a walk.

    Attributes
    ----------
    heel_later
        By how much of a stance later than the template's the heel begins to rise.
    fold
        How many times as far as the template's the joints that fold by law do.
    """

    heel_later: float
    fold: float


@dataclass(frozen=True)
class WalkMap:
    """What was found by walking a rig, and the animal and size it was found for.

    Attributes
    ----------
    template
        The animal that lent the limb laws.
    hip_height_m
        Height of the hips of the standing rig. [m]
    ends
        By end, fore and hind.
    """

    template: str
    hip_height_m: float
    ends: Mapping[str, WalkOfEnd]


@dataclass(frozen=True)
class TurnsMap:
    """How far the joints of a rig's animal may turn, as found by going in each of its gaits.

    Attributes
    ----------
    of
        Digest of what it was found from and of what was found; another one says that it does not hold.
    joints_rad
        By joint of the animal whose ranges are not those from standing: least and greatest pitch, roll and
        yaw. [rad]
    swings_rad
        By part that hangs and swings farther than the template's: its greatest swing. [rad]
    """

    of: str
    joints_rad: Mapping[str, tuple[float, ...]]
    swings_rad: Mapping[str, float]


@dataclass(frozen=True)
class RigMap:
    """The parts of one rig.

    Attributes
    ----------
    template
        The animal that gives masses, ranges and everything else the rig does not say.
    unit
        Key of RIG_UNITS_M, or metres like "100 m".
    up
        Axis of the file that points up, one of UPS.
    forward
        Direction the standing rig faces, in the file's axes; level.
    rest
        Whether the rig stands with all rotations zero or in the first frame of its file.
    spine
        From the joint that carries the hind limbs (the pelvis) to the one that carries the fore limbs.
    neck
        From the trunk to the last joint before the head.
    head, jaw, ear_left, ear_right
        Joints, or None if the rig has none.
    tail
        From the dock outward.
    limbs
        By LIMBS name.
    body
        Joint that carries the rise, fall and lean of the body, while those above it carry travel alone; None
        if that is the root.
    legs
        Whether the legs are taken as they stand, or put under the body first.
    hanging
        What else hangs, by name.
    ranges_deg
        By joint and axis (pitch, roll, yaw): least and greatest turn from standing. [degrees]
    walk
        How the legs go at a walk, or None where that is found each time the map is read.
    turns
        How far its joints turn in its gaits, or None where that is found each time the map is read.
    toes_of_rest
        The pose whose toes its file has, where that is not ``rest`` and they were computed anew, or None.
    """

    template: str
    unit: str
    up: str
    forward: Triple
    rest: Rest
    spine: tuple[str, ...]
    neck: tuple[str, ...]
    head: str | None
    jaw: str | None
    ear_left: str | None
    ear_right: str | None
    tail: tuple[str, ...]
    limbs: Mapping[str, LimbMap]
    body: str | None = None
    legs: Legs = "as they stand"
    hanging: Mapping[str, HangingMap] = field(default_factory=dict)
    ranges_deg: Mapping[str, Mapping[str, Limits]] = field(default_factory=dict)
    walk: WalkMap | None = None
    turns: TurnsMap | None = None
    toes_of_rest: Rest | None = None

    @property
    def pelvis(self) -> str:
        """The joint that carries the hind limbs."""
        return self.spine[0]

    @property
    def chest(self) -> str:
        """The joint that carries the fore limbs."""
        return self.spine[-1]
