"""The bones of the template laid on the limbs of a rig."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import RigError
from gaitgen.numerics.rotations import MIRROR_PLACE
from gaitgen.rigs.bones import template_limb_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

LEAST_BONE = 0.004  # of the height of the limb


def limb_points_m(rig: Rig, template: Animal, end: str) -> Array:
    """Place the template's joints of one limb, left side, and the toe's ground point: (bones + 1, 3). [m]

    Joints that the rig has are where it has them, left and right taken together. One between two that the
    rig has is put in by the similarity, seen from the side, that takes the template's two to the rig's; one
    above the first keeps the template's bone, scaled by height.
    """
    left, right = (rig.limbs[k] for k in ((0, 1) if end == "fore" else (2, 3)))
    own = template_limb_m(template, end)
    known: dict[int, Array] = {len(own) - 1: (left.toe_m + right.toe_m * MIRROR_PLACE) / 2.0}
    for bone in range(len(own) - 1):
        pair = left.joint_of(bone), right.joint_of(bone)
        if pair[0] is not None and pair[1] is not None:
            a, b = rig.places_m[left.joints[pair[0]]], rig.places_m[right.joints[pair[1]]]
            known[bone] = (a + b * MIRROR_PLACE) / 2.0
    rows = sorted(known)
    if len(rows) < 3:
        raise RigError(
            f"the {end} limbs turn only {len(rows) - 1} bone of the template; name at least two in bones, "
            "the same left and right"
        )
    points = np.zeros_like(own)
    for row in range(len(own)):
        if row in known:
            points[row] = known[row]
        elif row < rows[0]:
            scale = float(known[rows[0]][2] / own[rows[0], 2])
            points[row] = known[rows[0]] + scale * (own[row] - own[rows[0]])
        else:
            above, below = max(r for r in rows if r < row), min(r for r in rows if r > row)
            points[row] = _between(own, row, above, below, known[above], known[below])
    sides = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if sides.min() < LEAST_BONE * points[0, 2]:
        names = (*template.bones(end), "toe")
        k = int(sides.argmin())
        raise RigError(
            f"{names[k]} and {names[k + 1]} of the {end} limbs are at one point; name only one of them "
            "in bones"
        )
    return points


def _between(own: Array, row: int, above: int, below: int, top: Array, bottom: Array) -> Array:
    flat = own[:, 0] + 1j * own[:, 2]
    share = (flat[row] - flat[above]) / (flat[below] - flat[above])
    side = complex(top[0], top[2]) + share * complex(bottom[0] - top[0], bottom[2] - top[2])
    across = top[1] + float(share.real) * (bottom[1] - top[1])
    return np.array([side.real, across, side.imag])
