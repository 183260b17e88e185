"""Prints the map of a rig as an editable TOML file, format 1."""

from __future__ import annotations

import json
import os
from pathlib import Path

from gaitgen.animal.animal import ENDS
from gaitgen.animal.library import load_animal
from gaitgen.rigs.rig_map import RigMap, Triple

_HEAD = """\
# Which joint of the rig is which part of the animal. Edit what is wrong, then give this file as --animal.
# Masses, joint ranges and followers are those of the animal named as template.
"""
_RIG = """\
# file is relative to this map. unit: cm, m, in or mm. up: x, y, z, -x, -y or -z. forward: where the standing
# rig faces, in the file's axes. rest: "zero" or "first frame", the pose in which it stands.
"""
_PARTS = """\
# spine: from the joint that carries the hind limbs to the one that carries the fore limbs. Leave out what the
# rig does not have.
"""
_LIMBS = """\
# joints: from the top to the last. bones: what each of them turns, one of
#   fore: {fore}
#   hind: {hind}
# or "sling" for one that lets the top of the limb ride and glide on the trunk, or "-" for a helper that turns
# with the joint above it. toe: from the last joint to the ground point of the toe, standing, in the file's
# axes and unit.
"""


def write_map(rig_map: RigMap, rig_path: Path, map_path: Path) -> bytes:
    """Print a map, with the path of the rig relative to the map's folder."""
    try:
        relative = Path(os.path.relpath(rig_path.resolve(), map_path.resolve().parent)).as_posix()
    except ValueError:  # on another drive
        relative = rig_path.resolve().as_posix()
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
        "",
        _PARTS.rstrip(),
        "[parts]",
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
            "",
        ]
    return "\n".join(lines).encode("utf-8")


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _texts(values: tuple[str, ...]) -> str:
    return "[" + ", ".join(_text(value) for value in values) + "]"


def _numbers(values: Triple) -> str:
    return "[" + ", ".join(f"{round(value, 6) + 0.0:.6f}" for value in values) + "]"
