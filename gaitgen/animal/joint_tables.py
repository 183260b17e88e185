"""The joints of a skeleton file: each table read, parents before children, none missing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import Foot
from gaitgen.animal.toml_table import LARGEST_M, NAME, Table, nearest
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

# On which side of a limb joint its included angle is measured, and how it grows with the pitch.
ANGLE_SIDES = {"back": 1.0, "front": -1.0}


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
    angle_sign: float
    angle_name: str
    angle_also: str
    angle_from: str | None
    table: Table


def read_joints(top: Table, feet: Mapping[str, Foot]) -> list[Joint]:
    """Read all tables [joints.NAME], parents before children.

    ``feet`` gives the foot of each joint that is one.

    Raises
    ------
    AnimalError
        If a joint is missing, unknown, out of bounds, or part of a cycle.
    """
    joints = _ordered(top, [_joint(table, feet) for table in top.tables("joints")])
    by_name = {joint.name: joint for joint in joints}
    for joint in joints:
        if joint.parent and by_name[joint.parent].paired and not joint.paired:
            raise joint.table.fail(f"hangs on {joint.parent!r}, one of a pair; add paired = true")
    return joints


def _joint(table: Table, feet: Mapping[str, Foot]) -> Joint:
    name = table.name.removeprefix("joints.")
    if not re.fullmatch(NAME, name) or name.endswith(("_L", "_R")):
        raise table.fail(
            "has a name that no joint can have; write letters, digits and _, and paired = true for _L and _R"
        )
    parent = table.text("parent", NAME, "the name of a joint") if table.has("parent") else None
    at_tip = parent is not None and table.text("attach", "tip|joint", '"tip" or "joint"') == "tip"
    offset = table.vector("offset_m", 3, -LARGEST_M, LARGEST_M) if table.has("offset_m") else (0.0, 0.0, 0.0)
    if name in feet:
        bone = feet[name].tip_m
        direction = float(np.arctan2(bone[2], bone[0]))
    else:
        direction, bone = _bone(table)
    has_angle = table.has("angle_deg")
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
        angle_sign=ANGLE_SIDES[table.text("angle_side", "back|front", '"back" or "front"')]
        if has_angle
        else 0.0,
        angle_name=table.text("angle_name") if table.has("angle_name") else "",
        angle_also=table.text("angle_also") if table.has("angle_also") else "",
        angle_from=table.text("angle_from", NAME, "a landmark") if table.has("angle_from") else None,
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
    if len(roots) != 1:
        are = f"have no parent: {', '.join(map(repr, roots))}" if roots else "all have a parent"
        raise AnimalError(
            f"{top.where}: joints {are}; the root ('parent' left out) has none, all others have"
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
                f"let the parents lead to {roots[0]}"
            )
        for joint in ready:
            placed[joint.name] = joint
            waiting.remove(joint)
    return list(placed.values())
