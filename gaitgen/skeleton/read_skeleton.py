"""Read and check one skeleton file (TOML, format 1): every fault names file, table, key and remedy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.errors import SkeletonError
from gaitgen.skeleton.skeleton import (
    ANGLE_SIGN,
    PAIR_CHAINS,
    SPINE,
    BackMotion,
    Follower,
    Hoof,
    Skeleton,
)
from gaitgen.skeleton.standing import load_share_fore, stacked_offsets, standing_fault
from gaitgen.skeleton.toml_table import Table, nearest

Array = npt.NDArray[np.float64]
Ball = tuple[str, tuple[float, float, float], float, str]

LARGEST_M = 20.0
NAME = r"[A-Za-z][A-Za-z0-9_]{0,39}"
HOOF_JOINTS = {"fore_hoof": "fore", "hind_hoof": "hind"}
FOLLOWERS = ("neck", "head", "ear", "jaw", "tail")
SINGLE_JOINTS = (*SPINE, "neck_1", "neck_2", "neck_3", "atlas", "head", "jaw", "tail_1")
PAIRED_JOINTS = ("ear", *PAIR_CHAINS["fore"], *PAIR_CHAINS["hind"])
NEEDED_LANDMARKS = ("withers", "croup", "poll", "muzzle", "point_of_hip")
_NEEDED_PARENTS = (
    *pairwise(SPINE),
    ("thorax_1", "scapula"),
    *pairwise(PAIR_CHAINS["fore"]),
    ("pelvis", "femur"),
    *pairwise(PAIR_CHAINS["hind"]),
    ("thorax_1", "neck_1"),
    *pairwise(("neck_1", "neck_2", "neck_3", "atlas", "head")),
)
_MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class _Joint:
    """One joint as written, before the tree is put together."""

    name: str
    parent: str | None
    at_tip: bool
    offset_m: Array
    bone_m: Array
    direction_rad: float
    paired: bool
    mass: float
    mass_centre_m: Array
    radius_m: tuple[float, float]
    turns_rad: Mapping[str, tuple[float, float]]
    angle_rad: tuple[float, float] | None
    table: Table


def skeleton_from_table(top: Table) -> Skeleton:
    """Build the skeleton that a file describes.

    Raises
    ------
    SkeletonError
        If something is missing, unknown, out of bounds or contradictory, or the animal cannot stand.
    """
    if top.number("format", 1, 1) != 1:
        raise top.fail("format must be 1")
    name, title, species = top.text("name", NAME, "a plain name"), top.text("title"), top.text("species")
    size = top.table("size")
    hooves = {end: _hoof(top.table("hooves").table(end)) for end in PAIR_CHAINS}
    track, coupling = top.table("track"), top.table("coupling")
    joints = _ordered(top, [_joint(table, hooves) for table in top.tables("joints")])
    _require_joints(top, joints)
    tree = _Tree(joints)
    landmarks = {
        table.name.removeprefix("landmarks."): _landmark(table, tree) for table in top.tables("landmarks")
    }
    for needed in NEEDED_LANDMARKS:
        if needed not in landmarks:
            raise SkeletonError(f"{top.where}: has no table [landmarks.{needed}]; add it")
    soles = {end: (tree.index[f"{end}_hoof_L"], hoof) for end, hoof in hooves.items()}
    positions = stacked_offsets(tree.parents, tree.offsets_m)
    skeleton = Skeleton(
        name=name,
        title=title,
        species=species,
        joint_names=tree.names,
        parents=tree.parents,
        offsets_m=tree.offsets_m,
        tips_m=tree.tips_m,
        mass_shares=tree.mass_shares,
        ranges_rad=tree.ranges_rad(landmarks["point_of_hip"][1]),
        standing_angles_rad=tree.standing_rad,
        radii_m=tree.radii_m,
        body_mass_kg=size.number("body_mass_kg", 0.001, 20000.0),
        withers_height_m=size.number("withers_height_m", 0.02, LARGEST_M),
        croup_height_m=size.number("croup_height_m", 0.02, LARGEST_M),
        hooves=hooves,
        track_m={end: track.number(f"{end}_m", 0.0, LARGEST_M) for end in PAIR_CHAINS},
        load_share_fore=load_share_fore(positions, tree.mass_centres_m, tree.mass_shares, soles),
        followers={part: _follower(top.table("followers").table(part)) for part in FOLLOWERS},
        back=_back(top.table("back")),
        landmarks_m=landmarks,
        outline=tuple(_outline(top, tree)),
        stifle_hock_ratio=coupling.number("stifle_hock_ratio", 0.3, 2.0),
        mass_centres_m=tree.mass_centres_m,
        mass_height_power=size.number("mass_height_power", 1.0, 5.0),
    )
    for table in (size, track, coupling):
        table.no_more({"source", "height_source", "mass_source", "mass_height_source"})
    top.no_more({"sources"})
    fault = standing_fault(skeleton)
    if fault:
        raise SkeletonError(f"{top.where}: {fault}")
    return skeleton


def _hoof(table: Table) -> Hoof:
    hoof = Hoof(
        coffin_height_m=table.number("coffin_height_m", 0.001, 1.0),
        toe_m=table.number("toe_m", 0.001, 1.0),
        heel_m=table.number("heel_m", 0.001, 1.0),
        half_width_m=table.number("half_width_m", 0.001, 1.0),
    )
    table.no_more({"source"})
    return hoof


def _follower(table: Table) -> Follower:
    follower = Follower(
        natural_frequency_hz=table.number("natural_frequency_hz", 0.05, 50.0),
        damping_ratio=table.number("damping_ratio", 0.05, 2.0),
        drive=table.number("drive", 0.0, 10.0),
    )
    table.no_more({"source"})
    return follower


def _back(table: Table) -> BackMotion:
    names = ("flexion", "bending", "pelvis_axial", "chest_axial")
    flexion, bending, pelvis, chest = (np.radians(table.number(f"{n}_deg", 0.0, 60.0)) for n in names)
    table.no_more({"source"})
    return BackMotion(float(flexion), float(bending), float(pelvis), float(chest))


def _joint(table: Table, hooves: Mapping[str, Hoof]) -> _Joint:
    name = table.name.removeprefix("joints.")
    parent = table.text("parent", NAME, "the name of a joint") if table.has("parent") else None
    at_tip = parent is not None and table.text("attach", "tip|joint", '"tip" or "joint"') == "tip"
    offset = table.vector("offset_m", 3, -LARGEST_M, LARGEST_M) if table.has("offset_m") else (0.0, 0.0, 0.0)
    if name in HOOF_JOINTS:
        hoof = hooves[HOOF_JOINTS[name]]
        bone = np.array([hoof.toe_m, 0.0, -hoof.coffin_height_m])
        direction = float(np.arctan2(bone[2], bone[0]))
    else:
        direction, bone = _bone(table)
    has_angle = name in ANGLE_SIGN
    turns = {
        axis: _radians(table.limits(f"{axis}_deg", -180.0, 180.0))
        for axis in (("roll", "yaw") if has_angle else ("pitch", "roll", "yaw"))
    }
    centre = (
        np.array(table.vector("mass_centre_m", 3, -LARGEST_M, LARGEST_M))
        if table.has("mass_centre_m")
        else bone / 2.0
    )
    joint = _Joint(
        name=name,
        parent=parent,
        at_tip=at_tip,
        offset_m=np.array(offset),
        bone_m=bone,
        direction_rad=direction,
        paired=table.flag("paired"),
        mass=table.number("mass_percent", 0.0, 100.0),
        mass_centre_m=centre,
        radius_m=table.vector("radius_m", 2, 0.0, LARGEST_M),  # type: ignore[arg-type]
        turns_rad=turns,
        angle_rad=_radians(table.limits("angle_deg", 0.0, 360.0)) if has_angle else None,
        table=table,
    )
    table.no_more({"source"})
    return joint


def _bone(table: Table) -> tuple[float, Array]:
    length = table.number("length_m", 0.0, LARGEST_M)
    if length <= 0.0:
        raise table.fail("length_m is 0; a bone needs a length above 0")
    direction = float(np.radians(table.number("direction_deg", -360.0, 360.0)))
    return direction, length * np.array([np.cos(direction), 0.0, np.sin(direction)])


def _radians(limits_deg: tuple[float, float]) -> tuple[float, float]:
    return float(np.radians(limits_deg[0])), float(np.radians(limits_deg[1]))


def _ordered(top: Table, joints: list[_Joint]) -> list[_Joint]:
    """Put parents before children, keeping the order of the file; refuse cycles and strangers."""
    names = {joint.name for joint in joints}
    roots = [joint.name for joint in joints if joint.parent is None]
    if roots != ["pelvis"]:
        raise SkeletonError(
            f"{top.where}: joints without a parent are {', '.join(roots) or 'none'}; only pelvis has none"
        )
    for joint in joints:
        if joint.parent is not None and joint.parent not in names:
            raise joint.table.fail(f"parent {joint.parent!r} is no joint{nearest(joint.parent, names)}")
    placed: dict[str, _Joint] = {}
    waiting = list(joints)
    while waiting:
        ready = [joint for joint in waiting if joint.parent is None or joint.parent in placed]
        if not ready:
            raise waiting[0].table.fail(
                f"is part of a cycle of parents ({', '.join(j.name for j in waiting[:4])}); "
                "let the parents lead to pelvis"
            )
        for joint in ready:
            placed[joint.name] = joint
            waiting.remove(joint)
    return list(placed.values())


def _require_joints(top: Table, joints: list[_Joint]) -> None:
    by_name = {joint.name: joint for joint in joints}
    for name in (*SINGLE_JOINTS, *PAIRED_JOINTS):
        if name not in by_name:
            raise SkeletonError(
                f"{top.where}: has no table [joints.{name}]; add it, the gait needs this bone"
            )
        if by_name[name].paired != (name in PAIRED_JOINTS):
            raise by_name[name].table.fail(
                "is one of a pair; add paired = true"
                if name in PAIRED_JOINTS
                else "is not one of a pair; take out paired"
            )
    for parent, name in _NEEDED_PARENTS:
        if by_name[name].parent != parent:
            raise by_name[name].table.fail(f"parent is {by_name[name].parent!r}; write {parent!r}")
    for joint in joints:
        if joint.parent and by_name[joint.parent].paired and not joint.paired:
            raise joint.table.fail(f"hangs on {joint.parent!r}, one of a pair; add paired = true")


class _Tree:
    """Arrays of a tree with the pairs written out, left then right."""

    def __init__(self, joints: list[_Joint]) -> None:
        by_name = {joint.name: joint for joint in joints}
        entries = [(j, side) for j in joints for side in (("_L", "_R") if j.paired else ("",))]
        self.names = tuple(joint.name + side for joint, side in entries)
        self.index = {name: i for i, name in enumerate(self.names)}
        self.parents = np.array([self._parent(joint, side, by_name) for joint, side in entries])
        flips = np.array([_MIRROR if side == "_R" else np.ones(3) for _, side in entries])
        self.tips_m = flips * np.array([joint.bone_m for joint, _ in entries])
        self.offsets_m = flips * np.array([joint.offset_m for joint, _ in entries])
        for row, (joint, _) in enumerate(entries):
            if joint.at_tip:
                self.offsets_m[row] += self.tips_m[self.parents[row]]
        self.mass_centres_m = flips * np.array([joint.mass_centre_m for joint, _ in entries])
        masses = np.array([joint.mass for joint, _ in entries])
        if masses.sum() <= 0.0:
            raise joints[0].table.fail("mass_percent and all others are 0; the body needs a mass")
        self.mass_shares = masses / masses.sum()
        self.radii_m = np.array([joint.radius_m for joint, _ in entries])
        self._entries, self._by_name = entries, by_name
        self.standing_rad = np.full(len(entries), np.nan)

    def _parent(self, joint: _Joint, side: str, by_name: Mapping[str, _Joint]) -> int:
        if joint.parent is None:
            return -1
        return self.index[joint.parent + (side if by_name[joint.parent].paired else "")]

    def ranges_rad(self, point_of_hip_m: tuple[float, float, float]) -> Array:
        """Return the ranges (joints, 3, 2); those given as included angles are turned into pitch. [rad]"""
        ranges = np.zeros((len(self._entries), 3, 2))
        for row, (joint, side) in enumerate(self._entries):
            for axis, key in enumerate(("pitch", "roll", "yaw")):
                if key in joint.turns_rad:
                    low, high = joint.turns_rad[key]
                    swapped = side == "_R" and key != "pitch"
                    ranges[row, axis] = (-high, -low) if swapped else (low, high)
            if joint.angle_rad is not None:
                standing = self._standing_angle(joint, point_of_hip_m)
                self.standing_rad[row] = standing
                if not joint.angle_rad[0] <= standing <= joint.angle_rad[1]:
                    low_deg, high_deg = np.degrees(joint.angle_rad)
                    raise joint.table.fail(
                        f"stands at {np.degrees(standing):.1f} degrees, outside angle_deg "
                        f"[{low_deg:g}, {high_deg:g}]; widen it or turn the bone"
                    )
                ends = ANGLE_SIGN[joint.name] * (np.array(joint.angle_rad) - standing)
                ranges[row, 0] = ends.min(), ends.max()
        return ranges

    def _standing_angle(self, joint: _Joint, point_of_hip_m: tuple[float, float, float]) -> float:
        if joint.name == "femur":
            line = np.array(point_of_hip_m) - joint.offset_m
            return float(np.arctan2(line[2], line[0]) - joint.direction_rad)
        parent = self._by_name[joint.parent or "pelvis"]
        return float(np.pi + ANGLE_SIGN[joint.name] * (joint.direction_rad - parent.direction_rad))


def _landmark(table: Table, tree: _Tree) -> tuple[str, tuple[float, float, float]]:
    joint = table.text("joint", NAME, "the name of a joint")
    if joint not in tree.index:
        raise table.fail(f"joint {joint!r} is no joint{nearest(joint, tree.index)}")
    x, y, z = table.vector("offset_m", 3, -LARGEST_M, LARGEST_M)
    table.no_more({"source"})
    return joint, (x, y, z)


def _outline(top: Table, tree: _Tree) -> list[Ball]:
    balls: list[Ball] = []
    for table in top.array("outline"):
        group = table.text("group", NAME, "a plain name")
        for ball in table.rows("balls"):
            fits = len(ball) == 5 and isinstance(ball[0], str) and ball[0] in tree.index
            if not fits:
                raise table.fail("has a ball that is not [joint, forward, left, up, radius]; mend it")
            x, y, z, radius = (table.checked(item, "balls", -LARGEST_M, LARGEST_M) for item in ball[1:])
            balls.append((str(ball[0]), (x, y, z), abs(radius), group))
        table.no_more({"source"})
    return balls
