"""What hangs on a rig and comes under the ground, as a tail that stands on it already: lifted as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.motion.kinematics import fixed_points
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix
from gaitgen.numerics.turns import turn_about
from gaitgen.rigs.pose import Placed, RigMotion
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

LEAST_SHARE = 0.02  # of the height of the hips: what is less far under the ground is flesh (estimate)
# A row that hangs is lifted by no more, at its first joint, by as much in all frames, so that it swings as it
# did; the angle is halved so often until it is known (estimates).
MOST_LIFT_RAD, HALVINGS = np.radians(40.0), 20
SIDE = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Lifted:
    """A rig whose rows that hang were turned up where they came under the ground.

    Attributes
    ----------
    motion
        With each such row turned up at its first joint, by one angle in all frames.
    turns_rad
        By row the angle about the left of what carries it: above 0 where it leads behind. [rad]
    notices
        By how much each was turned up, or how far under the ground it stays.
    """

    motion: RigMotion
    turns_rad: Mapping[str, float]
    notices: tuple[Notice, ...]


def over_ground(rig: Rig, motion: RigMotion) -> Lifted:
    """Lift the rows that hang and come under level ground, and say by how much, or how far under they stay.

    Parameters
    ----------
    rig, motion
        The rig, and its pose over time on level ground.
    """
    own = rig.map
    rows = {"tail": own.tail, **{name: part.joints for name, part in own.hanging.items()}}
    hips = float(np.mean([rig.places_m[limb.joints[0], 2] for limb in rig.limbs[2:]]))
    said, turns_rad = [], {}
    for name, names in rows.items():
        if not names or (low := _low_m(rig, motion, names)).min() >= -LEAST_SHARE * hips:
            continue
        lifted, angle = _lifted(rig, motion, names)
        if angle:
            motion, turns_rad[name] = lifted, angle
            up = np.degrees(abs(angle))
            text = (
                f"the {name} is turned up by {up:.1f} degrees at {names[0]} in all frames: {names[-1]}, its "
                f"end, would come {-1000.0 * float(low.min()):.0f} mm under the ground."
            )
        else:
            text = (
                f"the end of the {name}, {names[-1]}, comes {-1000.0 * float(low.min()):.0f} mm under the "
                f"ground, at most in frame {int(low.argmin()) + 1}: it hangs as low; lift it there, or make "
                "it swing less (overlap below 1)."
            )
        said.append(Notice("ground", text))
    return Lifted(motion, turns_rad, tuple(said))


def lifted_clip(clip: Motion, turns_rad: Mapping[str, float]) -> Motion:
    """Turn up the rows of the animal that stands for a rig as those of the rig are.

    Parameters
    ----------
    clip
        Of the animal.
    turns_rad
        By row the angle at its first joint, as `Lifted` has it; what the animal lacks stays. [rad]
    """
    rotations = clip.rotations.copy()
    for name, angle in turns_rad.items():
        if (part := clip.animal.part(name)) is not None:
            first = part.joints[0]
            turned = turn_about(SIDE, np.array(angle)) @ matrix_from_quaternion(rotations[:, first])
            rotations[:, first] = continuous_sign(quaternion_from_matrix(turned))
    return replace(clip, rotations=rotations)


def _low_m(rig: Rig, motion: RigMotion, names: tuple[str, ...]) -> Array:
    """Height of the lowest point of a row that hangs over time, (frames,). [m]"""
    places = Placed(motion.root_m, motion.moved_m).paths_m(rig, motion.changes)
    last = rig.joint(names[-1])
    nodes = [last, *np.flatnonzero(rig.rest.parents == last).tolist()]
    arms = rig.places_m[nodes] - rig.places_m[last]
    ends = fixed_points(places, motion.changes, [last] * len(nodes), arms)
    rows = places[:, [rig.joint(name) for name in names[1:]]]
    return np.asarray(np.concatenate([ends, rows], axis=1)[..., 2].min(axis=1))


def _lifted(rig: Rig, motion: RigMotion, names: tuple[str, ...]) -> tuple[RigMotion, float]:
    """Turn a row up by the least angle that brings it over the ground; by none if its joint cannot. [rad]"""
    first, last = rig.joint(names[0]), rig.joint(names[-1])
    above = int(rig.file.parents[first])
    branch = _branch(rig, first)
    stands = {joint for limb in rig.limbs for joint in limb.joints}  # on a row that leads to the trunk
    if len(rotation_letters(rig.file, first)) < len(SIDE) or above < 0 or stands.intersection(branch):
        return motion, 0.0
    behind = 1.0 if rig.places_m[last, 0] <= rig.places_m[first, 0] else -1.0

    def by(angle: float) -> RigMotion:
        carrier = motion.changes[:, above]
        turn = carrier @ turn_about(SIDE, np.array(behind * angle)) @ np.swapaxes(carrier, -1, -2)
        changes = motion.changes.copy()
        changes[:, branch] = turn[:, None] @ changes[:, branch]
        return replace(motion, changes=changes)

    least, most = 0.0, float(MOST_LIFT_RAD)
    if float(_low_m(rig, by(most), names).min()) < 0.0:
        return motion, 0.0
    for _ in range(HALVINGS):
        middle = (least + most) / 2.0
        is_over = float(_low_m(rig, by(middle), names).min()) >= 0.0
        least, most = (least, middle) if is_over else (middle, most)
    return by(most), behind * most


def _branch(rig: Rig, first: int) -> list[int]:
    """List a joint and all below it."""
    branch = [first]
    for joint in branch:
        branch.extend(int(child) for child in np.flatnonzero(rig.file.parents == joint))
    return branch
