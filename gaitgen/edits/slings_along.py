"""Slings of legs that were moved in time by their curves: one that stayed behind follows its leg.

A sling only lets the top of a limb ride on the trunk. A hand that moves all joints of a leg from shoulder
blade to hoof means the whole leg, whether it knows of the joint that carries it or not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.edits.late_legs import turned_later
from gaitgen.edits.moves import Moves
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

LEFT_SHARE, LEAST_RAD = 0.1, np.radians(0.1)  # nearer to where its leg was, it was not moved (estimates)


def with_slings_along(refined: Motion, before: Motion, moves: Moves) -> tuple[Motion, tuple[Notice, ...]]:
    """Move slings that stayed behind as late as their legs.

    Parameters
    ----------
    refined
        One stride that a hand changed, in place.
    before
        The one that it started from, with its legs moved already.
    moves
        By how many frames they were moved.

    Returns
    -------
    The refined stride with the slings moved, and which ones these are.
    """
    rotations, names = refined.rotations, []
    for row in np.flatnonzero(moves.is_whole).tolist():
        sling = before.animal.limbs[row].sling
        name = "" if sling is None else before.animal.joint_names[sling]
        if sling is None or name not in refined.animal.index:
            continue
        joint = refined.animal.joint(name)
        own = matrix_from_quaternion(rotations[:-1, [joint]])
        there = matrix_from_quaternion(before.rotations[: len(own), [sling]])
        along = turned_later(own, float(moves.by[row, 0]))
        if not is_left_behind(own, along, there):
            continue
        turned = quaternion_from_matrix(along)[:, 0]
        rotations = rotations.copy()
        rotations[:, joint] = continuous_sign(np.concatenate([turned, turned[:1]]))
        names.append(f"{name} of {LIMBS[row]}")
    if not names:
        return refined, ()
    return replace(refined, rotations=rotations), (slings_notice(names),)


def is_left_behind(own: Array, along: Array, there: Array) -> bool:
    """Whether a sling is where its leg was, (frames, 1, 3, 3), and would be as its leg is if it went along.

    Parameters
    ----------
    own, along, there
        Its turns as a hand left them, the same as late as its leg, and those of the leg that was moved.
    """
    stays, follows = (float(turn_between_rad(there, each).mean()) for each in (own, along))
    return stays >= LEAST_RAD and follows <= LEFT_SHARE * stays


def slings_notice(names: Sequence[str]) -> Notice:
    """Say which slings were moved along."""
    text = f"{', '.join(names)} only lets its leg ride on the trunk, and was left behind; it is moved along."
    return Notice("sling", text)
