"""What `gaitgen fit` and a cycle on a rig do, without the printing."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from gaitgen.animal.library import load_animal
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import Notice, OutputError, RequestError, RigError
from gaitgen.formats import keys as key_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import ChannelTable
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.held_keys import held_keys
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.write import write_files
from gaitgen.motion.motion import Motion
from gaitgen.motion.tolerance import Tolerance
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.as_skeleton import as_skeleton
from gaitgen.rigs.encode import channel_table, encode_bvh, encode_channels, stumbling_names
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.key_feet import RigFeet
from gaitgen.rigs.map_file import read_map, read_rig_file
from gaitgen.rigs.map_text import write_map
from gaitgen.rigs.pose import RigMotion, pose_rig
from gaitgen.rigs.rig import Rig, make_rig
from gaitgen.rigs.rig_map import FOLLOWS, RigMap


@dataclass(frozen=True, eq=False)
class RigClip:
    """A clip, and the same motion on a rig.

    Attributes
    ----------
    clip
        On the skeleton with the rig's proportions; its notices tell about the rig too.
    rig, motion
        The rig and its pose over time.
    """

    clip: Motion
    rig: Rig
    motion: RigMotion

    def bvh(self) -> bytes:
        """Write the motion as BVH with the rig's own HIERARCHY."""
        return encode_bvh(self.rig, self.motion, self.clip.frame_rate_hz)

    def files(self, hand_off: HandOff) -> dict[str, bytes]:
        """Write BVH, table of channels and, if wanted, keys: end of the file's name to its bytes."""
        files = {
            ".bvh": self.bvh(),
            ".channels.csv": encode_channels(self.rig, self.motion, self.clip.frame_rate_hz),
        }
        if hand_off.keys:
            files[".keys.csv"] = self.keys(hand_off.tolerance, is_sparse=hand_off.sparse)
        return files

    def keys(self, tolerance: Tolerance, *, is_sparse: bool = False) -> bytes:
        """Write the motion as few keys with tangents, on the rig's own channels."""
        table = ChannelTable(*channel_table(self.rig, self.motion))
        length = tolerance.length_mm / 1000.0 / self.rig.metres_per_unit
        is_length = [name.endswith("position") for name in table.names]
        allowed = np.where(is_length, length, tolerance.angle_deg)
        feet = RigFeet(self.rig)
        return key_files.encode(held_keys(self.clip, table, allowed, feet, length, is_sparse=is_sparse))


def cycle_on_rig(
    map_path: str, request: Request, space: FileSpace | None = None, hand_off: HandOff | None = None
) -> RigClip:
    """Make one cycle on the rig of a map.

    Parameters
    ----------
    map_path
        Path of the map.
    request
        What to make; its animal is replaced by the rig.
    space, hand_off
        What was asked of the files; only what a rig can have is let through.

    Raises
    ------
    GaitgenError
        If map, rig or request are not usable; proportions are the rig's own and cannot be asked for.
    """
    if request.proportions != Proportions():
        raise RequestError(
            f"{map_path} is the map of a rig, which has its own proportions; leave out withers height, body "
            "mass and the other proportions"
        )
    if space is not None and space != FileSpace():
        raise RequestError(
            f"{map_path} is the map of a rig, which has its own unit, axes and rotation orders; leave out "
            "unit, up axis and rotation order"
        )
    if hand_off is not None and (hand_off.controls or hand_off.key_poses):
        raise RequestError(
            f"{map_path} is the map of a rig, whose motion is written as BVH, channels and keys; leave out "
            "controls and keys-only"
        )
    rig_map, rig_path, data = read_map(Path(map_path))
    template = load_animal(rig_map.template)
    rig = make_rig(data, str(rig_path), rig_map, template)
    skeleton, said = as_skeleton(rig, template)
    with np.errstate(all="ignore"):  # what comes out of no animal is looked for below
        clip = make_cycle(replace(request, animal=skeleton))
        motion = pose_rig(clip, rig)
    if not (np.isfinite(clip.rotations).all() and np.isfinite(motion.changes).all()):
        raise RigError(f"{map_path}: limbs of these proportions cannot take these steps; check bones and toe")
    notices = (*said, *motion.notices, *_names_notice(rig), _measured(rig, motion))
    return RigClip(replace(clip, notices=(*clip.notices, *notices)), rig, motion)


def _measured(rig: Rig, motion: RigMotion) -> Notice:
    text = (
        f"the motion is on the {len(rig.file.joint_names)} joints of {rig.name}, in {rig.map.unit}, "
        f"{rig.map.up} up; its toes are within {motion.misses_m.max() * 1000:.3f} mm of their places."
    )
    return Notice("rig", text)


def _names_notice(rig: Rig) -> tuple[Notice, ...]:
    odd = stumbling_names(rig)
    if not odd:
        return ()
    shown = ", ".join(repr(name) for name in odd[:3]) + (", ..." if len(odd) > 3 else "")
    return (
        Notice("names", f"some readers stumble over joint names like {shown}; they are kept as they are."),
    )


def fit(rig_path: Path, map_path: Path | None, *, force: bool = False) -> tuple[RigMap, tuple[Notice, ...]]:
    """Find the parts of a rig and write its map.

    Parameters
    ----------
    rig_path
        A BVH file.
    map_path
        Where to write the map; None writes nothing.
    force
        Whether to replace a map that is there and says something else.

    Raises
    ------
    GaitgenError
        If the rig cannot be read or is no standing quadruped, or the map cannot be written.
    """
    data = read_rig_file(rig_path)
    found, notices = find_rig(read_bvh(data, str(rig_path)), str(rig_path))
    rig = make_rig(data, str(rig_path), found, load_animal(found.template))
    _, said = as_skeleton(rig, load_animal(found.template))
    notices = (*notices, *said, *_names_notice(rig))
    if map_path is not None:
        text = write_map(found, rig_path, map_path)
        if not force and map_path.is_file() and map_path.read_bytes() != text:
            raise OutputError(
                f"cannot write {map_path}: there is a map already, perhaps edited; choose another name, or "
                "--force to replace it"
            )
        write_files({map_path: text})
    return found, notices


def fit_json(found: RigMap, notices: Sequence[Notice], map_path: Path | None) -> str:
    """Print what was found for programs."""
    facts = asdict(found) | {
        "notices": [asdict(notice) for notice in notices],
        "files": [] if map_path is None else [str(map_path)],
    }
    return json.dumps(facts, indent=2) + "\n"


def fit_text(found: RigMap, notices: Sequence[Notice], rig_path: Path, map_path: Path | None) -> str:
    """Print what was found for people."""
    facing = ", ".join(f"{value:g}" for value in (round(v, 3) + 0.0 for v in found.forward))
    rest = "with all rotations zero" if found.rest == "zero" else "in frame 1"
    first = f"{rig_path}: {found.unit}, {found.up} up, facing ({facing}), standing {rest}"
    lines = [first, f"  limbs matched with {found.template}", ""]
    parts = {
        "spine": found.spine,
        "neck": found.neck,
        "head": (found.head,),
        "jaw": (found.jaw,),
        "ears": (found.ear_left, found.ear_right),
        "tail": found.tail,
    }
    lines += [f"  {part:<6}{', '.join(n for n in names if n) or 'none'}" for part, names in parts.items()]
    for limb, own in found.limbs.items():
        pairs = ", ".join(
            joint if bone == FOLLOWS else f"{joint} ({bone})"
            for joint, bone in zip(own.joints, own.bones, strict=True)
        )
        lines.append(f"  {limb:<6}{pairs}")
    lines += ["", *(f"  note: {notice.text}" for notice in notices)]
    if map_path is None:
        lines += ["", f"  nothing written; gaitgen fit {rig_path} --map MAP.toml writes the map"]
    else:
        lines += ["", f"  wrote {map_path}", f"  next: gaitgen cycle walk --animal {map_path}"]
    return "\n".join(lines) + "\n"
