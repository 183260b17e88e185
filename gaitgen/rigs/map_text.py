"""Prints the map of a rig as an editable TOML file, format 1."""

from __future__ import annotations

import json
import os
from pathlib import Path
from unicodedata import category

from gaitgen.animal.animal import ENDS
from gaitgen.animal.library import load_animal
from gaitgen.errors import OutputError
from gaitgen.rigs.rig_map import RigMap, Triple, TurnsMap, WalkMap

_HEAD = """\
# Which joint of the rig is which part of the animal. Edit what is wrong, then give this file as --animal.
# Masses, limb laws, feet and followers are those of the animal named as template; another one has other
# words in bones, so let `gaitgen fit --animal NAME` write a map for it.
"""
_RIG = """\
# file is relative to this map. unit: cm, m, in, mm, dm, ft or metres like "100 m". up: x, y, z, -x, -y or -z.
# forward: where the standing rig faces, in the file's axes. rest: "zero" or "first frame", the pose in which
# it stands. legs: "as they stand" there, or put "under the body" first.
"""
_PARTS = """\
# spine: from the joint that carries the hind limbs to the one that carries the fore limbs. body: the joint
# that rises, falls and leans, if the root stands on the ground and carries travel alone. Leave out what the
# rig does not have.
"""
_LIMBS = """\
# joints: from the top to the last. bones: what each of them turns, one of
#   fore: {fore}
#   hind: {hind}
# or "sling" for one that lets the top of the limb ride and glide on the trunk, or "-" for a helper that turns
# with the joint above it. toe: from the last joint to the ground point of the toe, standing, in the file's
# axes and unit. goal: a helper that goes where the foot goes.
"""
_HANGING = """\
# What else hangs and swings: a table [hanging.NAME] for each row, with joints = [...] from the base outward
# and like = one of the template's parts: {parts}.
"""
_RANGES = """\
# Joints may turn as far from standing as the template's, and as far as a plain walk takes them with as much
# to spare as the template has. To set it: a table [ranges.JOINT] with pitch_deg (nose up), roll_deg (right
# side down) or yaw_deg (to the left) = [least, greatest].
"""


_WALK = """\
# How the legs go at a walk, found by walking this rig with that template at that size. heel_later: by how
# much of a stance later than the template's its heels begin to rise. fold: how many times as far the joints
# that fold by law do. Both are found anew, each time that the map is read, where the table is left out or is
# for another template or size; so leave it out after a change to limbs or toes.
"""
_TURNS = """\
# How far its joints turn in its gaits, found by going in each, which takes longer than a cycle: least and
# greatest pitch, roll and yaw. Not to be edited: [ranges.JOINT] sets a range. It is found anew, each time
# that the map is read, where the table is left out, or something was changed here or in the rig.
"""


def write_map(rig_map: RigMap, rig_path: Path, map_path: Path) -> bytes:
    """Print a map, with the path of the rig relative to the map's folder.

    Raises
    ------
    OutputError
        If a TOML file, which is UTF-8, cannot have that path.
    """
    try:
        relative = Path(os.path.relpath(rig_path.resolve(), map_path.resolve().parent)).as_posix()
    except ValueError:  # on another drive
        relative = rig_path.resolve().as_posix()
    try:
        relative.encode("utf-8")
    except UnicodeEncodeError:
        raise OutputError(
            f"cannot write {map_path}: the path of the rig, {relative}, is not UTF-8, as everything in a map "
            "is; give the rig another name"
        ) from None
    if any(category(each) == "Cc" for each in relative):
        raise OutputError(
            f"cannot write {map_path}: the path of the rig, {relative!r}, has characters that control a "
            "terminal, which no map can have; give the rig another name"
        )
    m, template = rig_map, load_animal(rig_map.template)
    lines = [
        _HEAD.rstrip(),
        "format = 1",
        "",
        _RIG.rstrip(),
        "[rig]",
        f"file = {_text(relative)}",
        f"template = {_text(m.template)}",
        f"unit = {_text(m.unit)}",
        f"up = {_text(m.up)}",
        f"forward = {_numbers(m.forward)}",
        f"rest = {_text(m.rest)}",
        f"legs = {_text(m.legs)}",
        "",
        _PARTS.rstrip(),
        "[parts]",
        *([f"body = {_text(m.body)}"] if m.body else []),
        f"spine = {_texts(m.spine)}",
        f"neck = {_texts(m.neck)}",
        *(
            f"{key} = {_text(value)}" if value else f'# {key} = "none found"'
            for key, value in (
                ("head", m.head),
                ("jaw", m.jaw),
                ("ear_left", m.ear_left),
                ("ear_right", m.ear_right),
            )
        ),
        f"tail = {_texts(m.tail)}",
        "",
        _LIMBS.format(**{end: ", ".join(template.bones(end)) for end in ENDS}).rstrip(),
    ]
    for name, limb in m.limbs.items():
        lines += [
            f"[limbs.{name}]",
            f"joints = {_texts(limb.joints)}",
            f"bones = {_texts(limb.bones)}",
            f"toe = {_numbers(limb.toe)}",
            *([f"goal = {_text(limb.goal)}"] if limb.goal else []),
            "",
        ]
    parts = dict.fromkeys(part.name.removesuffix("_L").removesuffix("_R") for part in template.hanging)
    lines += _HANGING.format(parts=", ".join(parts) or "it has none").rstrip().split("\n")
    for name, part in m.hanging.items():
        lines += [f"[hanging.{name}]", f"joints = {_texts(part.joints)}", f"like = {_text(part.like)}", ""]
    lines += [*([] if m.hanging else [""]), *_RANGES.rstrip().split("\n")]
    for joint, axes in m.ranges_deg.items():
        lines.append(f"[ranges.{_text(joint)}]")
        lines += [f"{axis}_deg = [{least:g}, {most:g}]" for axis, (least, most) in axes.items()]
    lines += [*_walk(m.walk), *_turns(m.turns), ""]
    return "\n".join(lines).encode("utf-8")


def _walk(walk: WalkMap | None) -> list[str]:
    if walk is None:
        return []
    lines = ["", *_WALK.rstrip().split("\n"), "[walk]", f"template = {_text(walk.template)}"]
    lines.append(f"hip_height_m = {walk.hip_height_m:.6g}")
    for end, own in walk.ends.items():
        lines += [f"[walk.{end}]", f"heel_later = {own.heel_later:.6g}", f"fold = {own.fold:.6g}"]
    return lines


def _turns(turns: TurnsMap | None) -> list[str]:
    if turns is None:
        return []
    lines = ["", *_TURNS.rstrip().split("\n"), "[turns]", f"of = {_text(turns.of)}", "[turns.joints_rad]"]
    lines += [f"{_text(name)} = {list(ends)}" for name, ends in turns.joints_rad.items()]
    lines.append("[turns.swings_rad]")
    return lines + [f"{_text(name)} = {swing}" for name, swing in turns.swings_rad.items()]


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _texts(values: tuple[str, ...]) -> str:
    return "[" + ", ".join(_text(value) for value in values) + "]"


def _numbers(values: Triple) -> str:
    return "[" + ", ".join(f"{round(value, 6) + 0.0:.6f}" for value in values) + "]"
