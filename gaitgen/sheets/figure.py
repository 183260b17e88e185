"""The animal as tapered capsules with volume, posed and projected: plain arrays, no drawing library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.motion.clip import Clip
from gaitgen.parameters.gait import LIMBS
from gaitgen.skeleton.forward_kinematics import world_frames
from gaitgen.skeleton.skeleton import PAIR_CHAINS, Skeleton

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LAYERS = (*LIMBS, "barrel", "head", "tail")
ARC_POINTS = 15
# Bones drawn from their own radii; the rest of the body is drawn from the outline of the skeleton file.
_BONES = ("head", "jaw", "ear", *PAIR_CHAINS["fore"][:-1], *PAIR_CHAINS["hind"][:-1])
_UPPER = ("scapula", "humerus", "femur")
_GROUP_LAYERS = {"cheek": "head", "muzzle": "head", "tail_hair": "tail"}


@dataclass(frozen=True)
class View:
    """One direction to look from, orthographic.

    Attributes
    ----------
    name
        ``side``, ``front`` or ``three_quarter``.
    right, up, towards
        Unit vectors of the picture in world axes: to the right, upward, and towards the viewer.
    """

    name: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    towards: tuple[float, float, float]

    def project(self, points_m: Array) -> Array:
        """Turn points (..., 3) into picture coordinates (..., 2). [m]"""
        return np.stack([points_m @ np.array(self.right), points_m @ np.array(self.up)], axis=-1)

    def nearness(self, points_m: Array) -> Array:
        """Return how near the viewer points (..., 3) are. [m]"""
        return np.asarray(points_m @ np.array(self.towards))


def _turned_view(name: str, azimuth_deg: float, elevation_deg: float) -> View:
    """Look from an azimuth, counted from the animal's front to its right, and an elevation."""
    azimuth, elevation = np.radians(azimuth_deg), np.radians(elevation_deg)
    flat = np.array([np.cos(azimuth), -np.sin(azimuth), 0.0])
    towards = np.cos(elevation) * flat + np.array([0.0, 0.0, np.sin(elevation)])
    right = np.array([np.sin(azimuth), np.cos(azimuth), 0.0])
    up = np.cross(towards, right)
    as_tuples = [tuple(float(v) for v in vector) for vector in (right, up, towards)]
    return View(name, *as_tuples)  # type: ignore[arg-type]


VIEWS: Mapping[str, View] = {
    "side": _turned_view("side", 90.0, 0.0),
    "front": _turned_view("front", 0.0, 0.0),
    "three_quarter": _turned_view("three_quarter", 38.0, 12.0),
}


@dataclass(frozen=True, eq=False)
class Body:
    """Capsules fixed to joints.

    Attributes
    ----------
    joints
        (capsules, 2) joint that each end is fixed to.
    offsets_m
        (capsules, 2, 3) end from its joint, standing. [m]
    radii_m
        (capsules, 2) radius at each end. [m]
    layers
        (capsules,) index into LAYERS.
    is_upper
        (capsules,) whether a capsule of a limb lies on the trunk: shoulder, arm and thigh.
    hooves
        Joint and corners (8, 3) from the joint, sole first, of each hoof in LIMBS order. [m]
    """

    joints: Ints
    offsets_m: Array
    radii_m: Array
    layers: Ints
    is_upper: npt.NDArray[np.bool_]
    hooves: tuple[tuple[int, Array], ...]


@dataclass(frozen=True, eq=False)
class PosedBody:
    """A body at some frames.

    Attributes
    ----------
    ends_m
        (frames, capsules, 2, 3) ends of the capsules. [m]
    hooves_m
        (frames, 4, 8, 3) corners of the hooves in LIMBS order, sole first. [m]
    body
        The capsules.
    """

    ends_m: Array
    hooves_m: Array
    body: Body


def body_of(skeleton: Skeleton) -> Body:
    """Build the capsules of an animal from its bones, outline and hooves."""
    rows: list[tuple[int, Array, float, int, Array, float, int]] = []
    for joint, name in enumerate(skeleton.joint_names):
        bone = name.removesuffix("_L").removesuffix("_R")
        if bone in _BONES:
            radius = skeleton.radii_m[joint]
            start, tip = np.zeros(3), skeleton.tips_m[joint]
            rows.append((joint, start, radius[0], joint, tip, radius[1], _layer(name)))
    for side in ("_L", "_R"):
        rows += _outline_rows(skeleton, side)
    return Body(
        joints=np.array([[row[0], row[3]] for row in rows]),
        offsets_m=np.array([[row[1], row[4]] for row in rows]),
        radii_m=np.array([[row[2], row[5]] for row in rows]),
        layers=np.array([row[6] for row in rows]),
        is_upper=np.array([skeleton.joint_names[row[0]][:-2] in _UPPER for row in rows]),
        hooves=tuple(_hoof(skeleton, limb) for limb in LIMBS),
    )


def _layer(joint_name: str, group: str = "") -> int:
    bone, side = joint_name.removesuffix("_L").removesuffix("_R"), joint_name[-1]
    if bone in PAIR_CHAINS["fore"]:
        return LAYERS.index(f"{side}F")
    if bone in PAIR_CHAINS["hind"]:
        return LAYERS.index(f"{side}H")
    if bone in {"head", "jaw", "ear"} and not group:
        return LAYERS.index("head")
    return LAYERS.index(_GROUP_LAYERS.get(group, "barrel"))


def _outline_rows(skeleton: Skeleton, side: str) -> list[tuple[int, Array, float, int, Array, float, int]]:
    """Join the balls of each group; a group on left joints is mirrored for the right side."""
    rows = []
    mirror = np.array([1.0, -1.0, 1.0]) if side == "_R" else np.ones(3)
    for (joint_a, offset_a, radius_a, group_a), (joint_b, offset_b, radius_b, group_b) in zip(
        skeleton.outline[:-1], skeleton.outline[1:], strict=True
    ):
        paired = joint_a.endswith("_L") or joint_b.endswith("_L")
        if group_a != group_b or (side == "_R" and not paired):
            continue
        names = [j.removesuffix("_L") + side if j.endswith("_L") else j for j in (joint_a, joint_b)]
        layer = _layer(names[-1] if paired else names[0], group_a)
        first, second = (skeleton.joint(name) for name in names)
        rows.append(
            (
                first,
                np.array(offset_a) * mirror,
                radius_a,
                second,
                np.array(offset_b) * mirror,
                radius_b,
                layer,
            )
        )
    return rows


def _hoof(skeleton: Skeleton, limb: str) -> tuple[int, Array]:
    end = "fore" if limb[1] == "F" else "hind"
    hoof = skeleton.hooves[end]
    low, high = -hoof.coffin_height_m, 0.45 * hoof.coffin_height_m
    width = hoof.half_width_m
    sole = [[x, y, low] for x in (hoof.toe_m, -hoof.heel_m) for y in (width, -width)]
    coronet = [[x, 0.78 * y, high] for x in (0.30 * hoof.toe_m, -0.75 * hoof.heel_m) for y in (width, -width)]
    return skeleton.joint(f"{end}_hoof_{limb[0]}"), np.array(sole + coronet)


def pose(clip: Clip, frames: npt.ArrayLike) -> PosedBody:
    """Pose the animal at some rows of a clip. ``frames`` (poses,) counts from 0."""
    rows = np.asarray(frames, dtype=np.int64)
    body = body_of(clip.skeleton)
    positions, world = world_frames(clip.skeleton, clip.root_path_m[rows], clip.rotations[rows])
    ends = positions[:, body.joints] + np.einsum("fceab,ceb->fcea", world[:, body.joints], body.offsets_m)
    hooves = [positions[:, j, None] + np.einsum("fab,cb->fca", world[:, j], c) for j, c in body.hooves]
    return PosedBody(ends, np.stack(hooves, axis=1), body)


def capsule_outlines(ends: Array, radii: Array) -> Array:
    """Draw round pairs of discs: (..., 2, 2) and (..., 2) to closed polygons (..., 2 ARC_POINTS, 2).

    The convex hull of two discs: two arcs and their common tangents. Where one disc hides the other,
    the bigger one.
    """
    along = ends[..., 1, :] - ends[..., 0, :]
    length = np.maximum(np.linalg.norm(along, axis=-1), 1e-9)
    heading = np.arctan2(along[..., 1], along[..., 0])
    lean = np.arccos(np.clip((radii[..., 0] - radii[..., 1]) / length, -1.0, 1.0))
    share = np.linspace(0.0, 1.0, ARC_POINTS)
    first = (heading + lean)[..., None] + share * (2.0 * np.pi - 2.0 * lean)[..., None]
    second = (heading - lean)[..., None] + share * (2.0 * lean)[..., None]
    arcs = [
        ends[..., k, None, :] + radii[..., k, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        for k, angle in enumerate((first, second))
    ]
    return np.concatenate(arcs, axis=-2)


def layers_by_nearness(posed: PosedBody, view: View) -> list[list[int]]:
    """Order the layers of each pose, farthest first."""
    near = view.nearness(posed.ends_m.mean(axis=2))  # (frames, capsules)
    present = np.unique(posed.body.layers)
    depth = np.stack([near[:, posed.body.layers == layer].mean(axis=1) for layer in present], axis=1)
    # The head is drawn over the barrel, the tail under it, when they are about as near.
    nudge = {"head": 0.12, "tail": -0.06}
    depth = depth + np.array([nudge.get(LAYERS[layer], 0.0) for layer in present])
    return [[int(present[k]) for k in np.argsort(row, kind="stable")] for row in depth]


def hull(points: Array) -> Array:
    """Return the convex hull of a few points (points, 2), counter-clockwise, by turning around them."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    rest = points[order]

    def half(sequence: Array) -> list[Array]:
        chain: list[Array] = []
        for point in sequence:
            while len(chain) > 1 and _left_turn(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return np.array(half(rest) + half(rest[::-1]))


def _left_turn(a: Array, b: Array, c: Array) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
