"""Carries what a hand changed in a shot to the same shot along another path, with its feet planted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.check.tracked import place
from gaitgen.course.ground import Ground
from gaitgen.course.stance import StanceState, stance_state
from gaitgen.course.steps import Steps
from gaitgen.edits.misread import refuse_other_shot
from gaitgen.edits.reached import Planted, held_notices, reached
from gaitgen.edits.seen import leg_joints
from gaitgen.edits.shot_edit_told import ShotEditTold, told
from gaitgen.errors import RequestError
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import slip_m, time_s
from gaitgen.motion.motion import Motion
from gaitgen.motion.planting import reach
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.rotations import (
    axis_angle_matrix,
    continuous_sign,
    matrix_from_quaternion,
    quaternion_from_matrix,
)
from gaitgen.reading.read import opened, own_map, poses_of
from gaitgen.shot.make import Made

Array = npt.NDArray[np.float64]

# A print was moved by hand where its foot stays so far from where it was, to such a share; else the foot was
# only dragged by what is above it (estimate).
STAYS_SHARE = 0.25
SOLE_SHARE = 0.2  # of a swing, in which a foot comes to turn as by hand, and to lie flat again (estimate)


@dataclass(frozen=True, eq=False)
class Relaid:
    """A shot with what a hand changed in another, and what of that it is."""

    made: Made
    told: ShotEditTold


def relaid(edited: Path, before: Made, after: Made) -> Relaid:
    """Lay what was changed in a shot over another of the same frames and footfalls.

    Joints turn by what the hand turned them, the root goes aside as seen from the body's way. Feet that are
    down stand on one place each, moved where the hand moved their prints; those that swing go as by hand
    from print to print.

    Parameters
    ----------
    edited
        The BVH of the shot, changed.
    before, after
        The shot as it was made for that file, and what the edit goes to.

    Returns
    -------
    Relaid
        ``after`` with the edit, notices of what was held back, and what was taken over.

    Raises
    ------
    GaitgenError
        If the file cannot be read, is not of this shot, or footfalls or legs do not let it; one line.
    """
    clip, animal = after.clip, after.clip.animal
    root_m, local = _read(edited, before)
    refuse_other_steps(before.clip, clip)
    own = matrix_from_quaternion(before.clip.rotations)
    refuse_other_shot(str(edited), local, own, tuple(map(leg_joints, animal.limbs)), animal.joint_names)
    turns = Rotation.from_matrix((np.swapaxes(own, -1, -2) @ local).reshape(-1, 3, 3)).as_rotvec()
    turns = turns.reshape(*own.shape[:2], 3)
    (_, was), (_, goes) = before.root_motion(), after.root_motion()
    turned = axis_angle_matrix("Z", goes - was)
    limbs = [joint for limb in animal.limbs for joint in limb.joints]
    trunk = np.setdiff1d(np.arange(len(animal.joint_names)), limbs)
    *wanted, steps = _feet(before.clip, after, (root_m, local), turned)
    plain = matrix_from_quaternion(clip.rotations)
    by_hand_m = root_m - before.clip.root_path_m
    moved_m = (turned @ by_hand_m[..., None])[..., 0]

    def laid(trunk_share: float, limb_share: float, lowered_m: float) -> Planted[tuple[Array, Array]]:
        turn = turns.copy()
        turn[:, trunk] *= trunk_share
        turn[:, limbs] *= limb_share
        posed = plain @ Rotation.from_rotvec(turn.reshape(-1, 3)).as_matrix().reshape(plain.shape)
        root = clip.root_path_m + trunk_share * moved_m - [0.0, 0.0, lowered_m]
        met, misses = reach(animal, root, posed, *wanted)
        return Planted((root, met), misses, lowered_m)

    planted, trunk_share, limb_share = reached(laid, animal.withers_height_m)
    root, met = planted.pose
    rotations = continuous_sign(quaternion_from_matrix(met))
    said = (*clip.notices, *held_notices(planted.sunk_m, trunk_share, limb_share))
    made = replace(clip, root_path_m=root, rotations=rotations, steps=steps, notices=said)
    is_turned = Rotation.from_matrix((np.swapaxes(plain, -1, -2) @ met).reshape(-1, 3, 3)).as_rotvec()
    found = told(
        edited,
        animal.joint_names,
        (turns, is_turned.reshape(turns.shape)),
        (by_hand_m, root - clip.root_path_m),
        (clip.steps, made),
        (planted.sunk_m, trunk_share, limb_share),
        slip_m(made),
    )
    return Relaid(replace(after, clip=made), found)


def _read(edited: Path, before: Made) -> tuple[Array, Array]:
    """Read root (frames, 3) [m] and rotations (frames, joints, 3, 3) of a clip of this shot."""
    clip = before.clip
    file, matched = opened(edited, clip.animal.name)
    refuse_other_frames(edited, len(file.rows), clip)
    return poses_of(place(file, own_map(file, str(edited), matched), edited.name), matched)


def refuse_other_frames(edited: Path, rows: int, before: Motion) -> None:
    """Refuse an edited clip that has not as many frames as the shot that it is of."""
    if rows != len(before.root_path_m):
        raise RequestError(
            f"{edited} has {rows} frames, and the shot of this file {len(before.root_path_m)}; give the clip "
            "that was made from this file, or the file as it was then"
        )


def refuse_other_steps(before: Motion, after: Motion) -> None:
    """Refuse to lay an edit over other footfalls; single ones may be a frame earlier or later."""
    tables = [(each.steps.limb, each.steps.touchdown_s, each.steps.liftoff_s) for each in (before, after)]
    off_s = 1.01 / after.frame_rate_hz
    same = (a.shape == b.shape and np.allclose(a, b, atol=off_s) for a, b in zip(*tables, strict=True))
    if not all(same):
        raise RequestError(
            "along this path feet land at other moments than in the clip that was changed by hand: marks may "
            "want other strides or speeds there, or a canter another lead; put each mark on this path, as "
            "far along it as before, give a canter its lead, or make the clip anew"
        )


def _feet(
    before: Motion, made: Made, edited: tuple[Array, Array], turned: Array
) -> tuple[Array, Array, Steps]:
    """Say where feet are wanted: foot joints (frames, 4, 3) [m], rotations (frames, 4, 3, 3), and steps."""
    after, animal = made.clip, made.clip.animal
    joints = [limb.foot_joint for limb in animal.limbs]
    was, by_hand, now = (
        tuple(each[:, joints] for each in world_frames(animal, *pose))
        for pose in (
            (before.root_path_m, before.rotations),
            edited,
            (after.root_path_m, after.rotations),
        )
    )
    state = stance_state(after.steps, time_s(after))
    moved = on_prints_m((turned[:, None] @ (by_hand[0] - was[0])[..., None])[..., 0], state, made.ground)
    soles = now[1] @ swinging_turns(was[1], by_hand[1], state)
    return now[0] + moved, soles, moved_steps(after, moved, state.planted)


def on_prints_m(moved_m: Array, state: StanceState, ground: Ground) -> Array:
    """How far feet are moved that stand on one place each while they are down, (frames, 4, 3). [m]

    Parameters
    ----------
    moved_m
        (frames, 4, 3) how far the hand moved them, along the new path. [m]
    state, ground
        Which are down, and on what.
    """
    moved, row = moved_m.copy(), np.arange(len(moved_m))
    for limb in range(moved.shape[1]):
        down = np.flatnonzero(state.planted[:, limb])
        prints = _print_moves_m(moved[down, limb], state.touchdown_s[down, limb])
        stood = state.place_m[down, limb, :2]
        prints[:, 2] = ground.height_m(stood + prints[:, :2]) - ground.height_m(stood)
        off = prints - moved[down, limb]
        moved[:, limb] += np.stack([np.interp(row, down, column) for column in off.T], axis=1)
    return moved


def swinging_turns(was: Array, by_hand: Array, state: StanceState) -> Array:
    """Turn feet as the hand did while they swing, and not while they are down: (frames, 4, 3, 3)."""
    share = state.swing_share
    swings = ramp(np.minimum(share, 1.0 - share) / SOLE_SHARE) * ~state.planted
    turn = Rotation.from_matrix((np.swapaxes(was, -1, -2) @ by_hand).reshape(-1, 3, 3)).as_rotvec()
    return Rotation.from_rotvec(swings.reshape(-1, 1) * turn).as_matrix().reshape(was.shape)


def moved_steps(clip: Motion, moved_m: Array, planted: npt.NDArray[np.bool_]) -> Steps:
    """Put the steps of a clip where feet stand that were moved, (frames, 4, 3). [m]"""
    steps = clip.steps
    middle = np.round((steps.touchdown_s + steps.liftoff_s) / 2.0 * clip.frame_rate_hz).astype(np.int64)
    row = np.clip(middle, 0, len(moved_m) - 1)
    here = planted[row, steps.limb]
    return replace(steps, place_m=steps.place_m + here[:, None] * moved_m[row, steps.limb])


def _print_moves_m(moved_m: Array, touchdown_s: Array) -> Array:
    """How far the print of each moment is moved, on the ground, of one foot while it is down: (rows, 3)."""
    _, stance = np.unique(touchdown_s, return_inverse=True)
    count = np.bincount(stance)
    mean = np.stack([np.bincount(stance, column) / count for column in moved_m.T[:2]], axis=1)
    spread = np.zeros(count.size)
    np.maximum.at(spread, stance, np.linalg.norm(moved_m[:, :2] - mean[stance], axis=1))
    stays = spread <= STAYS_SHARE * np.linalg.norm(mean, axis=1)
    return np.concatenate([stays[:, None] * mean, np.zeros((count.size, 1))], axis=1)[stance]
