"""What `gaitgen fit` found, for people and as JSON."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from gaitgen.errors import Notice
from gaitgen.formats.units import UNIT_WORDS
from gaitgen.numerics.json_text import report_text
from gaitgen.numerics.standard_input import is_standard_input
from gaitgen.rigs.command import Fitted
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.drawing import side_view
from gaitgen.rigs.rig_map import FOLLOWS, RigMap


def fit_json(fitted: Fitted) -> str:
    """Print what was found as JSON."""
    facts = asdict(fitted.map) | {
        "notices": [asdict(notice) for notice in fitted.notices],
        "doubts": [notice.topic for notice in fitted.doubts],
        "files": [str(path) for path in fitted.files],
    }
    return report_text(facts) + "\n"


def fit_text(fitted: Fitted, map_path: Path | None) -> str:
    """Print what was found for people: the pose, a drawing, the parts, and what may be wrong."""
    found = fitted.map
    facing = ", ".join(f"{value:g}" for value in (round(v, 3) + 0.0 for v in found.forward))
    rest = "with all rotations zero" if found.rest == "zero" else "in frame 1"
    unit = UNIT_WORDS.get(found.unit, found.unit)
    first = f"{fitted.path}: {unit}, {found.up} up, facing ({facing}), standing {rest}"
    drawn = [f"  {line}".rstrip() for line in side_view(fitted.rig).split("\n")]
    lines = [first, "", *drawn, "", *_parts(found), "", *_notices(fitted.notices)]
    if map_path is None:
        rig = "RIG.bvh" if is_standard_input(fitted.path) else _quoted(fitted.path)
        lines += ["", f"  nothing written; gaitgen fit {rig} --map MAP.toml writes the map"]
    elif fitted.files:
        wrote = [f"  wrote {path}" for path in fitted.files]
        lines += ["", *wrote, f"  next: gaitgen cycle walk --animal {_quoted(map_path)}"]
    return "\n".join(lines) + "\n"


def _quoted(path: Path | str) -> str:
    """Write a path as one word of a command."""
    return shlex.quote(str(path))


def _parts(found: RigMap) -> list[str]:
    parts = {
        "spine": found.spine,
        "neck": found.neck,
        "head": (found.head,),
        "jaw": (found.jaw,),
        "ears": (found.ear_left, found.ear_right),
        "tail": found.tail,
    }
    lines = [f"  limbs, feet and style of {found.template}", ""]
    if found.body is not None:
        lines.append(f"  {'body':<6}{found.body}")
    lines += [f"  {part:<6}{', '.join(n for n in names if n) or 'none'}" for part, names in parts.items()]
    lines += [f"  {name:<6}{', '.join(part.joints)}" for name, part in found.hanging.items()]
    for limb, own in found.limbs.items():
        pairs = ", ".join(
            joint if bone == FOLLOWS else f"{joint} ({bone})"
            for joint, bone in zip(own.joints, own.bones, strict=True)
        )
        lines.append(f"  {limb:<6}{pairs}" + (f"; goal {own.goal}" if own.goal else ""))
    return lines


def _notices(notices: Sequence[Notice]) -> list[str]:
    """Word what may be wrong first."""
    words = [("doubt" if isinstance(notice, Doubt) else "note", notice.text) for notice in notices]
    return [f"  {kind}: {text}" for kind, text in sorted(words, key=lambda item: item[0])]
