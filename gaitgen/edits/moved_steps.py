"""A cycle some of whose feet come down or leave some frames sooner or later, as a hand moved them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation, Slerp

from gaitgen.edits.phase import Timing, timing_of
from gaitgen.edits.reached import MISS_M
from gaitgen.edits.retimed import moved, other_moments, played
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import over_origin, sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.planting import reach
from gaitgen.numerics.curves import refined
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def with_moved_steps(clip: Motion, by: Ints) -> tuple[Motion, Ints]:
    """Run the steps of a cycle at other times: the same paths over the same ground, sooner or later.

    The trunk goes on as it did, and each leg turns at its top and opens by the law of its animal.

    Parameters
    ----------
    clip
        A cycle, of a stride or more.
    by
        (4, 2) frames by which contact and lift-off of each foot are to be later.

    Returns
    -------
    The cycle, and by how many frames its steps were moved: as far as its legs reach.
    """
    by = by.copy()
    while by.any():
        made, misses_m = _moved(clip, by)
        far = (misses_m > MISS_M) & by.any(axis=1)
        if not far.any():
            return made, by
        by[far] -= np.sign(by[far])
    return clip, by


def said(by: Ints) -> str:
    """Say in words by how many frames feet land and leave later or earlier, (4, 2)."""
    parts = []
    for limb, frames in zip(LIMBS, by.tolist(), strict=True):
        does = [
            f"{word} {abs(n)} frame{'s' * (abs(n) != 1)} {'later' if n > 0 else 'earlier'}"
            for word, n in zip(("lands", "leaves"), frames, strict=True)
            if n
        ]
        if does:
            parts.append(f"{limb} {' and '.join(does)}")
    return ", ".join(parts)


def _moved(clip: Motion, by: Ints) -> tuple[Motion, Array]:
    """Move steps, and say by how much each foot misses its own at the most, (4,). [m]"""
    timing = timing_of(clip)
    frames, animal, still = timing.frames, clip.animal, over_origin(clip)
    after = moved(timing, by)
    no_time = np.array([not 0.0 < down < frames for down in after.down])
    if no_time.any():
        return clip, np.where(no_time, np.inf, 0.0)
    root = still.root_path_m[:frames]
    local = matrix_from_quaternion(clip.rotations[:frames])
    places, world = world_frames(animal, root, clip.rotations[:frames])
    feet = [limb.foot_joint for limb in animal.limbs]
    tips = np.array([limb.foot.tip_m for limb in animal.limbs])
    soles, toes = world[:, feet].copy(), sole_points_m(animal, places, world)[0]
    going = clip.steps.travel_m_s[:2] / clip.frame_rate_hz
    for limb in np.flatnonzero(by.any(axis=1)):
        at = other_moments(timing, int(limb), *by[limb].tolist())
        toe = played(toes[:, limb], at, going)
        first = timing.contact[limb]
        since = (at - first) % frames
        gone = np.outer(np.arange(frames) - at + since, np.append(going, 0.0))  # since it came down there
        stands = since <= timing.down[limb] + 1e-9
        toe[stands] = (toes[round(first) % frames, limb] - gone)[stands]
        toes[:, limb] = toe
        turns = Rotation.from_matrix(np.concatenate([soles[:, limb], soles[:1, limb]]))
        soles[:, limb] = Slerp(np.arange(frames + 1), turns)(at % frames).as_matrix()
    joints = toes - np.einsum("flij,lj->fli", soles, tips)
    met, misses = reach(animal, root, local, joints, soles)
    repeated = np.arange(clip.frames) % frames
    rotations = continuous_sign(quaternion_from_matrix(met))[repeated]
    return _timed(replace(clip, rotations=continuous_sign(rotations)), timing, after, by), misses.max(axis=0)


def _timed(clip: Motion, before: Timing, after: Timing, by: Ints) -> Motion:
    """Say of a cycle when its feet land and leave, and what its poses are called."""
    steps, shift_s = clip.steps, by / clip.frame_rate_hz
    heaves = {end: refined(heave[: before.frames])[:-1] for end, heave in clip.plan.heaves_m.items()}
    steps = replace(
        steps,
        touchdown_s=steps.touchdown_s + shift_s[steps.limb, 0],
        liftoff_s=steps.liftoff_s + shift_s[steps.limb, 1],
    )
    return replace(clip, steps=steps, key_poses=key_poses(after.contact, after.down, after.frames, heaves))
