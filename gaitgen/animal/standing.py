"""The standing animal: where joints and landmarks are, its centre of mass, and what its feet carry."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import Foot
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

CLOSURE_TOLERANCE_M = 1e-3


def stacked_offsets(parents: npt.NDArray[np.int64], offsets_m: Array) -> Array:
    """Add up offsets along the tree: (joints, 3) positions, standing. [m]"""
    positions = offsets_m.copy()
    for joint in range(1, len(parents)):
        positions[joint] += positions[parents[joint]]
    return positions


@lru_cache(maxsize=32)
def standing_positions_m(skeleton: Animal) -> Array:
    """Return joint positions in the standing pose, (joints, 3), not to be written to. [m]"""
    positions = stacked_offsets(skeleton.parents, skeleton.offsets_m)
    positions.setflags(write=False)
    return positions


def standing_landmark_m(skeleton: Animal, name: str) -> Array:
    """Return a landmark in the standing pose, (3,). [m]

    Raises
    ------
    AnimalError
        If the skeleton has no such landmark.
    """
    if name not in skeleton.landmarks_m:
        known = ", ".join(skeleton.landmarks_m)
        raise AnimalError(f"{skeleton.name} has no landmark {name!r}; it has {known}")
    joint, offset = skeleton.landmarks_m[name]
    return np.asarray(standing_positions_m(skeleton)[skeleton.joint(joint)] + np.asarray(offset))


def load_share_fore(
    positions_m: Array, mass_centres_m: Array, mass_shares: Array, feet: Mapping[str, tuple[int, Foot]]
) -> float:
    """Balance the body mass on the mid-soles of the standing fore and hind feet.

    Static moments about the hind soles: share = (x_com - x_hind) / (x_fore - x_hind).
    ``feet`` gives the joint of one foot and its measures for ``fore`` and ``hind``.
    """
    com_x = float(mass_shares @ (positions_m[:, 0] + mass_centres_m[:, 0]))
    sole = {
        end: float(positions_m[joint, 0]) + (foot.toe_m - foot.heel_m) / 2.0
        for end, (joint, foot) in feet.items()
    }
    return (com_x - sole["hind"]) / (sole["fore"] - sole["hind"])


def standing_fault(skeleton: Animal) -> str | None:
    """Say why the animal cannot stand at its height, or nothing.

    Every sole must be within a millimetre of the ground and the withers within a millimetre of their
    height; the load share must leave weight on both ends.
    """
    positions = standing_positions_m(skeleton)
    for limb in skeleton.limbs[::2]:
        foot = skeleton.joint_names[limb.foot_joint][:-2]
        sole_m = float(positions[limb.foot_joint, 2]) - limb.foot.height_m
        if abs(sole_m) > CLOSURE_TOLERANCE_M:
            side = "above" if sole_m > 0 else "under"
            return (
                f"cannot stand: the sole of {foot} is {abs(sole_m) * 1000:.1f} mm {side} the ground; "
                f"make the bones from {skeleton.joint_names[0]} to {foot} {abs(sole_m):.4f} m "
                f"{'longer' if sole_m > 0 else 'shorter'} in height"
            )
    withers_m = float(standing_landmark_m(skeleton, "withers")[2])
    if abs(withers_m - skeleton.withers_height_m) > CLOSURE_TOLERANCE_M:
        return (
            f"cannot stand: the withers are at {withers_m:.4f} m, not at withers_height_m = "
            f"{skeleton.withers_height_m:g}; move [landmarks.withers] by "
            f"{skeleton.withers_height_m - withers_m:+.4f} m in height, or write "
            f"withers_height_m = {withers_m:.4f}"
        )
    if not 0.0 < skeleton.load_share_fore < 1.0:
        return (
            f"cannot stand: the forelegs would carry {skeleton.load_share_fore:.2f} of the weight; "
            "put the centre of mass between fore and hind feet"
        )
    return None
