"""Poses one limb of a rig: the animal's bones give the bend, the ground point of the toe is met exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.numerics.rotations import matrix_from_euler
from gaitgen.numerics.turns import least_turn, turn_about
from gaitgen.rigs.bound_joints import chain_points_m, opened_together
from gaitgen.rigs.channels import (
    change_of,
    channel_axes,
    local_rotation,
    possible_change,
    rest_angles_rad,
)
from gaitgen.rigs.fitted import fitted_angles_rad
from gaitgen.rigs.rig import Limb, Rig

Array = npt.NDArray[np.float64]

STRAIGHTEST_COSINE = float(np.cos(np.radians(3.0)))
SETTLE_STEPS, SETTLE_ENOUGH_M = 30, 1e-7
DAMPING = 1e-3
MOST_STEP_RAD = 0.3  # of a joint at once: farther, no point goes along a straight line
# A bone that stands for itself and the foot below it turns as the sole does, unless it is so many times as
# long as the foot: then it points at the toe from where the animal's is (estimate: one of 1.23 to 1.46 that
# turns with the sole takes the joint above so far back that the trunk is lowered by 10 to 34 mm).
SHANK_RATIO = 1.2
# A joint opens so much farther than its animal's before the trunk is lowered for it (estimate).
OPENING_ROOM_RAD = np.radians(3.0)


@dataclass(frozen=True, eq=False)
class LimbGoal:
    """What one limb of the animal does.

    Attributes
    ----------
    pointing, giving
        The bone that points the limb, and the first that opens with its unknown: the joint above it takes
        up what is missing.
    standing_m
        (bones + 1, 3) joints of the limb, standing, and the toe's ground point. [m]
    points_m
        (frames, bones + 1, 3) the same over time. [m]
    changes
        (frames, bones, 3, 3) world rotation of each bone from standing.
    opening_rad
        How far the joint that gives opens beyond standing, at the most.
    opens
        By bone how far its joint turns, nose up, with the unknown of the animal's law.
    sling
        (frames, 3, 3) the same for the joint that lets the top of the limb ride, or None.
    """

    pointing: int
    giving: int
    standing_m: Array
    points_m: Array
    changes: Array
    opening_rad: float = np.inf
    opens: tuple[float, ...] = ()
    sling: Array | None = None


@dataclass(frozen=True, eq=False)
class LimbPose:
    """One limb of the rig over time.

    Attributes
    ----------
    changes
        (frames, joints of the limb, 3, 3) world rotation of each joint from standing.
    miss_m
        (frames, 3) from the toe's ground point to where it should be. [m]
    tight_m
        (frames,) how much lower the top must come so that the joint that gives keeps its bend. [m]
    """

    changes: Array
    miss_m: Array
    tight_m: Array


def pose_limb(rig: Rig, limb: Limb, goal: LimbGoal, top_m: Array, change_above: Array) -> LimbPose:
    """Bend a limb like the animal's, then close it on the toe's goal in closed form.

    The joint above the giving bone bends until the distance is right (law of cosines), in a leg with fewer
    joints than the animal's after all that its law opens have come near it together; then the limb
    swings about its own pivot by the least turn. The last joint keeps the sole's rotation where it turns
    pastern or foot. Joints with fewer than three channels come as near as they can, and a few damped
    Gauss-Newton steps over the channels close what is left.

    Parameters
    ----------
    rig, limb, goal
        The limb, and what it should do.
    top_m, change_above
        (frames, 3), (frames, 3, 3) the limb's first joint, and the change of the joint that carries it.
    """
    wanted = _like_animal(limb, goal, change_above)
    wanted = _closed(rig, limb, goal, wanted, top_m)
    letters = [rotation_letters(rig.file, joint) for joint in limb.joints]
    if all(len(word) == 3 for word in letters):
        points = chain_points_m(rig, limb, wanted, top_m)
        return LimbPose(wanted, goal.points_m[:, -1] - points[:, -1], _tight_m(rig, limb, goal, points))
    return settled_limb(rig, limb, goal.points_m[:, -1], wanted, top_m, change_above)


def _tight_m(rig: Rig, limb: Limb, goal: LimbGoal, points: Array) -> Array:
    """Say how much lower the top must come for the giving joint to open no farther than its animal's.

    A leg with fewer joints than the animal's reaches with those that it has. (frames,) [m]
    """
    pivot, giving, end = _ends(limb, goal)
    if giving <= pivot:
        return np.zeros(len(points))
    below = next((k for k in range(giving + 1, end) if limb.bones[k] >= 0), end)
    standing = np.concatenate([rig.places_m[list(limb.joints)], limb.toe_m[None]])
    angle, most = (_included_rad(row[..., (pivot, giving, below), :]) for row in (points, standing))
    over = np.maximum(angle - most - goal.opening_rad - OPENING_ROOM_RAD, 0.0)
    upper, lower = points[:, giving] - points[:, pivot], points[:, end] - points[:, giving]
    axis = np.cross(upper, lower)
    axis /= np.maximum(np.linalg.norm(axis, axis=1, keepdims=True), 1e-12)
    folded = upper + (turn_about(axis, over) @ lower[..., None])[..., 0]
    line = points[:, end] - points[:, pivot]
    ahead = np.hypot(line[:, 0], line[:, 1])
    down = np.sqrt(np.maximum(np.sum(folded**2, axis=1) - ahead**2, 0.0))
    return np.where(over > 0.0, np.maximum(-line[:, 2] - down, 0.0), 0.0)


def _included_rad(points: Array) -> Array:
    """Angle at the middle one of three points, (..., 3, 3): (...). [rad]"""
    first, second = (points[..., k, :] - points[..., 1, :] for k in (0, 2))
    lengths = np.linalg.norm(first, axis=-1) * np.linalg.norm(second, axis=-1)
    return np.asarray(
        np.arccos(np.clip(np.sum(first * second, axis=-1) / np.maximum(lengths, 1e-12), -1.0, 1.0))
    )


def _like_animal(limb: Limb, goal: LimbGoal, change_above: Array) -> Array:
    """Return the changes of the animal's bones on the rig's joints, (frames, joints, 3, 3)."""
    turning = [bone for bone in limb.bones if bone >= 0]
    last = len(goal.standing_m) - 2  # the foot
    made: dict[int, Array] = {}
    for bone, below in zip(turning, [*turning[1:], last + 1], strict=True):
        if below == bone + 1:
            made[bone] = goal.changes[:, bone]
        elif bone == turning[-1] and bone == last - 1 and not _is_shank(goal, bone):
            made[bone] = goal.changes[:, last]  # pastern and foot in one: the sole rules
        else:
            along = goal.changes[:, bone] @ (goal.standing_m[below] - goal.standing_m[bone])
            reach = goal.points_m[:, below] - goal.points_m[:, bone]
            made[bone] = least_turn(along, reach) @ goal.changes[:, bone]
    columns, current = [], change_above
    for k, bone in enumerate(limb.bones):
        is_sling = k == limb.sling and goal.sling is not None
        current = goal.sling if is_sling else made.get(bone, current)  # type: ignore[assignment]
        columns.append(current)
    return np.stack(columns, axis=1)


def _is_shank(goal: LimbGoal, bone: int) -> bool:
    """Tell whether a bone is much longer than what is below it: one that would swing wide with the sole."""
    own, below = np.linalg.norm(np.diff(goal.standing_m[bone : bone + 3], axis=0), axis=1)
    return bool(own > SHANK_RATIO * below)


def _ends(limb: Limb, goal: LimbGoal) -> tuple[int, int, int]:
    """Positions in the chain of the pivot, the giving joint, and the first joint that keeps its rotation."""
    last = len(goal.standing_m) - 2
    turning = [k for k, bone in enumerate(limb.bones) if bone >= goal.pointing] or [0]
    pivot = turning[0]
    keeps_sole = limb.bones[turning[-1]] >= last - 1 and len(turning) >= 3
    end = turning[-1] if keeps_sole else len(limb.joints)
    inner = [k for k in turning[1:] if k < end]
    giving = limb.joint_of(goal.giving)
    if giving is None or giving not in inner:
        giving = inner[0] if inner else -1
    return pivot, giving, end


def _closed(rig: Rig, limb: Limb, goal: LimbGoal, changes: Array, top_m: Array) -> Array:
    """Bend the giving joint and swing the limb so that the toe is on its goal."""
    pivot, giving, end = _ends(limb, goal)
    changes = changes.copy()
    points = chain_points_m(rig, limb, changes, top_m)
    target = goal.points_m[:, -1] - (points[:, -1] - points[:, end])
    from_pivot = target - points[:, pivot]
    if giving > pivot:
        if _lacks_joints(limb, goal):
            opening = {k: goal.opens[limb.bones[k]] for k in range(giving, end) if limb.bones[k] >= 0}
            length = np.linalg.norm(from_pivot, axis=1)
            changes = opened_together(rig, limb, (pivot, end), opening, changes, top_m, length)
        points = chain_points_m(rig, limb, changes, top_m)
        upper, lower = points[:, giving] - points[:, pivot], points[:, end] - points[:, giving]
        axis = changes[:, giving] @ np.array([0.0, 1.0, 0.0])
        bend = turn_about(axis, _bend_rad(limb, goal, giving, upper, lower, axis, from_pivot))
        changes[:, giving:end] = bend[:, None] @ changes[:, giving:end]
        points = chain_points_m(rig, limb, changes, top_m)
    swing = least_turn(points[:, end] - points[:, pivot], from_pivot)
    changes[:, pivot:end] = swing[:, None] @ changes[:, pivot:end]
    return changes


def _lacks_joints(limb: Limb, goal: LimbGoal) -> bool:
    """Tell whether a leg turns fewer bones than the animal's from the one that gives down."""
    return not set(range(goal.giving, len(goal.standing_m) - 1)) <= set(limb.bones)


def _bend_rad(
    limb: Limb, goal: LimbGoal, giving: int, upper: Array, lower: Array, axis: Array, target: Array
) -> Array:
    """Turn of the lower part about the axis that makes both as long as the target, (frames,). [rad]"""
    bone = limb.bones[giving]
    above, below = (goal.standing_m[bone + k + 1] - goal.standing_m[bone + k] for k in (-1, 0))
    side = 1.0 if np.cross(above, below)[1] >= 0.0 else -1.0  # the way the template's joint bends
    along_upper, along_lower = (np.sum(v * axis, axis=1) for v in (upper, lower))
    across_upper = upper - along_upper[:, None] * axis
    across_lower = lower - along_lower[:, None] * axis
    far = np.sum(target**2 - upper**2 - lower**2, axis=1) - 2.0 * along_upper * along_lower
    product = 2.0 * np.linalg.norm(across_upper, axis=1) * np.linalg.norm(across_lower, axis=1)
    wanted = side * np.arccos(np.clip(far / product, -STRAIGHTEST_COSINE, STRAIGHTEST_COSINE))
    here = np.arctan2(
        np.sum(np.cross(across_upper, across_lower) * axis, axis=1),
        np.sum(across_upper * across_lower, axis=1),
    )
    return np.asarray((wanted - here + np.pi) % (2.0 * np.pi) - np.pi)


def settled_limb(
    rig: Rig, limb: Limb, toe_m: Array, wanted: Array, top_m: Array, change_above: Array
) -> LimbPose:
    """Bring a limb to what its channels can make, and the toe to its place, by damped Gauss-Newton steps.

    Parameters
    ----------
    rig, limb, toe_m
        The limb, and where the ground point of its toe shall be, (frames, 3). [m]
    wanted
        (frames, joints of the limb, 3, 3) changes from standing, without the channels.
    top_m, change_above
        As in `pose_limb`.
    """
    letters = [rotation_letters(rig.file, joint) for joint in limb.joints]
    angles: list[Array] = []
    above = change_above
    for k, joint in enumerate(limb.joints):
        local = local_rotation(rig, joint, above, wanted[:, k])
        angles.append(fitted_angles_rad(local, letters[k], rest_angles_rad(rig, joint)))
        above = possible_change(rig, joint, above, wanted[:, k])
    changes, axes = _from_angles(rig, limb, letters, angles, change_above)
    for _ in range(SETTLE_STEPS):
        points = chain_points_m(rig, limb, changes, top_m)
        miss = toe_m - points[:, -1]
        if float(np.abs(miss).max()) < SETTLE_ENOUGH_M:
            break
        arms = [points[:, -1, None] - points[:, k, None] for k in range(len(letters))]
        rows = np.concatenate([np.cross(a, arm) for a, arm in zip(axes, arms, strict=True)], axis=1)
        gram = np.einsum("fca,fcb->fab", rows, rows)
        gram = gram + DAMPING * np.trace(gram, axis1=1, axis2=2)[:, None, None] * np.eye(3)
        step = np.einsum("fca,fa->fc", rows, np.linalg.solve(gram, miss[..., None])[..., 0])
        size = np.abs(step).max(axis=1, keepdims=True)
        step = step * np.minimum(1.0, MOST_STEP_RAD / np.maximum(size, 1e-12))
        column = 0
        for k, word in enumerate(letters):
            angles[k] = angles[k] + step[:, column : column + len(word)]
            column += len(word)
        changes, axes = _from_angles(rig, limb, letters, angles, change_above)
    points = chain_points_m(rig, limb, changes, top_m)
    return LimbPose(changes, toe_m - points[:, -1], np.zeros(len(points)))


def _from_angles(
    rig: Rig, limb: Limb, letters: list[str], angles: list[Array], change_above: Array
) -> tuple[Array, list[Array]]:
    """Return the changes (frames, joints, 3, 3) that angles make, and the world axes of the channels."""
    changes, axes, above = [], [], change_above
    for joint, word, angle in zip(limb.joints, letters, angles, strict=True):
        axes.append(channel_axes(rig, joint, above, angle))
        above = change_of(rig, joint, above, matrix_from_euler(angle, word))
        changes.append(above)
    return np.stack(changes, axis=1), axes
