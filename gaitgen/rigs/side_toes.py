"""Toes beside the main one of each foot: they turn with it, and bend up where they would go under it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.motion.kinematics import fixed_points
from gaitgen.numerics.turns import turn_about
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

LOW_SHARE = 0.08  # of the height of a limb: ends of its other toes are no higher over the ground


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
    """Return the joints of other toes, each with the joint of the main toe at its depth."""
    found: dict[int, int] = {}
    for toe in toes:
        chain = rig.limbs[toe.limb].joints
        for depth, joint in enumerate(toe.joints, start=1):
            found[joint] = chain[min(toe.start + depth, len(chain) - 1)]
    return found


def bent_up(rig: Rig, toes: tuple[SideToe, ...], places: Array, changes: Array, main_m: Array) -> Array:
    """Turn other toes up by the least that brings no end of one under its main toe.

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
        flat, far = np.hypot(arm[:, 0], arm[:, 1]), np.linalg.norm(arm, axis=1)
        least = main_m[:, toe.limb, 2] + min(0.0, float(rig.places_m[toe.leaf, 2])) - places[:, base, 2]
        wanted = np.arcsin(np.clip(least / np.maximum(far, 1e-12), -1.0, 1.0))
        by = np.maximum(wanted - np.arctan2(arm[:, 2], flat), 0.0)
        axis = np.stack([arm[:, 1], -arm[:, 0], np.zeros_like(flat)], axis=1)
        axis /= np.maximum(flat, 1e-12)[:, None]
        joints = list(toe.joints)
        changes[:, joints] = turn_about(axis, np.where(flat > 1e-9, by, 0.0))[:, None] @ changes[:, joints]
    return changes
