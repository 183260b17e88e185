"""Points of the animal whose trails the page draws: toes, landmarks, and the ends of what hangs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import fixed_points

Array = npt.NDArray[np.float64]
Offset = tuple[float, float, float]


@dataclass(frozen=True)
class Point:
    """One point that moves with a joint.

    Attributes
    ----------
    name, label
        ``point_of_hip``, and what the page calls it, ``point of hip``.
    side
        ``L``, ``R``, or nothing in the middle.
    joint
        Index of the joint.
    offset_m
        The point from the joint, standing. [m]
    """

    name: str
    label: str
    side: str
    joint: int
    offset_m: Offset


@lru_cache(maxsize=32)
def points_of(animal: Animal) -> tuple[Point, ...]:
    """List the points of an animal: its toes in LIMBS order, its landmarks, and the ends of what hangs."""
    found = (*_toes(animal), *_landmarks(animal), *_ends(animal))
    return tuple({point.name: point for point in reversed(found)}.values())[::-1]


def point_paths_m(points: tuple[Point, ...], places_m: Array, world: Array) -> Array:
    """Follow points on joints whose places and orientations are known: (frames, points, 3). [m]"""
    joints = np.array([point.joint for point in points])
    return fixed_points(places_m, world, joints, np.array([point.offset_m for point in points]))


def _toes(animal: Animal) -> Iterator[Point]:
    for name, limb in zip(LIMBS, animal.limbs, strict=True):
        yield Point(name, name, name[0], limb.foot_joint, _offset(limb.foot.tip_m))


def _landmarks(animal: Animal) -> Iterator[Point]:
    for name, (joint, offset) in animal.landmarks_m.items():
        yield Point(name, name.replace("_", " "), _side(joint, offset), animal.joint(joint), _offset(offset))


def _ends(animal: Animal) -> Iterator[Point]:
    """Find the ends of parts that carry nothing further."""
    for part in animal.hanging:
        joint = part.joints[-1]
        if joint in animal.parents:
            continue
        word, name = part.name.replace("_", " "), animal.joint_names[joint]
        side = _side(name, (0.0, 0.0, 0.0))
        label = f"{word.removesuffix(f' {side}')} tip"
        yield Point(f"{part.name}_tip", label, side, joint, _offset(animal.tips_m[joint]))


def _side(joint: str, offset_m: Offset) -> str:
    """Tell the side of a point by the name of its joint, else by where it is."""
    if joint[-2:] in {"_L", "_R"}:
        return joint[-1]
    across = float(offset_m[1])
    return "" if across == 0.0 else "L" if across > 0.0 else "R"


def _offset(place_m: npt.ArrayLike) -> Offset:
    x, y, z = (float(value) for value in np.asarray(place_m, dtype=np.float64))
    return x, y, z
