"""What was done to a rig, done to the animal that stands for it: an edit of joints, and control curves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.edits.difference import Edit
from gaitgen.edits.rig_edit import CarriedRig, RigEdit, local_changes
from gaitgen.motion.controls import Controls, controls_of
from gaitgen.motion.kinematics import world_frames
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.own_ranges import rows_of
from gaitgen.rigs.pose import Placed
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.rig_space import animal_shift_m, from_home

Array = npt.NDArray[np.float64]


def animals_edit(found: RigEdit, before: RigClip) -> Edit:
    """Say what was changed on a rig as an edit of the animal that stands for it.

    Each joint of the animal turns in the world as the joint of the rig that stands for it did; one that the
    rig lacks goes with the joint above.

    Parameters
    ----------
    found
        What was changed.
    before
        The cycle that it was changed in.
    """
    rig, animal, frames = before.rig, before.clip.animal, found.edit.timing.frames
    parents = rig.file.parents
    changes = before.motion.changes[:frames]
    turns = Rotation.from_rotvec(found.edit.turn_rad.reshape(-1, 3)).as_matrix()
    local = local_changes(parents, changes) @ turns.reshape(changes.shape)
    refined = np.empty_like(local)
    for joint, parent in enumerate(parents.tolist()):  # over the tree, not over frames
        refined[:, joint] = local[:, joint] if parent < 0 else refined[:, parent] @ local[:, joint]
    turned = refined @ np.swapaxes(changes, -1, -2)
    own, world = _turned(before, turned)
    after = own @ world
    made = np.swapaxes(local_changes(animal.parents, world), -1, -2) @ local_changes(animal.parents, after)
    turn = Rotation.from_matrix(made.reshape(-1, 3, 3)).as_rotvec().reshape(*world.shape[:2], 3)
    body = found.edit.moved_m
    if rig.body != 0:
        body = body + found.moved_m.get(rig.file.joint_names[rig.body], 0.0)
    return replace(found.edit, joint_names=animal.joint_names, turn_rad=turn, moved_m=body)


def rig_names(rig: Rig, animal: Animal) -> dict[str, str]:
    """Joints of the animal that stands for a rig, and the joint of the rig for each, by name."""
    return {
        animal.joint_names[row]: rig.file.joint_names[joint] for row, joint in stands_for(rig, animal).items()
    }


def stands_for(rig: Rig, animal: Animal) -> dict[int, int]:
    """Joints of the animal that stands for a rig, and the joint of the rig for each."""
    own = rig.map
    names = [*own.spine, *own.neck, own.head, own.jaw, own.ear_left, own.ear_right, *own.tail]
    names += [name for part in own.hanging.values() for name in part.joints]
    for limb in rig.limbs:
        names += [
            rig.file.joint_names[j] for j, bone in zip(limb.joints, limb.bones, strict=True) if bone >= 0
        ]
    found: dict[int, int] = {}
    for name in names:
        if name is not None:
            found |= dict.fromkeys(rows_of(rig, animal, name)[0], rig.joint(name))
    for limb, chain in zip(rig.limbs, animal.limbs, strict=True):
        if limb.sling is not None and chain.sling is not None:
            found[chain.sling] = limb.joints[limb.sling]
    return found


def _turned(before: RigClip, turned: Array) -> tuple[Array, Array]:
    """Turn each joint of the animal as the joint of the rig that stands for it, or as the joint above.

    Parameters
    ----------
    before
        The clip on the rig, before it was changed.
    turned
        (frames, joints, 3, 3) how the joints of the rig were turned in the world.

    Returns
    -------
    How the joints of the animal are turned in the world, and how they were before, (frames, joints, 3, 3).
    """
    animal, rows = before.clip.animal, np.arange(len(turned))
    known = stands_for(before.rig, animal)
    _, world = world_frames(animal, before.clip.root_path_m[rows], before.clip.rotations[rows])
    own = np.empty_like(world)
    for joint, parent in enumerate(animal.parents.tolist()):  # over the tree, not over frames
        if joint in known:
            own[:, joint] = turned[:, known[joint]]
        else:
            own[:, joint] = np.eye(3) if parent < 0 else own[:, parent]
    return own, world


def carried_controls(carried: CarriedRig) -> Controls:
    """Follow feet and body of a rig as control curves, with the edit that was laid over it.

    A control goes with the joint of the rig that stands for its joint, as if it were fixed to it.

    Parameters
    ----------
    carried
        The clip, and the one that the edit was laid over.

    Returns
    -------
    The curves, from the origin of the rig's file. [m]
    """
    plain, made = carried.plain, carried.made
    rig, clip = plain.rig, plain.clip
    turned = made.motion.changes @ np.swapaxes(plain.motion.changes, -1, -2)
    own, world = _turned(plain, turned)
    places, _ = clip.joints
    shift = animal_shift_m(rig, clip.animal)
    before, after = (
        Placed(each.motion.root_m, each.motion.moved_m).paths_m(rig, each.motion.changes)
        for each in (plain, made)
    )
    known, moved = stands_for(rig, clip.animal), np.empty_like(places)
    for joint, parent in enumerate(clip.animal.parents.tolist()):  # over the tree, not over frames
        if joint in known:
            at, was, turn = after[:, known[joint]], before[:, known[joint]] - shift, turned[:, known[joint]]
        elif parent < 0:
            at, was, turn = places[:, joint] + shift, places[:, joint], own[:, joint]
        else:
            at, was, turn = moved[:, parent] + shift, places[:, parent], own[:, parent]
        moved[:, joint] = at - shift + np.einsum("fij,fj->fi", turn, places[:, joint] - was)
    curves = controls_of(made.clip, moved, own @ world)
    home = shift + from_home(rig)
    return replace(curves, toe_m=curves.toe_m + home, part_m=curves.part_m + home)
