"""What a hand changed in a cycle on somebody's rig, and the same laid over another cycle of the rig."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.check.tracked import Tracked, place
from gaitgen.edits.difference import Edit, held_feet
from gaitgen.edits.phase import Phases, Timing, numbered_as, phases, stances_of, timing_of
from gaitgen.edits.reached import Planted, reached
from gaitgen.edits.rig_planting import foot_joints, reach_on_rig
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import fixed_points
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.pose import Placed, RigMotion, with_goals
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

STILL_M = 1e-7  # a joint that moves less against the joint above has no path of its own


@dataclass(frozen=True, eq=False)
class RigEdit:
    """The difference of two cycles on a rig.

    Attributes
    ----------
    edit
        Joints of the rig, its root and its feet.
    moved_m
        By joint under the root: (frames, 3) how far it was moved against the joint above. [m]
    """

    edit: Edit
    moved_m: dict[str, Array]

    def told(self, rig: Rig) -> Edit:
        """Say how far the body was moved, also where a joint below the root carries it."""
        if rig.body == 0:
            return self.edit
        own = self.moved_m.get(rig.file.joint_names[rig.body], np.zeros(3))
        return replace(self.edit, moved_m=self.edit.moved_m + own)


@dataclass(frozen=True, eq=False)
class CarriedRig:
    """A clip on a rig with an edit laid over it; its attributes are those of Carried.

    Attributes
    ----------
    made, plain
        The clip, and the one that the edit was laid over.
    """

    made: RigClip
    plain: RigClip
    joint_names: tuple[str, ...]
    made_rad: Array
    moved_m: Array
    print_m: Array
    sunk_m: float
    trunk_share: float
    limb_share: float
    slip_m: float

    @property
    def clip(self) -> Motion:
        """The cycle of the animal that stands for the rig, without the edit but for its prints."""
        return self.made.clip


def tracked(made: RigClip) -> Tracked:
    """Read a clip on a rig as from its file."""
    rig = made.rig
    return place(read_bvh(made.bvh(), rig.name), rig.map, rig.name, rig.rest)


def limb_rows(rig: Rig) -> dict[int, int]:
    """Joints that hang on the limbs, and the row of LIMBS each belongs to."""
    parents = rig.file.parents
    found: dict[int, int] = {}
    for row, limb in enumerate(rig.limbs):
        found[limb.joints[0]] = row
    for joint, parent in enumerate(parents.tolist()):
        if parent in found and joint not in found:
            found[joint] = found[parent]
    return found


def local_changes(parents: Ints, changes: Array) -> Array:
    """Return the change of each joint from standing, against the joint above: (frames, joints, 3, 3)."""
    above = changes[:, np.maximum(parents, 0)].copy()
    above[:, parents < 0] = np.eye(3)
    return np.asarray(np.swapaxes(above, -1, -2) @ changes)


def arms_m(motion: Tracked, parents: Ints) -> Array:
    """Place each joint against the joint above as that stands, (frames, joints, 3). [m]"""
    above = np.maximum(parents, 0)
    arm = motion.places_m - motion.places_m[:, above]
    return np.asarray((np.swapaxes(motion.changes[:, above], -1, -2) @ arm[..., None])[..., 0])


def rig_difference(rig: Rig, animal: Animal, original: Tracked, refined: Tracked, timing: Timing) -> RigEdit:
    """Find what turns one cycle on a rig into another.

    Parameters
    ----------
    rig, animal
        The rig, and the animal that stands for it.
    original, refined
        Clips of one length that begin with one stride.
    timing
        Of the original.
    """
    frames, parents = timing.frames, rig.file.parents
    local = [local_changes(parents, motion.changes[:frames]) for motion in (original, refined)]
    turned = np.swapaxes(local[0], -1, -2) @ local[1]
    joints = len(parents)
    turn = Rotation.from_matrix(turned.reshape(-1, 3, 3)).as_rotvec().reshape(frames, joints, 3)
    arms = arms_m(refined, parents)[:frames] - arms_m(original, parents)[:frames]
    moved = {
        rig.file.joint_names[joint]: arms[:, joint]
        for joint in range(1, joints)
        if float(np.abs(arms[:, joint]).max()) > STILL_M
    }
    feet = foot_joints(rig, animal)
    soles = [motion.changes[:frames, feet] for motion in (original, refined)]
    toes = refined.toes_m[:frames] - original.toes_m[:frames]
    toes, turns = held_feet(toes, soles[0], soles[1], timing)
    root = refined.places_m[:frames, 0] - original.places_m[:frames, 0]
    hips = float(np.mean([rig.places_m[limb.joints[0], 2] for limb in rig.limbs[2:]]))
    edit = Edit(rig.file.joint_names, turn, root, toes, turns, hips, timing)
    return RigEdit(edit, moved)


def carry_on_rig(found: RigEdit, plain: RigClip, stride: RigClip) -> CarriedRig:
    """Lay an edit over a clip on the rig, as `carry` does over one of an animal.

    Parameters
    ----------
    found
        What was changed.
    plain
        The clip to lay it over.
    stride
        One stride of it, in place.

    Raises
    ------
    RequestError
        If the feet land in another order, or the legs cannot reach with the edit.
    """
    rig, timing = stride.rig, timing_of(stride.clip)
    edit = replace(found.edit, timing=numbered_as(found.edit.timing, timing))
    frames, parents = timing.frames, rig.file.parents
    at = phases(edit.timing, timing)
    rows = limb_rows(rig)
    names = rig.file.joint_names
    turns = edit.of_joints(at, {names[joint]: row for joint, row in rows.items()})
    asked = np.stack([turns[name] for name in names], axis=1)
    motion = stride.motion
    own = local_changes(parents, motion.changes[:frames])
    steps = {name: replace(edit, moved_m=curve).of_root_m(at) for name, curve in found.moved_m.items()}
    goals = {rig.map.limbs[limb].goal for limb in LIMBS}
    root_edit = edit.of_root_m(at)
    toes, soles = _wanted(rig, stride.clip.animal, motion, timing, edit, at)
    carrying, limbs = carriers(rig), sorted(rows)

    def laid(trunk_share: float, limb_share: float, lowered_m: float) -> Planted[tuple[Array, Placed]]:
        turn = asked.copy()
        turn[:, carrying] *= trunk_share
        turn[:, limbs] *= limb_share
        local = own @ Rotation.from_rotvec(turn.reshape(-1, 3)).as_matrix().reshape(own.shape)
        moved = {joint: curve[:frames] for joint, curve in motion.moved_m.items()}
        for name, curve in steps.items():
            joint = rig.joint(name)
            if name not in goals:
                moved[joint] = moved.get(joint, 0.0) + trunk_share * curve
        placed = Placed(motion.root_m[:frames] + trunk_share * root_edit, moved).lowered(rig, lowered_m)
        changes, misses = reach_on_rig(rig, stride.clip.animal, placed, local, toes, soles)
        return Planted((changes, placed), misses, lowered_m)

    planted, share, limb_share = reached(laid, stride.clip.animal.withers_height_m)
    changes, placed = planted.pose
    moved = with_goals(rig, changes, placed)
    made = np.swapaxes(own, -1, -2) @ local_changes(parents, changes)
    made_rad = Rotation.from_matrix(made.reshape(-1, 3, 3)).as_rotvec().reshape(asked.shape)
    clip = _filled(plain, stride, changes, Placed(placed.root_m, moved), edit)
    shift = placed.root_m - motion.root_m[:frames]
    if rig.body != 0:
        shift = shift + placed.moved_m[rig.body] - motion.moved_m[rig.body][:frames]
    return CarriedRig(
        clip,
        plain,
        names,
        made_rad,
        shift,
        edit.print_m[:, :2],
        planted.sunk_m,
        share,
        limb_share,
        float(planted.misses_m.max()),
    )


def carriers(rig: Rig) -> list[int]:
    """Return the joints above the limbs."""
    found: set[int] = set()
    for limb in rig.limbs:
        joint = int(rig.file.parents[limb.joints[0]])
        while joint >= 0:
            found.add(joint)
            joint = int(rig.file.parents[joint])
    return sorted(found)


def _wanted(
    rig: Rig, animal: Animal, motion: RigMotion, timing: Timing, edit: Edit, at: Phases
) -> tuple[Array, Array]:
    """Say where the toes shall be, (frames, 4, 3) [m], and how feet are turned, (frames, 4, 3, 3)."""
    frames = timing.frames
    plain = motion.toes_m[:frames]
    feet = foot_joints(rig, animal)
    moved, turned = edit.of_feet(at)
    moved, turned = edit.on_prints(moved, turned, timing)
    turns = Rotation.from_rotvec(turned.reshape(-1, 3)).as_matrix().reshape(*turned.shape, 3)
    toes = plain + moved
    toes[..., 2] = np.maximum(toes[..., 2], np.minimum(plain[..., 2], 0.0))  # not under ground
    return toes, turns @ motion.changes[:frames, feet]


def _filled(plain: RigClip, stride: RigClip, changes: Array, placed: Placed, edit: Edit) -> RigClip:
    """Put the new stride into every stride of the clip."""
    frames, before = len(changes), stride.motion
    row = np.arange(plain.clip.frames) % frames
    motion = plain.motion
    root = motion.root_m + (placed.root_m - before.root_m[:frames])[row]
    moved = dict(motion.moved_m)
    for joint, curve in placed.moved_m.items():
        shift = curve - before.moved_m[joint][:frames] if joint in before.moved_m else curve
        moved[joint] = motion.moved_m[joint] + shift[row] if joint in motion.moved_m else shift[row]
    steps, stance = plain.clip.steps, stances_of(plain.clip)
    place_m = steps.place_m.copy()
    place_m[:, :2] += edit.print_m[stance, :2]
    steps = replace(steps, place_m=place_m, heading_rad=steps.heading_rad + edit.heading_rad[stance])
    travel = plain.clip.root_path_m - over_origin(plain.clip).root_path_m
    toes = np.stack(
        [
            fixed_points(
                placed.paths_m(plain.rig, changes),
                changes,
                limb.joints[-1],
                limb.toe_m - plain.rig.places_m[limb.joints[-1]],
            )
            for limb in plain.rig.limbs
        ],
        axis=1,
    )
    whole = replace(
        motion,
        changes=changes[row],
        root_m=root,
        moved_m=moved,
        toes_m=toes[row] + travel[:, None],
    )
    return replace(plain, clip=replace(plain.clip, steps=steps), motion=whole)
