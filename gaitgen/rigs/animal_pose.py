"""The way back from a rig: how the animal that stands for it is posed where the rig is posed already."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.motion.kinematics import end_middle_m, fixed_points, hung
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.numerics.turns import least_turn, mixed_turn
from gaitgen.rigs.body import hips_m, marks_along, middles_along
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.flat_feet import closed_on, flat_shares
from gaitgen.rigs.pose import Placed
from gaitgen.rigs.rig import Limb, Rig
from gaitgen.rigs.rig_space import from_home

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class AnimalPose:
    """An animal over time.

    Attributes
    ----------
    root_m, local
        (frames, 3) place of its root [m], and (frames, joints, 3, 3) rotations in their parents' frames.
    misses_m
        (frames, 4) how far each toe is from the rig's. [m]
    """

    root_m: Array
    local: Array
    misses_m: Array


def as_posed(made: RigClip) -> Motion:
    """Return the clip of the animal that stands for a rig, posed as the rig is in it."""
    rig, motion, animal = made.rig, made.motion, made.clip.animal
    shift = home_m(rig, animal) - from_home(rig)
    places = Placed(motion.root_m, motion.moved_m).paths_m(rig, motion.changes)
    pose = animal_pose(rig, animal, places - shift, motion.changes, motion.toes_m - shift)
    turns = continuous_sign(quaternion_from_matrix(pose.local))
    return replace(made.clip, root_path_m=pose.root_m, rotations=turns)


def home_m(rig: Rig, animal: Animal) -> Array:
    """Return the way from the origin of the animal that stands for a rig to that of the file, (3,). [m]"""
    return np.asarray(hips_m(rig) - _hips_standing_m(animal) + from_home(rig))


def animal_pose(rig: Rig, animal: Animal, places_m: Array, changes: Array, toes_m: Array) -> AnimalPose:
    """Pose the animal that stands for a rig as the rig is posed.

    Trunk, neck, head and what hangs turn in the world as the joints of the rig do, between those where the
    animal has more; hips and shoulders are where the rig's are. Limbs turn as the rig's bones do, and are
    then closed on its toes by the law of the animal. A foot that no joint of the rig turns lies on the ground
    and turns the more with the bone above it the higher its toe is.

    Parameters
    ----------
    rig, animal
        The rig, and the animal that was made of it.
    places_m, changes, toes_m
        (frames, joints, 3) and (frames, joints, 3, 3) of the rig, and (frames, 4, 3) its toes, from the
        origin of the animal. [m]
    """
    standing = standing_positions_m(animal)
    shift = hips_m(rig) - _hips_standing_m(animal)
    fore = (standing[animal.limb("fore", "L").top] + standing[animal.limb("fore", "R").top]) / 2.0
    hips, shoulders = (
        fixed_points(places_m, changes, joint, point - rig.places_m[joint])
        for joint, point in (
            (rig.joint(rig.map.pelvis), hips_m(rig)),
            (rig.joint(rig.map.chest), fore + shift),
        )
    )
    known = _known(rig, animal, changes)
    world = _world(animal, known, len(changes))
    here, there = _ends_m(animal, world)
    turn = least_turn(there - here, shoulders - hips)
    known |= {joint: turn @ known[joint] for joint in animal.spine}
    world = _world(animal, known, len(changes))
    root = hips - _ends_m(animal, world)[0]
    feet = [limb.foot_joint for limb in animal.limbs]
    above = world[:, np.maximum(animal.parents, 0)].copy()
    above[:, animal.parents < 0] = np.eye(3)
    local = np.swapaxes(above, -1, -2) @ world
    given = animal, root, local, toes_m
    local, misses = closed_on(*given, world[:, feet], flat_shares(rig, animal, toes_m))
    return AnimalPose(root, local, misses)


def _hips_standing_m(animal: Animal) -> Array:
    standing = standing_positions_m(animal)
    return np.asarray(np.mean([standing[animal.limb("hind", side).top] for side in "LR"], axis=0))


def _ends_m(animal: Animal, world: Array) -> tuple[Array, Array]:
    """Place hips and shoulders from the root, (frames, 3) each. [m]"""
    places = hung(animal.parents, animal.offsets_m, world, np.zeros((len(world), 3)))
    return end_middle_m(animal, places, world, "hind"), end_middle_m(animal, places, world, "fore")


def _world(animal: Animal, known: dict[int, Array], frames: int) -> Array:
    """Turn all joints from the root down: as known, else with the joint above."""
    world = np.empty((frames, len(animal.parents), 3, 3))
    for joint, parent in enumerate(animal.parents.tolist()):  # over the tree, not over frames
        above = np.eye(3) if parent < 0 else world[:, parent]
        world[:, joint] = known.get(joint, above)
    return world


def shares_of_rig(rig: Rig, animal: Animal) -> Array:
    """Return how much of the turn of each joint of the animal is that of each joint of the rig.

    (joints of the animal, joints of the rig); rows add up to 1. A joint that the rig has not goes with the
    one above it.
    """
    found = _sources(rig, animal)
    shares = np.zeros((len(animal.parents), len(rig.file.joint_names)))
    for row, parent in enumerate(animal.parents.tolist()):
        if row in found:
            for joint, share in found[row].items():
                shares[row, joint] = share
        elif parent < 0:
            shares[row, rig.joint(rig.map.pelvis)] = 1.0
        else:
            shares[row] = shares[parent]
    return shares


def _known(rig: Rig, animal: Animal, changes: Array) -> dict[int, Array]:
    """Turn of each joint of the animal for which the rig has one, from standing."""
    return {row: _mixed(changes, of) for row, of in _sources(rig, animal).items()}


def _sources(rig: Rig, animal: Animal) -> dict[int, dict[int, float]]:
    """Joints of the rig, one or two with the share of each, that turn each joint of the animal."""
    found = {row: _at(marks, share) for row, marks, share in _rows(rig, animal)}
    own = rig.map
    singles = [(own.head, animal.head)]
    for name, part in ((own.jaw, "jaw"), (own.ear_left, "ear_L"), (own.ear_right, "ear_R")):
        has = animal.part(part)
        singles.append((name, None if has is None else has.joints[0]))
    for name, row in singles:
        if name is not None and row is not None:
            found[row] = {rig.joint(name): 1.0}
    for limb, chain in zip(rig.limbs, animal.limbs, strict=True):
        found |= {
            chain.joints[bone]: {joint: 1.0} for joint, bone in _turning(limb) if bone < len(chain.joints)
        }
        if limb.sling is not None and chain.sling is not None:
            found[chain.sling] = {limb.joints[limb.sling]: 1.0}
    return found


def _turning(limb: Limb) -> list[tuple[int, int]]:
    return [(joint, bone) for joint, bone in zip(limb.joints, limb.bones, strict=True) if bone >= 0]


def _rows(rig: Rig, animal: Animal) -> Iterator[tuple[int, dict[int, float], float]]:
    """Yield joints of the animal's rows, the marks of the rig's along the row, and where each is in it."""
    spine = [rig.joint(name) for name in rig.map.spine]
    neck = [rig.joint(name) for name in rig.map.neck]
    line = [*neck, *([rig.joint(rig.map.head)] if rig.map.head else [])]
    rows: list[tuple[Sequence[int], dict[int, float]]] = [
        (animal.spine, dict(zip(spine, marks_along(rig, spine), strict=True))),
        (animal.neck, middles_along(rig, line, neck)),
    ]
    parts = {"tail": rig.map.tail, **{name: part.joints for name, part in rig.map.hanging.items()}}
    for name, names in parts.items():
        part, joints = animal.part(name), [rig.joint(each) for each in names]
        if part is not None:
            rows.append((part.joints, middles_along(rig, joints, joints)))
    for line_rows, marks in rows:
        if marks:
            last = max(len(line_rows) - 1, 1)
            yield from ((row, marks, k / last) for k, row in enumerate(line_rows))


def _at(marks: dict[int, float], share: float) -> dict[int, float]:
    """Joints of the rig's at a share, 0 to 1, of the way along a row of them, and the share of each."""
    joints, at = list(marks), np.array(list(marks.values()))
    after = int(np.searchsorted(at, share))
    if after in (0, len(at)):
        return {joints[0 if after == 0 else -1]: 1.0}
    part = float((share - at[after - 1]) / (at[after] - at[after - 1]))
    return {joints[after - 1]: 1.0 - part, joints[after]: part}


def _mixed(changes: Array, of: dict[int, float]) -> Array:
    """Turn between those of one or two joints, by the share of each, (frames, 3, 3)."""
    first, *other = of
    if not other:
        return np.asarray(changes[:, first])
    return mixed_turn(changes[:, first], changes[:, other[0]], of[other[0]])
