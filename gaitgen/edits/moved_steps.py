"""A cycle some of whose feet come down or leave some frames sooner or later, as a hand moved them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation, Slerp

from gaitgen.animal.animal import Animal
from gaitgen.edits.late_legs import turned_later
from gaitgen.edits.moves import Moves
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.edits.reached import MISS_M, MOST_STEPS, SINK_STEP
from gaitgen.edits.retimed import moved, other_moments, played
from gaitgen.edits.seen import leg_joints
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import over_origin, sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.planting import reach
from gaitgen.numerics.curves import refined
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]

# Of its bones in a line: a leg that is moved whole stretches no farther, or it would snap straight and back
# as its foot leaves (estimate).
STRAIGHT_SHARE = 0.965


def with_moved_steps(clip: Motion, moves: Moves) -> tuple[Motion, Moves]:
    """Run the steps of a cycle at other times: the same paths over the same ground, sooner or later.

    The trunk goes on as it did, and each leg turns at its top and opens by the law of its animal. A leg that
    is moved whole turns as it did, and its foot stands at its place under the body, sooner or later; where
    it does not reach, the trunk is lowered.

    Parameters
    ----------
    clip
        A cycle, of a stride or more.
    moves
        By how many frames contact and lift-off of each foot are to be later.

    Returns
    -------
    The cycle, and by how many frames its steps were moved: as far as its legs reach.
    """
    return _as_far_as_legs_reach(clip, moves, is_planted=True)


def with_moved_legs(clip: Motion, moves: Moves) -> tuple[Motion, Moves]:
    """Run steps at other times as `with_moved_steps`, but leave legs that are moved whole as they turn.

    That is what a hand made of the clip: such a foot slips a little, since the trunk goes on as it did.
    """
    return _as_far_as_legs_reach(clip, moves, is_planted=False)


def _as_far_as_legs_reach(clip: Motion, moves: Moves, *, is_planted: bool) -> tuple[Motion, Moves]:
    while moves.any():
        made, misses_m = _moved(clip, moves, is_planted=is_planted)
        far = (misses_m > MISS_M) & moves.by.any(axis=1)
        if not far.any():
            return made, moves
        if not far[~moves.is_whole].any():
            lowered_m = _enough_m(clip, moves)
            if lowered_m is not None:
                moves = replace(moves, lowered_m=lowered_m)
                return _moved(clip, moves, is_planted=is_planted)[0], moves
        moves = moves.less(far)
    return clip, moves


def _enough_m(clip: Motion, moves: Moves) -> float | None:
    """Find the least that the trunk has to be lowered for legs to reach, by halving; None if too much. [m]"""
    step = SINK_STEP * clip.animal.withers_height_m

    def is_met(steps: int) -> bool:
        misses_m = _moved(clip, replace(moves, lowered_m=steps * step), is_planted=True)[1]
        return float(misses_m.max()) < MISS_M

    low, high = 0, MOST_STEPS
    if not is_met(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_met(middle) else (middle, high)
    return high * step


def _moved(clip: Motion, moves: Moves, *, is_planted: bool) -> tuple[Motion, Array]:
    """Move steps, and say by how much each foot misses its own at the most, (4,). [m]

    A leg that is moved whole misses what it would have to stretch for farther than it ever did, and nearly
    straight: there it would snap.
    """
    timing, by = timing_of(clip), moves.by
    frames, animal, still = timing.frames, clip.animal, over_origin(clip)
    after = moved(timing, by)
    no_time = np.array([not 0.0 < down < frames for down in after.down])
    if no_time.any():
        return clip, np.where(no_time, np.inf, 0.0)
    down_m = np.array([0.0, 0.0, moves.lowered_m])
    root = still.root_path_m[:frames]
    local = matrix_from_quaternion(clip.rotations[:frames])
    places, world = world_frames(animal, root, clip.rotations[:frames])
    feet = [limb.foot_joint for limb in animal.limbs]
    tips = np.array([limb.foot.tip_m for limb in animal.limbs])
    most_m = np.maximum(_stretch_m(animal, places, places[:, feet]), STRAIGHT_SHARE * _straight_m(animal))
    soles, toes = world[:, feet].copy(), sole_points_m(animal, places, world)[0]
    going = clip.steps.travel_m_s[:2] / clip.frame_rate_hz
    for limb in np.flatnonzero(moves.is_whole):
        leg = list(leg_joints(animal.limbs[limb]))
        local[:, leg] = turned_later(local[:, leg], float(by[limb, 0]))
    for limb in np.flatnonzero(by.any(axis=1)):
        at = other_moments(timing, int(limb), *by[limb].tolist())
        over = going if not moves.is_whole[limb] else np.zeros(2)
        toe = played(toes[:, limb], at, over)
        first = timing.contact[limb]
        since = (at - first) % frames
        gone = np.outer(since, np.append(going, 0.0)) + np.outer(np.arange(frames) - at, np.append(over, 0.0))
        stands = since <= timing.down[limb] + 1e-9
        toe[stands] = (toes[round(first) % frames, limb] - gone)[stands]
        toes[:, limb] = toe
        turns = Rotation.from_matrix(np.concatenate([soles[:, limb], soles[:1, limb]]))
        soles[:, limb] = Slerp(np.arange(frames + 1), turns)(at % frames).as_matrix()
    joints = toes - np.einsum("flij,lj->fli", soles, tips)
    met, misses = reach(animal, root - down_m, local, joints, soles)
    farther_m = _stretch_m(animal, world_frames(animal, root - down_m, local)[0], joints) - most_m
    misses = np.maximum(misses.max(axis=0), np.where(moves.is_whole, farther_m, 0.0))
    if not is_planted:
        for limb in np.flatnonzero(moves.is_whole):
            leg = list(leg_joints(animal.limbs[limb]))
            met[:, leg], misses[limb] = local[:, leg], 0.0
    repeated = np.arange(clip.frames) % frames
    rotations = continuous_sign(quaternion_from_matrix(met))[repeated]
    made = replace(clip, root_path_m=clip.root_path_m - down_m, rotations=continuous_sign(rotations))
    return _timed(made, timing, after, moves), misses


def _stretch_m(animal: Animal, places_m: Array, feet_m: Array) -> Array:
    """How far each foot joint (frames, 4, 3) is from the joint that points its limb at the most, (4,). [m]"""
    tops = [limb.joints[limb.pointing] for limb in animal.limbs]
    return np.asarray(np.linalg.norm(feet_m - places_m[:, tops], axis=2).max(axis=0))


def _straight_m(animal: Animal) -> Array:
    """How long the bones of each limb are, from the joint that points it to the foot joint, (4,). [m]"""
    bones = [list(limb.joints[limb.pointing + 1 :]) for limb in animal.limbs]
    return np.array([np.linalg.norm(animal.offsets_m[joints], axis=1).sum() for joints in bones])


def _timed(clip: Motion, before: Timing, after: Timing, moves: Moves) -> Motion:
    """Say of a cycle when its feet land and leave, and what its poses are called."""
    steps, shift_s = clip.steps, moves.by / clip.frame_rate_hz
    ahead_m = np.outer(shift_s[:, 0] * moves.is_whole, steps.travel_m_s[:2])  # under a body that went on
    place_m = steps.place_m.copy()
    place_m[:, :2] += ahead_m[steps.limb]
    heaves = {end: refined(heave[: before.frames])[:-1] for end, heave in clip.plan.heaves_m.items()}
    steps = replace(
        steps,
        place_m=place_m,
        touchdown_s=steps.touchdown_s + shift_s[steps.limb, 0],
        liftoff_s=steps.liftoff_s + shift_s[steps.limb, 1],
    )
    return replace(clip, steps=steps, key_poses=key_poses(after.contact, after.down, after.frames, heaves))
