"""What hangs on the animal of a file: [hanging.NAME]; paired parts are written once and mirrored."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaitgen.animal.hanging_part import HangingPart
from gaitgen.animal.joint_tables import Joint
from gaitgen.animal.toml_table import Table, nearest

# The right one of a pair swings this much quicker, so that the two never move as one (estimate).
UNEVEN = 1.12
# A push to the left is one forward for the left one of a pair that is turned outwards.
OUTWARDS = {"_L": 1.0, "_R": -1.0}


def read_hanging(
    top: Table, joints: Mapping[str, Joint], index: Mapping[str, int], moved: Mapping[str, str]
) -> tuple[HangingPart, ...]:
    """Read every part that hangs, bases before what hangs on them; none if there is no [hanging].

    Parameters
    ----------
    top
        The file.
    joints
        The joints as written, by name without side.
    index
        Place of each joint in the tree, by name with side.
    moved
        What moves a joint already, by name without side: ``the spine``, ``a limb``, ...

    Raises
    ------
    AnimalError
        If a part names a joint that is none, is not a row of the tree, or is moved by something else.
    """
    if not top.has("hanging"):
        return ()
    parts: list[HangingPart] = []
    taken = dict(moved)
    for table in top.tables("hanging"):
        names = table.names("joints")
        _check_row(table, names, joints, taken)
        taken |= dict.fromkeys(names, f"[{table.name}]")
        sides = ("_L", "_R") if joints[names[0]].paired else ("",)
        for side in sides:
            rows = tuple(index[name + side] for name in names)
            parts.append(_part(table, rows, side))
        table.no_more({"source", "spares_source"})
    return tuple(sorted(parts, key=lambda part: part.joints[0]))


def _check_row(
    table: Table, names: tuple[str, ...], joints: Mapping[str, Joint], taken: Mapping[str, str]
) -> None:
    for k, name in enumerate(names):
        if name not in joints:
            raise table.fail(f"joints names {name!r}, which is no joint{nearest(name, joints)}")
        if name in taken:
            raise table.fail(f"joints names {name!r}, which is in {taken[name]} already; take it out of one")
        if k and joints[name].parent != names[k - 1]:
            raise joints[name].table.fail(f"parent is {joints[name].parent!r}; write {names[k - 1]!r}")
        if joints[name].paired != joints[names[0]].paired:
            raise table.fail(
                f"joints has {names[0]!r} on the midline and {name!r} in a pair; let the pair hang by itself"
            )


def _part(table: Table, rows: tuple[int, ...], side: str) -> HangingPart:
    def number(key: str, least: float, greatest: float, default: float) -> float:
        return table.number(key, least, greatest) if table.has(key) else default

    if table.has("gains"):
        gains = table.vector("gains", len(rows), 0.0, 3.0)
    else:
        gains = tuple(float(share) for share in np.arange(1, len(rows) + 1) / len(rows))
    quicker = UNEVEN if side == "_R" else 1.0
    frequency_hz = table.number("frequency_hz", 0.05, 50.0)
    return HangingPart(
        name=table.name.removeprefix("hanging.") + side,
        joints=rows,
        gains=gains,
        kind=table.text("style", "nod|overlap", '"nod" or "overlap"') if table.has("style") else "overlap",
        frequency_hz=quicker * frequency_hz,
        damping_ratio=table.number("damping_ratio", 0.05, 2.0),
        drive=table.number("drive", 0.0, 20.0),
        surge_drive=number("surge_drive", -20.0, 20.0, table.number("drive", 0.0, 20.0)),
        side_drive=number("side_drive", 0.0, 20.0, 0.0),
        upright=number("upright", 0.0, 1.0, 0.0),
        steady=number("steady", 0.0, 1.0, 0.0),
        lag_hz=number("lag_hz", 0.0, 50.0, 0.0),
        most_rad=float(np.radians(table.number("most_deg", 0.0, 90.0))),
        side_hz=quicker * number("side_hz", 0.05, 50.0, frequency_hz),
        side_sprung=number("side_sprung", 0.0, 1.0, 0.0),
        steady_hz=number("steady_hz", 0.05, 50.0, 0.0),
        rest_rad=float(np.radians(number("rest_deg", -90.0, 90.0, 0.0))),
        breath_rad=float(np.radians(number("breath_deg", -20.0, 20.0, 0.0))),
        spares=number("spares", 0.0, 1.0, 0.0),
        idle_rad=float(np.radians(number("idle_deg", 0.0, 90.0, 0.0))),
        out_drive=OUTWARDS[side] * number("out_drive", -20.0, 20.0, 0.0) if side else 0.0,
    )
