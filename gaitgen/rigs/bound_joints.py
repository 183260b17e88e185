"""A leg with fewer joints than the animal's finds its length by all joints that the animal's law binds."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.motion.kinematics import hung
from gaitgen.numerics.turns import turn_about
from gaitgen.rigs.rig import Limb, Rig

Array = npt.NDArray[np.float64]

# They come near the length in so many steps of the law's unknown, none larger than so much, and as if a
# radian of it made the leg longer by so much of its length at the least: a straight one grows no longer
# (estimates).
STEPS, MOST_STEP_RAD, LEAST_LONGER = 5, 0.15, 0.05
LEAST_BOUND = 2  # joints: one alone is bent in closed form
SIDE = np.array([0.0, 1.0, 0.0])


def chain_points_m(rig: Rig, limb: Limb, changes: Array, top_m: Array) -> Array:
    """Place the joints of a limb, and last the toe's ground point: (frames, joints + 1, 3). [m]"""
    standing = np.concatenate([rig.places_m[list(limb.joints)], limb.toe_m[None]])
    offsets = np.diff(standing, axis=0, prepend=standing[:1])
    return hung(np.arange(len(standing)) - 1, offsets, changes, top_m)


def opened_together(
    rig: Rig,
    limb: Limb,
    ends: tuple[int, int],
    opening: Mapping[int, float],
    changes: Array,
    top_m: Array,
    length_m: Array,
) -> Array:
    """Open or fold the joints of a leg together until it is about as long as it should be.

    With one of them alone that one would part from those that the law of the animal binds to it: a stifle
    from its hock. Newton's steps of the law's one unknown; what they leave is for the caller.

    Parameters
    ----------
    rig, limb
        The rig, and its limb.
    ends
        Positions in the limb of the joints between which it should be so long.
    opening
        By position how far the joint turns, nose up, with the unknown.
    changes, top_m
        (frames, joints of the limb, 3, 3) world rotations from standing, and (frames, 3) its first joint. [m]
    length_m
        (frames,) how long it should be. [m]

    Returns
    -------
    The changes, (frames, joints of the limb, 3, 3).
    """
    bound = {k: turns for k, turns in opening.items() if turns}
    if len(bound) < LEAST_BOUND:
        return changes
    (pivot, end), changes = ends, changes.copy()
    for _ in range(STEPS):
        points = chain_points_m(rig, limb, changes, top_m)
        line = points[:, end] - points[:, pivot]
        own_m = np.linalg.norm(line, axis=1)
        longer = np.zeros_like(own_m)
        for k, turns in bound.items():
            lever = np.cross(changes[:, k] @ SIDE, points[:, end] - points[:, k])
            longer -= turns * np.sum(lever * line, axis=1) / own_m
        unknown = (length_m - own_m) / np.maximum(longer, LEAST_LONGER * length_m)
        unknown = np.clip(unknown, -MOST_STEP_RAD, MOST_STEP_RAD)
        for k, turns in bound.items():
            turn = turn_about(changes[:, k] @ SIDE, -turns * unknown)
            changes[:, k:end] = turn[:, None] @ changes[:, k:end]
    return changes
