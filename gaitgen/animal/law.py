"""Whether the law of a limb can place its foot: it stands inside its reach, and lengthens as it opens."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import Limb

Array = npt.NDArray[np.float64]

SAMPLES = 64
# A limb that changes its length by less than this from folded to straight cannot follow the ground.
LEAST_CHANGE_SHARE = 0.02


def law_fault(animal: Animal, limb: Limb) -> str | None:
    """Say why a limb cannot place its foot by its law, or nothing.

    From its least to its straightest the one unknown must make the limb longer and longer, and standing,
    where the unknown is 0, must lie between the two.
    """
    names = [animal.joint_names[row][:-2] for row in limb.joints]
    least, most = -np.inf, np.inf
    for place, (joint, law) in enumerate(zip(limb.joints, limb.laws, strict=False)):
        if law.opens == 0.0:
            continue
        standing = float(animal.standing_angles_rad[joint])
        if np.isfinite(law.straightest_rad):
            if law.straightest_rad < standing:
                degrees = np.degrees([standing, law.straightest_rad])
                return (
                    f"{names[place]} stands at {degrees[0]:.1f} degrees, past its straightest_deg of "
                    f"{degrees[1]:g}; write {np.ceil(degrees[0]):g} or more"
                )
            most = min(most, (law.straightest_rad - standing) / abs(law.opens))
        ends = animal.angle_signs[joint] * animal.ranges_rad[joint, 0] / law.opens
        least, most = max(least, float(ends.min())), min(most, float(ends.max()))
    length = _lengths_m(animal, limb, np.linspace(least, most, SAMPLES))
    whole = float(length.max() - length.min())
    if np.diff(length).min() <= 0.0 or whole < LEAST_CHANGE_SHARE * float(length.max()):
        opening = ", ".join(n for n, law in zip(names, limb.laws, strict=False) if law.opens)
        return (
            f"it does not grow longer all the way from folded to straight while {opening} opens; change "
            "opens, or angle_deg of those joints"
        )
    return None


def _lengths_m(animal: Animal, limb: Limb, unknown_rad: Array) -> Array:
    """Length from the joint that points the limb to the foot joint for some unknowns, (samples,). [m]"""
    turn = np.zeros_like(unknown_rad)
    foot = np.zeros(unknown_rad.size, dtype=np.complex128)
    for place in range(limb.pointing, len(limb.laws)):
        if place > limb.pointing:
            turn = turn + animal.angle_signs[limb.joints[place]] * limb.laws[place].opens * unknown_rad
        x, _, z = animal.offsets_m[limb.joints[place + 1]]
        foot = foot + complex(x, z) * np.exp(1j * turn)
    return np.abs(foot)
