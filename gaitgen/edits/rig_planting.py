"""Feet of a rig back to their places: each limb turns at its pivot and bends by the least, and no more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import Limb as AnimalLimb
from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.motion.kinematics import fixed_points
from gaitgen.numerics.rotations import axis_angle_matrix
from gaitgen.rigs.limb import settled_limb
from gaitgen.rigs.pose import Placed
from gaitgen.rigs.rig import Limb, Rig

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

ROUNDS = 40
ENOUGH_M = 1e-9
DAMPING = 1e-6  # of the mean square of the levers
MOST_RAD = 0.15  # of one step
LEAST_LEVER_M = 1e-9
LEAST_WITH_FOOT = 3  # joints of a limb that turn, where the last of them keeps the sole


def reach_on_rig(
    rig: Rig, animal: Animal, placed: Placed, local: Array, toes_m: Array, soles: Array
) -> tuple[Array, Array]:
    """Turn the joints of the limbs so that toes are where they are wanted.

    A limb whose last joint is a foot keeps it turned as wanted; joints between the pivot and the foot share
    what is missing, each by how far it is from its neighbours' line. Limbs with too few channels come as
    near as these let them.

    Parameters
    ----------
    rig, animal, placed
        The rig, the animal that stands for it, and where its root and the joints that move are.
    local
        (frames, joints, 3, 3) change of each joint from standing against the joint above.
    toes_m, soles
        (frames, 4, 3) wanted ground points of the toes [m], and (frames, 4, 3, 3) wanted changes of the
        feet from standing, in LIMBS order.

    Returns
    -------
    changes
        (frames, joints, 3, 3) from standing, in the world.
    misses_m
        (frames, 4) how far the toes are from where they are wanted. [m]
    """
    local, parents = local.copy(), rig.file.parents
    for row, limb in enumerate(rig.limbs):
        if _turns_freely(rig, limb):
            _plant(rig, placed, local, _chain(limb, animal.limbs[row]), toes_m[:, row], soles[:, row])
    changes = world_changes(parents, local)
    for row, limb in enumerate(rig.limbs):
        if not _turns_freely(rig, limb):
            joints = list(limb.joints)
            top = placed.paths_m(rig, changes)[:, joints[0]]
            above = changes[:, int(parents[joints[0]])]
            changes[:, joints] = settled_limb(
                rig, limb, toes_m[:, row], changes[:, joints], top, above
            ).changes
            _take_along(parents, changes, local, joints)
    places = placed.paths_m(rig, changes)
    found = [toe_on(rig, limb, places, changes) for limb in rig.limbs]
    return changes, np.linalg.norm(toes_m - np.stack(found, axis=1), axis=2)


def toe_on(rig: Rig, limb: Limb, places: Array, changes: Array) -> Array:
    """Follow the ground point of a toe, (frames, 3). [m]"""
    last = limb.joints[-1]
    return fixed_points(places, changes, last, limb.toe_m - rig.places_m[last])


def foot_joints(rig: Rig, animal: Animal) -> list[int]:
    """Return the joint of each limb that turns its foot, or its last one."""
    chains = [_chain(limb, own) for limb, own in zip(rig.limbs, animal.limbs, strict=True)]
    return [chain.limb.joints[-1] if chain.foot is None else chain.foot for chain in chains]


@dataclass(frozen=True)
class _Chain:
    """A limb, the joint that points it, those that bend it, and the one that keeps the sole, if one does."""

    limb: Limb
    pivot: int
    inner: tuple[int, ...]
    foot: int | None


def _chain(limb: Limb, own: AnimalLimb) -> _Chain:
    turning = [k for k, bone in enumerate(limb.bones) if bone >= own.pointing] or [0]
    keeps_sole = limb.bones[turning[-1]] >= len(own.joints) - 2 and len(turning) >= LEAST_WITH_FOOT
    inner = turning[1:-1] if keeps_sole else turning[1:]
    foot = limb.joints[turning[-1]] if keeps_sole else None
    return _Chain(limb, limb.joints[turning[0]], tuple(limb.joints[k] for k in inner), foot)


def _turns_freely(rig: Rig, limb: Limb) -> bool:
    return all(len(rotation_letters(rig.file, joint)) == 3 for joint in limb.joints)


def world_changes(parents: Ints, local: Array) -> Array:
    """Chain changes of joints against the joint above, (frames, joints, 3, 3), to those in the world."""
    changes = np.empty_like(local)
    for joint, parent in enumerate(parents.tolist()):  # over the tree, not over frames
        changes[:, joint] = local[:, joint] if parent < 0 else changes[:, parent] @ local[:, joint]
    return changes


def _take_along(parents: Ints, changes: Array, local: Array, joints: list[int]) -> None:
    """Let what hangs on the joints of a limb, and is none of them, keep its own change; in place."""
    hanging = set(joints)
    for joint, parent in enumerate(parents.tolist()):
        if parent in hanging and joint not in hanging:
            changes[:, joint] = changes[:, parent] @ local[:, joint]
            hanging.add(joint)


def _plant(rig: Rig, placed: Placed, local: Array, chain: _Chain, toe_m: Array, sole: Array) -> None:
    """Close one limb on its toe, in place, by damped Newton steps: two turns at the pivot and a bend."""
    parents, pivot, inner, foot = rig.file.parents, chain.pivot, chain.inner, chain.foot
    for _ in range(ROUNDS):
        changes = world_changes(parents, local)
        if foot is not None:
            local[:, foot] = np.swapaxes(changes[:, int(parents[foot])], -1, -2) @ sole
            changes = world_changes(parents, local)
        places = placed.paths_m(rig, changes)
        toe = toe_on(rig, chain.limb, places, changes)
        away = toe_m - toe
        if float(np.abs(away).max()) < ENOUGH_M:
            return
        end = toe if foot is None else places[:, foot]
        axis = changes[:, int(parents[pivot])]
        arm = end - places[:, pivot]
        opening = np.zeros_like(arm)
        shares = _shares(places, pivot, inner, end)
        for joint, share in zip(inner, shares, strict=True):
            across = changes[:, int(parents[joint])][..., 1]
            opening += share[:, None] * np.cross(across, end - places[:, joint])
        levers = np.stack(
            [np.cross(axis[..., 1], arm), np.cross(axis[..., 0], arm), opening], axis=2
        )  # (frames, 3, 3)
        square = np.swapaxes(levers, 1, 2) @ levers
        size = np.trace(square, axis1=1, axis2=2)[:, None, None] / 3.0 + LEAST_LEVER_M
        right = np.swapaxes(levers, 1, 2) @ away[..., None]
        step = np.linalg.solve(square + DAMPING * size * np.eye(3), right)[..., 0]
        step *= np.minimum(1.0, MOST_RAD / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-12))
        turn = Rotation.from_rotvec(np.stack([step[:, 1], step[:, 0], np.zeros(len(step))], axis=1))
        local[:, pivot] = turn.as_matrix() @ local[:, pivot]
        for joint, share in zip(inner, shares, strict=True):
            local[:, joint] = axis_angle_matrix("Y", share * step[:, 2]) @ local[:, joint]


def _shares(places: Array, pivot: int, inner: tuple[int, ...], end: Array) -> list[Array]:
    """How much each joint bends as the limb opens, at most 1, (frames,).

    The farther off the straight line, the more, to the side on which it is.
    """
    line = end - places[:, pivot]
    far = np.maximum(np.linalg.norm(line, axis=1), LEAST_LEVER_M)
    offs = []
    for joint in inner:
        arm = places[:, joint] - places[:, pivot]
        # Up to sign the lever of a bend about the lateral axis along the line.
        offs.append((line[:, 0] * arm[:, 2] - line[:, 2] * arm[:, 0]) / far)
    most = np.maximum(np.abs(offs).max(axis=0), LEAST_LEVER_M) if offs else far
    return [off / most for off in offs]
