"""Joints of a rig whose first and last axis nearly fall together: channels turn far for little motion."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.rigs.channels import rest_angles_rad
from gaitgen.rigs.fitted import fitted_angles_rad
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# Farther from there than this no channel turns more than twice as far as its joint.
NEAR_RAD = np.radians(30.0)
# Channels that turn by so much in a frame, and so many times as far as their joint, are told (estimates).
STEP_RAD, TIMES = np.radians(60.0), 2.0
MOST_TOLD = 3


def gimbal_notices(rig: Rig, changes: Array) -> tuple[Notice, ...]:
    """Tell which joints pass where their axes fall together so that their curves swing, and what helps.

    Parameters
    ----------
    rig
        The rig.
    changes
        (frames, joints, 3, 3) world rotation of each joint from standing, in our axes.
    """
    local = _local(rig, changes)
    told = []
    for joint in range(len(rig.file.joint_names)):
        letters = rotation_letters(rig.file, joint)
        if len(letters) != 3 or _away_rad(local[:, joint], letters) > NEAR_RAD:
            continue
        angles = fitted_angles_rad(local[:, joint], letters, rest_angles_rad(rig, joint))
        steps = np.abs(np.diff(angles, axis=0)).max(axis=1)
        own = _turn_rad(local[:-1, joint], local[1:, joint])
        row = int(np.where(steps > TIMES * own, steps, 0.0).argmax())
        if steps[row] > max(STEP_RAD, TIMES * float(own[row])):
            told.append((float(steps[row]), joint, row, letters))
    told.sort(key=lambda item: (-round(item[0], 3), item[1]))
    found = [
        _notice(rig, local[:, joint], joint, letters, row, step)
        for step, joint, row, letters in told[:MOST_TOLD]
    ]
    if len(told) > MOST_TOLD:
        names = ", ".join(repr(rig.file.joint_names[joint]) for _, joint, _, _ in told[MOST_TOLD:])
        found.append(Notice("gimbal", f"so do {names}."))
    return tuple(found)


def _notice(rig: Rig, local: Array, joint: int, letters: str, row: int, step_rad: float) -> Notice:
    orders = ["".join(order) for order in permutations("XYZ")]
    best = max(orders, key=lambda order: round(_away_rad(local, order), 6))
    away, better = (np.degrees(_away_rad(local, order)) for order in (letters, best))
    text = (
        f"a channel of {rig.file.joint_names[joint]} turns by {np.degrees(step_rad):.0f} degrees from frame "
        f"{row + 1} to {row + 2}, much more than the joint itself: its first and last axis ({letters}) come "
        f"within {away:.0f} degrees of one another."
    )
    if better > away + 1.0:
        text += f" With the order {best} they would stay {better:.0f} apart."
    return Notice("gimbal", text)


def _turn_rad(first: Array, second: Array) -> Array:
    """How far it is from one rotation to another, (frames, 3, 3) each: (frames,). [rad]"""
    trace = np.einsum("fij,fij->f", first, second)
    return np.asarray(np.arccos(np.clip((trace - 1.0) / 2.0, -1.0, 1.0)))


def _local(rig: Rig, changes: Array) -> Array:
    """Rotation of each joint in the frame of the one above, (frames, joints, 3, 3), in the file's axes."""
    world = rig.axes.T @ changes @ rig.axes @ rig.rest.rotations
    parents = np.asarray(rig.file.parents)
    above = np.where((parents >= 0)[:, None, None], world[:, np.maximum(parents, 0)], np.eye(3))
    return np.asarray(np.swapaxes(above, -1, -2) @ world)


def _away_rad(local: Array, letters: str) -> float:
    """Least angle between the first and the last axis of a joint over time, seen as lines. [rad]"""
    first, last = ("XYZ".index(letter) for letter in (letters[0], letters[-1]))
    return float(np.arccos(np.clip(np.abs(local[:, first, last]).max(), 0.0, 1.0)))
