"""Carries a clip over to a rig: each joint's change from standing, and where root, body and goals go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import fixed_points, hung
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import axis_angle_matrix
from gaitgen.numerics.turns import least_turn
from gaitgen.rigs.body import Source, hips_m, source_of, wanted_changes
from gaitgen.rigs.channels import possible_change
from gaitgen.rigs.limb import LimbGoal, LimbPose, pose_limb
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.side_toes import bent_up, beside, side_toes

Array = npt.NDArray[np.float64]

ENOUGH_M = 2e-5  # a toe this near its goal has arrived
MOST_LOWERINGS = 6
# The trunk is lowered by so many times what a limb lacks, or the last of it would take many rounds.
LOWERED_BEYOND = 1.05
# Lowering helps a limb as far as what it lacks points down, but for no more than 1 over this of it.
LEAST_DOWN = 0.3
# What is said: a trunk that is lowered, and a toe that is off its place, by more than this (estimates). [m]
SAID_LOWERED_M, SAID_MISS_M = 2e-3, 1e-3


@dataclass(frozen=True, eq=False)
class RigMotion:
    """A clip on a rig.

    Attributes
    ----------
    changes
        (frames, joints, 3, 3) world rotation of each joint from standing, in our axes.
    root_m
        (frames, 3) root joint; our axes, in the space of Rig.places_m. [m]
    moved_m
        By joint under the root: (frames, 3) how far it is from its standing place against the joint above, in
        our axes as that joint has them standing. [m]
    toes_m
        (frames, 4, 3) ground points of the toes, in LIMBS order. [m]
    misses_m
        (frames, 4) how far each toe is from where the clip has it. [m]
    notices
        What had to be changed.
    """

    changes: Array
    root_m: Array
    moved_m: Mapping[int, Array]
    toes_m: Array
    misses_m: Array
    notices: tuple[Notice, ...]


Ways = tuple[Array, Array]
"""Of the body over the ground: place (frames, 3) [m], and heading (frames,) to the left of x [rad]."""


def pose_rig(clip: Motion, rig: Rig, ways: Ways | None = None) -> RigMotion:
    """Pose a rig like the animal of a clip that was made with the rig's proportions.

    Trunk, neck, head, tail, ears and jaw take the changes of the animal's bones; the trunk is then turned
    as a whole so that hips and shoulders are where the animal's are. The limbs are closed on the toes. If
    a leg of the rig does not reach, the trunk is lowered by the least that lets it, and a notice says so.

    Parameters
    ----------
    clip
        Made for ``as_skeleton(rig, template)``.
    rig
        The rig.
    ways
        What a root that carries travel and nothing else does; the travel of the clip if not given.
    """
    source = source_of(clip)
    # Our skeleton stands with its pelvis over the origin; the rig's space has it where the hips say.
    skeleton_hips, _ = source.middle("hind")
    shift = hips_m(rig) - skeleton_hips
    wanted = wanted_changes(source, rig)
    if ways is not None and rig.body != 0 and rig.has_moving_root:
        wanted[0] = possible_change(rig, 0, np.tile(np.eye(3), (clip.frames, 1, 1)), _about_up(ways[1]))
    wanted = _turned_to_shoulders(source, rig, wanted, shift)
    changes = _possible(rig, wanted, clip.frames)
    goals = [source.limb(limb) for limb in LIMBS]
    goals = [replace(g, standing_m=g.standing_m + shift, points_m=g.points_m + shift) for g in goals]
    goals = [_over_ground(goal) for goal in goals] if ways is None else goals
    placed = _placed(source, rig, changes, shift, ways)
    lowered, poses = 0.0, list[LimbPose]()
    for _ in range(MOST_LOWERINGS):
        poses = _posed_limbs(rig, goals, changes, placed.lowered(rig, lowered))
        short = _shortage_m(rig, poses, goals)
        if short < ENOUGH_M:
            break
        lowered += LOWERED_BEYOND * short
    placed = placed.lowered(rig, lowered)
    for limb, pose in zip(rig.limbs, poses, strict=True):
        changes[:, list(limb.joints)] = pose.changes
    wanted, moved = _with_feet(rig, changes, placed, wanted)
    others = side_toes(rig)
    changes = _followed(rig, changes, wanted, beside(rig, others))
    toes = np.stack([g.points_m[:, -1] - p.miss_m for g, p in zip(goals, poses, strict=True)], axis=1)
    misses = np.stack([np.linalg.norm(pose.miss_m, axis=1) for pose in poses], axis=1)
    paths = Placed(placed.root_m, moved).paths_m(rig, changes)
    changes = bent_up(rig, others, paths, changes, toes)
    return RigMotion(changes, placed.root_m, moved, toes, misses, _notices(rig, lowered, misses))


@dataclass(frozen=True, eq=False)
class Placed:
    """Where the root and the joints that move under it are, as in RigMotion."""

    root_m: Array
    moved_m: Mapping[int, Array]

    def lowered(self, rig: Rig, by_m: float) -> Placed:
        """Lower what carries the body."""
        down = np.array([0.0, 0.0, by_m])
        if rig.body == 0:
            return Placed(self.root_m - down, self.moved_m)
        return Placed(self.root_m, {**self.moved_m, rig.body: self.moved_m[rig.body] - down})

    def paths_m(self, rig: Rig, changes: Array) -> Array:
        """Place all joints, (frames, joints, 3). [m]"""
        offsets = np.tile(rig.offsets_m, (len(self.root_m), 1, 1))
        for joint, moved in self.moved_m.items():
            offsets[:, joint] += moved
        return hung(rig.file.parents, offsets, changes, self.root_m)


def with_goals(rig: Rig, changes: Array, placed: Placed) -> Mapping[int, Array]:
    """Let the goals of the feet go with the feet: where joints under the root are; changes in place."""
    return _with_feet(rig, changes, placed, {})[1]


def _with_feet(
    rig: Rig, changes: Array, placed: Placed, wanted: dict[int, Array]
) -> tuple[dict[int, Array], dict[int, Array]]:
    """Let the goals of the feet go with the joints of their limbs that they are at."""
    wanted, moved = dict(wanted), dict(placed.moved_m)
    paths = placed.paths_m(rig, changes)
    for joint, last in (pair for pair in map(rig.goal_of, LIMBS) if pair is not None):
        above = int(rig.file.parents[joint])
        place = fixed_points(paths, changes, last, rig.places_m[joint] - rig.places_m[last])
        arm = np.swapaxes(changes[:, above], -1, -2) @ (place - paths[:, above])[..., None]
        moved[joint] = arm[..., 0] - rig.offsets_m[joint]
        wanted[joint] = possible_change(rig, joint, changes[:, above], changes[:, last])
        changes[:, joint] = wanted[joint]
    return wanted, moved


def _notices(rig: Rig, lowered_m: float, misses_m: Array) -> tuple[Notice, ...]:
    notices = []
    if lowered_m > SAID_LOWERED_M:
        notices.append(
            Notice(
                "reach",
                f"the trunk is lowered by another {lowered_m * 1000:.0f} mm, so that the rig's legs reach.",
            )
        )
    worst = float(misses_m.max())
    if worst > SAID_MISS_M:
        frame, limb = (int(v) for v in np.unravel_index(int(misses_m.argmax()), misses_m.shape))
        chain = ", ".join(repr(name) for name in rig.map.limbs[LIMBS[limb]].joints)
        notices.append(
            Notice(
                "slip",
                f"the {LIMBS[limb]} toe misses its place by up to {worst * 1000:.1f} mm (frame "
                f"{frame + 1}): its joints {chain} do not reach or have too few channels.",
            )
        )
    return tuple(notices)


def _turned_to_shoulders(
    source: Source, rig: Rig, wanted: dict[int, Array], shift: Array
) -> dict[int, Array]:
    """Turn the trunk, and what hangs on it, so that the line from hips to shoulders is the animal's."""
    changes = _possible(rig, wanted, source.clip.frames)
    fore_standing, fore = source.middle("fore")
    _, hips = source.middle("hind")
    root = np.zeros((source.clip.frames, 3))
    chest = _followed_point(rig, changes, root, rig.joint(rig.map.chest), fore_standing + shift)
    pelvis = _followed_point(rig, changes, root, rig.joint(rig.map.pelvis), hips_m(rig))
    turn = least_turn(chest - pelvis, fore - hips)
    spine = {rig.joint(name) for name in rig.map.spine}
    return {joint: (turn @ change if joint in spine else change) for joint, change in wanted.items()}


def _followed_point(rig: Rig, changes: Array, root_m: Array, joint: int, point_m: Array) -> Array:
    """Follow a point fixed to a joint, given standing: (frames, 3). [m]"""
    paths = hung(rig.file.parents, rig.offsets_m, changes, root_m)
    return fixed_points(paths, changes, joint, point_m - rig.places_m[joint])


def _possible(rig: Rig, wanted: dict[int, Array], frames: int) -> Array:
    """Change all joints from the root down: as wanted where said, else with the joint above."""
    joints = len(rig.file.joint_names)
    changes = np.broadcast_to(np.eye(3), (frames, joints, 3, 3)).copy()
    for joint in range(joints):
        parent = int(rig.file.parents[joint])
        above = np.broadcast_to(np.eye(3), (frames, 3, 3)) if parent < 0 else changes[:, parent]
        changes[:, joint] = possible_change(rig, joint, above, wanted[joint]) if joint in wanted else above
    return changes


def _about_up(heading_rad: Array) -> Array:
    """Turn about up, (frames,) to (frames, 3, 3)."""
    return axis_angle_matrix("Z", heading_rad)


def _placed(source: Source, rig: Rig, changes: Array, shift: Array, ways: Ways | None) -> Placed:
    """Put the root, or the joint that carries the body, where the hips of the rig are those of the animal."""
    _, hips = source.middle("hind")
    zero = np.zeros((source.clip.frames, 3))
    from_root = _followed_point(rig, changes, zero, rig.joint(rig.map.pelvis), hips_m(rig))
    root = np.asarray(hips + shift - from_root)
    if rig.body == 0:
        return Placed(root, {})
    travel = source.clip.root_path_m - over_origin(source.clip).root_path_m if ways is None else ways[0]
    moves = rig.has_moving_root
    turned = changes[:, 0] if moves else np.tile(np.eye(3), (len(root), 1, 1))
    carried = (travel if moves else np.zeros_like(travel)) + turned @ rig.places_m[0]
    return Placed(carried, {rig.body: np.asarray(np.einsum("fji,fj->fi", turned, root - carried))})


def _over_ground(goal: LimbGoal) -> LimbGoal:
    """Lift a swinging toe out of level ground, which a leg that cannot fold so far goes through."""
    under = np.maximum(-goal.points_m[:, -1, 2] - ENOUGH_M, 0.0)
    if not under.any():
        return goal
    points = goal.points_m.copy()
    points[:, -1, 2] += under
    return replace(goal, points_m=points)


def _posed_limbs(rig: Rig, goals: list[LimbGoal], changes: Array, placed: Placed) -> list[LimbPose]:
    paths = placed.paths_m(rig, changes)
    return [
        pose_limb(
            rig, limb, goal, paths[:, limb.joints[0]], changes[:, int(rig.file.parents[limb.joints[0]])]
        )
        for limb, goal in zip(rig.limbs, goals, strict=True)
    ]


def _shortage_m(rig: Rig, poses: list[LimbPose], goals: list[LimbGoal]) -> float:
    """How much lower the trunk must come so that limbs that can reach further do, without locking. [m]"""
    needed = 0.0
    for limb, pose, goal in zip(rig.limbs, poses, goals, strict=True):
        far = np.linalg.norm(pose.miss_m, axis=1)
        down = np.abs(pose.miss_m[:, 2]) / np.maximum(far, 1e-12)
        lacks = (pose.miss_m[:, 2] < 0.0) & (far > ENOUGH_M)
        short = np.where(lacks, far / np.maximum(down, LEAST_DOWN), 0.0)
        full = all(len(rig.rest.angles_deg[joint]) == 3 for joint in limb.joints)
        if full and len(goal.points_m):
            needed = max(needed, float(short.max()), float(pose.tight_m.max()))
    return needed


def _followed(rig: Rig, changes: Array, wanted: dict[int, Array], toes: Mapping[int, int]) -> Array:
    """Let what hangs on the limbs follow: toes beside the main one turn with it, helpers stay still."""
    changes = changes.copy()
    placed = set(wanted) | {joint for limb in rig.limbs for joint in limb.joints}
    for joint in range(len(rig.file.joint_names)):
        if joint not in placed and (parent := int(rig.file.parents[joint])) >= 0:
            change = changes[:, toes[joint]] if joint in toes else changes[:, parent]
            changes[:, joint] = possible_change(rig, joint, changes[:, parent], change)
    return changes
