"""What the animal of a clip does, as wishes for the joints of a rig's body."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import LIMBS
from gaitgen.animal.library import load_animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.motion.kinematics import end_middle_m, fixed_points
from gaitgen.motion.motion import Motion
from gaitgen.numerics.turns import mixed_turn
from gaitgen.rigs.limb import LimbGoal
from gaitgen.rigs.limb_points import limb_points_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Source:
    """A clip by joint name.

    Attributes
    ----------
    clip
        The motion.
    standing_m, places_m
        (joints, 3) standing, and (frames, joints, 3) over time. [m]
    worlds
        (frames, joints, 3, 3) world rotation of each joint from standing.
    """

    clip: Motion
    standing_m: Array
    places_m: Array
    worlds: Array

    def change(self, name: str) -> Array:
        """Return the change of a joint from standing, (frames, 3, 3)."""
        return np.asarray(self.worlds[:, self.clip.animal.joint(name)])

    def middle(self, end: str) -> tuple[Array, Array]:
        """Return the middle between the tops of two limbs, as the trunk carries it, without their ride.

        Standing (3,), and over time (frames, 3).
        """
        left, right = (self.clip.animal.limb(end, side) for side in "LR")
        standing = (self.standing_m[left.top] + self.standing_m[right.top]) / 2.0
        return standing, end_middle_m(self.clip.animal, self.places_m, self.worlds, end)

    def row(self, names: tuple[str, ...], share: float) -> Array:
        """Return the change at a share, 0 to 1, of the way through a row of joints."""
        at = float(np.clip(share, 0.0, 1.0)) * (len(names) - 1)
        low = min(int(at), len(names) - 2) if len(names) > 1 else 0
        first = self.change(names[low])
        return first if len(names) == 1 else mixed_turn(first, self.change(names[low + 1]), at - low)

    def limb(self, limb: str) -> LimbGoal:
        """Return what one limb, by its LIMBS name, does."""
        own = self.clip.animal.limbs[LIMBS.index(limb)]
        rows, tip = list(own.joints), own.foot.tip_m
        toe = fixed_points(self.places_m, self.worlds, rows[-1], tip)
        giving = next(k for k, law in enumerate(own.laws) if law.opens)
        standing_rad = self.clip.animal.standing_angles_rad[rows]
        signs = self.clip.animal.angle_signs[rows]
        return LimbGoal(
            pointing=own.pointing,
            giving=giving,
            opening_rad=own.laws[giving].straightest_rad - float(standing_rad[giving]),
            opens=tuple(
                float(sign) * law.opens if law.opens else 0.0
                for sign, law in zip(signs, own.laws, strict=False)
            ),
            standing_m=np.concatenate([self.standing_m[rows], (self.standing_m[rows[-1]] + tip)[None]]),
            points_m=np.concatenate([self.places_m[:, rows], toe[:, None]], axis=1),
            changes=self.worlds[:, rows],
            sling=None if own.sling is None else self.worlds[:, own.sling],
        )


def source_of(clip: Motion) -> Source:
    """Place every joint of a clip."""
    places, worlds = clip.joints
    return Source(clip, standing_positions_m(clip.animal), places, worlds)


def hips_m(rig: Rig) -> Array:
    """Middle of the hips, standing, (3,): between the tops of the hind limbs, as its animal has them. [m]"""
    tops, first = [], 0
    for limb in rig.limbs[2:]:
        turning = next((k for k, bone in enumerate(limb.bones) if bone >= 0), 0)
        first = max(first, limb.bones[turning])
        tops.append(rig.places_m[limb.joints[turning]])
    middle = np.asarray(np.mean(tops, axis=0))
    if first > 0:  # the rig has no joint at the top: it is where the template's bones lead
        middle[[0, 2]] = limb_points_m(rig, load_animal(rig.map.template), "hind")[0, [0, 2]]
    return middle


def wanted_changes(source: Source, rig: Rig) -> dict[int, Array]:
    """Change from standing of every joint of the rig that is a part of the body, limbs left out."""
    animal = source.clip.animal
    wanted: dict[int, Array] = {}
    spine = [rig.joint(name) for name in rig.map.spine]
    marks = marks_along(rig, spine)
    for joint, mark in zip(spine, marks, strict=True):
        wanted[joint] = source.row(animal.spine_names, 0.5 if len(spine) == 1 else mark)
    if rig.map.body is not None and rig.map.body not in rig.map.spine:
        wanted[rig.body] = source.row(animal.spine_names, 0.5)
    neck = [rig.joint(name) for name in rig.map.neck]
    line = [*neck, *([rig.joint(rig.map.head)] if rig.map.head else [])]
    if animal.neck:
        wanted |= {
            joint: source.row(_neck(source), share) for joint, share in middles_along(rig, line, neck).items()
        }
    tail, names = [rig.joint(name) for name in rig.map.tail], animal.part_names("tail")
    if names:
        wanted |= {joint: source.row(names, share) for joint, share in middles_along(rig, tail, tail).items()}
    for name, row in rig.map.hanging.items():
        joints = [rig.joint(each) for each in row.joints]
        names = animal.part_names(name)
        wanted |= {
            joint: source.row(names, share) for joint, share in middles_along(rig, joints, joints).items()
        }
    if animal.head is not None and rig.map.head is not None:
        wanted[rig.joint(rig.map.head)] = source.change(animal.joint_names[animal.head])
    for single, own in (("jaw", rig.map.jaw), ("ear_L", rig.map.ear_left), ("ear_R", rig.map.ear_right)):
        part = animal.part(single)
        if own is not None and part is not None:
            wanted[rig.joint(own)] = np.asarray(source.worlds[:, part.joints[0]])
    return wanted


def _neck(source: Source) -> tuple[str, ...]:
    animal = source.clip.animal
    return tuple(animal.joint_names[row] for row in animal.neck)


def marks_along(rig: Rig, line: list[int]) -> list[float]:
    """Place of each joint along a line, 0 to 1."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(rig.places_m[line], axis=0), axis=1))])
    return [float(v) for v in along / max(float(along[-1]), 1e-9)]


def middles_along(rig: Rig, line: list[int], turning: list[int]) -> dict[int, float]:
    """Middle of the bone of each turning joint along a line, 0 to 1."""
    if not turning:
        return {}
    marks = marks_along(rig, line) if len(line) > len(turning) else [k / len(line) for k in range(len(line))]
    following = [*marks[1:], 1.0]
    return {joint: (marks[k] + following[k]) / 2.0 for k, joint in enumerate(turning)}
