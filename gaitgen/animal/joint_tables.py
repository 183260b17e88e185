"""The joints of a skeleton file: each table read, parents before children, none missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ANGLE_SIGN, PAIR_CHAINS, SPINE, Hoof
from gaitgen.animal.toml_table import LARGEST_M, NAME, Table, nearest
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

HOOF_JOINTS = {"fore_hoof": "fore", "hind_hoof": "hind"}
SINGLE_JOINTS = (*SPINE, "neck_1", "neck_2", "neck_3", "atlas", "head", "jaw", "tail_1")
PAIRED_JOINTS = ("ear", *PAIR_CHAINS["fore"], *PAIR_CHAINS["hind"])
_NEEDED_PARENTS = (
    *pairwise(SPINE),
    ("thorax_1", "scapula"),
    *pairwise(PAIR_CHAINS["fore"]),
    ("pelvis", "femur"),
    *pairwise(PAIR_CHAINS["hind"]),
    ("thorax_1", "neck_1"),
    *pairwise(("neck_1", "neck_2", "neck_3", "atlas", "head")),
)


@dataclass(frozen=True)
class Joint:
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


def read_joints(top: Table, hooves: Mapping[str, Hoof]) -> list[Joint]:
    """Read all tables [joints.NAME], parents before children.

    Raises
    ------
    AnimalError
        If a joint is missing, unknown, out of bounds, or part of a cycle.
    """
    joints = _ordered(top, [_joint(table, hooves) for table in top.tables("joints")])
    _require_joints(top, joints)
    return joints


def _joint(table: Table, hooves: Mapping[str, Hoof]) -> Joint:
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
    joint = Joint(
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


def _ordered(top: Table, joints: list[Joint]) -> list[Joint]:
    """Put parents before children, keeping the order of the file; refuse cycles and strangers."""
    names = {joint.name for joint in joints}
    roots = [joint.name for joint in joints if joint.parent is None]
    if roots != ["pelvis"]:
        raise AnimalError(
            f"{top.where}: joints without a parent are {', '.join(roots) or 'none'}; only pelvis has none"
        )
    for joint in joints:
        if joint.parent is not None and joint.parent not in names:
            raise joint.table.fail(f"parent {joint.parent!r} is no joint{nearest(joint.parent, names)}")
    placed: dict[str, Joint] = {}
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


def _require_joints(top: Table, joints: list[Joint]) -> None:
    by_name = {joint.name: joint for joint in joints}
    for name in (*SINGLE_JOINTS, *PAIRED_JOINTS):
        if name not in by_name:
            raise AnimalError(f"{top.where}: has no table [joints.{name}]; add it, the gait needs this bone")
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
