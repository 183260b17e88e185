"""Toes beside the main one of each foot: they turn with it, and bend up where they would go under it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.motion.kinematics import fixed_points
from gaitgen.numerics.curves import largest_around, mean_around
from gaitgen.numerics.turns import turn_about
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

SOFT_ROUNDS = 2  # a toe begins to bend up so many frames before it must, and has come down as many after
SAME_RAD = 1e-6
STEEP_SHARE = 0.1  # a toe that goes less far along the ground, against its length, points ahead
LOW_SHARE = 0.08  # of the height of a limb: ends of its other toes are no higher over the ground
TOUCH_SHARE = 0.015  # ... and of a toe whose end stands higher than this it is a claw's


@dataclass(frozen=True)
class SideToe:
    """A toe beside the main one.

    Attributes
    ----------
    limb
        Row of its limb in LIMBS.
    joints
        Its own joints from the foot outward, the ones that no main toe has; may be none.
    leaf
        Its end, joint or End Site.
    start
        Place in the limb of the joint that it hangs on.
    """

    limb: int
    joints: tuple[int, ...]
    leaf: int
    start: int


def side_toes(rig: Rig) -> tuple[SideToe, ...]:
    """Find the other toes of a rig that reach the ground."""
    found: list[SideToe] = []
    parents, joints = rig.rest.parents, len(rig.file.joint_names)
    for row, limb in enumerate(rig.limbs):
        low = LOW_SHARE * float(rig.places_m[limb.joints[0], 2])
        for leaf in np.setdiff1d(np.flatnonzero(rig.places_m[:, 2] < low), parents):
            line = [int(leaf)]
            while line[-1] >= 0 and line[-1] not in limb.joints:
                line.append(int(parents[line[-1]]))
            if line[-1] >= 0:
                own = tuple(node for node in reversed(line[:-1]) if node < joints)
                found.append(SideToe(row, own, int(leaf), limb.joints.index(line[-1])))
    return tuple(found)


def beside(rig: Rig, toes: tuple[SideToe, ...]) -> dict[int, int]:
    """Return the joints of other toes, each with the joint of the main toe at its depth.

    A claw that stands off the ground goes with what it hangs on.
    """
    found: dict[int, int] = {}
    for toe in toes:
        chain = rig.limbs[toe.limb].joints
        if rig.places_m[toe.leaf, 2] > TOUCH_SHARE * rig.places_m[chain[0], 2]:
            continue
        for depth, joint in enumerate(toe.joints, start=1):
            found[joint] = chain[min(toe.start + depth, len(chain) - 1)]
    return found


def bent_up(rig: Rig, toes: tuple[SideToe, ...], places: Array, changes: Array, main_m: Array) -> Array:
    """Turn other toes up so far that no end of one is under its main toe, and not all in one frame.

    Parameters
    ----------
    rig, toes
        The rig and its other toes.
    places, changes
        (frames, joints, 3) [m] and (frames, joints, 3, 3) from standing.
    main_m
        (frames, 4, 3) ground points of the main toes, in LIMBS order. [m]

    Returns
    -------
    The changes, with those toes turned.
    """
    changes = changes.copy()
    for toe in toes:
        if not toe.joints or len(rotation_letters(rig.file, toe.joints[0])) != 3:
            continue
        base, last = toe.joints[0], toe.joints[-1]
        end = fixed_points(places, changes, last, rig.places_m[toe.leaf] - rig.places_m[last])
        arm = end - places[:, base]
        ahead = _ahead(rig.places_m[toe.leaf] - rig.places_m[base], changes[:, base])
        along = np.sum(arm * ahead, axis=1)
        far = np.maximum(np.hypot(along, arm[:, 2]), 1e-12)
        least = main_m[:, toe.limb, 2] + min(0.0, float(rig.places_m[toe.leaf, 2])) - places[:, base, 2]
        wanted = np.arcsin(np.clip(least / far, -1.0, 1.0))
        by = np.where(arm[:, 2] < least, wanted - np.arctan2(arm[:, 2], along), 0.0)
        by = _softly(np.maximum(by, 0.0))
        axis = np.stack([ahead[:, 1], -ahead[:, 0], np.zeros_like(by)], axis=1)
        joints = list(toe.joints)
        changes[:, joints] = turn_about(axis, by)[:, None] @ changes[:, joints]
    return changes


def _ahead(arm_m: Array, change: Array) -> Array:
    """Return where a toe, standing (3,), points along the ground as its joint turns: unit, (frames, 3).

    By its axis across, so that a foot that hangs past the vertical still points ahead.
    """
    flat = arm_m * [1.0, 1.0, 0.0]
    if np.linalg.norm(flat) < STEEP_SHARE * np.linalg.norm(arm_m):
        flat = np.array([1.0, 0.0, 0.0])
    across = change @ np.array([-flat[1], flat[0], 0.0])
    there = np.stack([across[:, 1], -across[:, 0], np.zeros(len(across))], axis=1)
    return np.asarray(there / np.maximum(np.linalg.norm(there, axis=1), 1e-12)[:, None])


def _softly(by_rad: Array) -> Array:
    """Lay a curve over one, (frames,), that is nowhere less and comes and goes over some frames."""
    if not by_rad.any():
        return by_rad
    is_loop = len(by_rad) > 2 * SOFT_ROUNDS and abs(float(by_rad[-1] - by_rad[0])) < SAME_RAD
    once = by_rad[:-1] if is_loop else by_rad
    over = largest_around(once, SOFT_ROUNDS, periodic=is_loop)
    for _ in range(SOFT_ROUNDS):  # means of means, so that it does not begin at once either
        over = mean_around(over, 3, periodic=is_loop)
    return np.append(over, over[0]) if is_loop else over
