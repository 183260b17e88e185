"""Carries what a hand changed in a shot on somebody's rig to the same shot along another path."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.course.stance import stance_state
from gaitgen.course.steps import Steps
from gaitgen.edits.misread import refuse_other_shot
from gaitgen.edits.reached import Planted, held_notices, reached
from gaitgen.edits.rig_edit import STILL_M, arms_m, carriers, limb_rows, local_changes, tracked
from gaitgen.edits.rig_planting import foot_joints, reach_on_rig, toe_on
from gaitgen.edits.shot_edit import (
    moved_steps,
    on_prints_m,
    refuse_other_frames,
    refuse_other_steps,
    swinging_turns,
)
from gaitgen.edits.shot_edit_told import ShotEditTold, told
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.measure import time_s
from gaitgen.numerics.rotations import axis_angle_matrix
from gaitgen.reading.on_rig import tracked_on
from gaitgen.rigs.animal_pose import as_posed
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.pose import Placed, with_goals
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.shot import RigShot

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class RelaidRig:
    """A shot on a rig with what a hand changed in another, and what of that it is."""

    shot: RigShot
    told: ShotEditTold


@dataclass(frozen=True, eq=False)
class _ByHand:
    """What a hand changed in a shot on a rig, seen along the new path.

    Attributes
    ----------
    turns_rad
        (frames, joints, 3) of each joint against the joint above. [rad]
    root_m, moved_m
        (frames, 3) of the root, and by joint under it against the joint above. [m]
    toes_m, soles
        Where toes and feet of the new shot are wanted, (frames, 4, 3) [m] and (frames, 4, 3, 3).
    steps
        Those of the new shot, where prints were moved.
    """

    turns_rad: Array
    root_m: Array
    moved_m: dict[int, Array]
    toes_m: Array
    soles: Array
    steps: Steps


def relaid_on_rig(edited: Path, before: RigShot, after: RigShot) -> RelaidRig:
    """Lay what was changed in a shot on a rig over another of the same frames and footfalls.

    As `relaid` does on an animal, joint by joint of the rig; joints that the hand moved are moved alike.

    Parameters
    ----------
    edited
        The BVH of the shot on the rig, changed.
    before, after
        The shot as it was made for that file, and what the edit goes to.

    Raises
    ------
    GaitgenError
        If the file cannot be read, is not of this shot, or footfalls or legs do not let it; one line.
    """
    rig, animal, motion = after.on_rig.rig, after.loaded.animal, after.on_rig.motion
    by_hand = _changed(edited, before, after)
    parents = rig.file.parents
    own = local_changes(parents, motion.changes)
    rows, carrying = sorted(limb_rows(rig)), carriers(rig)
    goals = {found[0] for found in map(rig.goal_of, LIMBS) if found is not None}
    _, heading = after.made.root_motion()
    ahead = axis_angle_matrix("Z", -heading)  # legs are closed as seen along the way

    def laid(trunk_share: float, limb_share: float, lowered_m: float) -> Planted[tuple[Array, Placed]]:
        turn = by_hand.turns_rad.copy()
        turn[:, carrying] *= trunk_share
        turn[:, rows] *= limb_share
        local = own @ Rotation.from_rotvec(turn.reshape(-1, 3)).as_matrix().reshape(own.shape)
        moved = dict(motion.moved_m)
        for joint, curve in by_hand.moved_m.items():
            if joint not in goals:
                moved[joint] = moved.get(joint, 0.0) + trunk_share * curve
        placed = Placed(motion.root_m + trunk_share * by_hand.root_m, moved).lowered(rig, lowered_m)
        seen = Placed(_turned(ahead, placed.root_m), placed.moved_m)
        local[:, 0] = ahead @ local[:, 0]
        toes, soles = _turned(ahead[:, None], by_hand.toes_m), ahead[:, None] @ by_hand.soles
        changes, misses = reach_on_rig(rig, animal, seen, local, toes, soles)
        return Planted((np.swapaxes(ahead, -1, -2)[:, None] @ changes, placed), misses, lowered_m)

    planted, trunk_share, limb_share = reached(laid, animal.withers_height_m)
    changes, placed = planted.pose
    moved = with_goals(rig, changes, placed)
    whole = replace(
        motion,
        changes=changes,
        root_m=placed.root_m,
        moved_m=moved,
        toes_m=_toes_m(rig, Placed(placed.root_m, moved), changes),
        misses_m=planted.misses_m,
    )
    held = planted.sunk_m, trunk_share, limb_share
    said = (*after.on_rig.clip.notices, *held_notices(*held))
    clip = replace(after.on_rig.clip, steps=by_hand.steps, notices=said)
    clip = as_posed(RigClip(clip, rig, whole))
    carried_m = {joint: curve - motion.moved_m.get(joint, 0.0) for joint, curve in placed.moved_m.items()}
    made = np.swapaxes(own, -1, -2) @ local_changes(parents, changes)
    made_rad = Rotation.from_matrix(made.reshape(-1, 3, 3)).as_rotvec().reshape(by_hand.turns_rad.shape)
    found = told(
        edited,
        rig.file.joint_names,
        (by_hand.turns_rad, made_rad),
        (
            _body_m(rig, by_hand.root_m, by_hand.moved_m),
            _body_m(rig, placed.root_m - motion.root_m, carried_m),
        ),
        (after.on_rig.clip.steps, clip),
        held,
        float(planted.misses_m.max()),
    )
    shot = replace(after, made=replace(after.made, clip=clip), on_rig=RigClip(clip, rig, whole))
    return RelaidRig(shot, found)


def _changed(edited: Path, before: RigShot, after: RigShot) -> _ByHand:
    """Find what was changed, against the shot as it was made for the file."""
    rig, motion, parents = after.on_rig.rig, after.on_rig.motion, after.on_rig.rig.file.parents
    refined, original = tracked_on(edited, rig), tracked(before.on_rig)
    refuse_other_frames(edited, refined.frames, before.made.clip)
    refuse_other_steps(before.made.clip, after.made.clip)
    was, now = (local_changes(parents, each.changes) for each in (original, refined))
    legs = tuple(limb.joints for limb in rig.limbs)
    refuse_other_shot(str(edited), now, was, legs, rig.file.joint_names)
    turns = Rotation.from_matrix((np.swapaxes(was, -1, -2) @ now).reshape(-1, 3, 3)).as_rotvec()
    arms = arms_m(refined, parents) - arms_m(original, parents)
    moves = np.abs(arms).max(axis=(0, 2)) > STILL_M
    moves[0] = False
    (_, there), (_, here) = before.made.root_motion(), after.made.root_motion()
    turned = axis_angle_matrix("Z", here - there)
    state = stance_state(after.made.clip.steps, time_s(after.made.clip))
    toes = _turned(turned[:, None], refined.toes_m - original.toes_m)
    toes = on_prints_m(toes, state, after.made.ground)
    feet = foot_joints(rig, after.loaded.animal)
    soles = motion.changes[:, feet] @ swinging_turns(
        original.changes[:, feet], refined.changes[:, feet], state
    )
    return _ByHand(
        turns.reshape(*was.shape[:2], 3),
        _turned(turned, refined.places_m[:, 0] - original.places_m[:, 0]),
        {int(joint): arms[:, joint] for joint in np.flatnonzero(moves)},
        motion.toes_m + toes,
        soles,
        moved_steps(after.made.clip, toes, state.planted),
    )


def _turned(turns: Array, points: Array) -> Array:
    """Turn points (..., 3) by matrices (..., 3, 3)."""
    return np.asarray((turns @ points[..., None])[..., 0])


def _toes_m(rig: Rig, placed: Placed, changes: Array) -> Array:
    """Follow the ground points of the toes, (frames, 4, 3). [m]"""
    places = placed.paths_m(rig, changes)
    return np.stack([toe_on(rig, limb, places, changes) for limb in rig.limbs], axis=1)


def _body_m(rig: Rig, root_m: Array, moved_m: dict[int, Array]) -> Array:
    """How far the hand moved the body, also where a joint below the root carries it, (frames, 3). [m]"""
    return root_m if rig.body == 0 else root_m + moved_m.get(rig.body, np.zeros(3))
