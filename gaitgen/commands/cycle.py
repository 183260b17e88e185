"""`gaitgen cycle`: one cycle of a gait."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.delivery import Force, put_in_place, strip_of
from gaitgen.commands.options import command
from gaitgen.commands.style_told import style_notices
from gaitgen.commands.terminal import say, say_aside, say_bytes
from gaitgen.errors import Notice, RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import Request
from gaitgen.numerics.standard_input import is_file_name
from gaitgen.option import Option

if TYPE_CHECKING:
    from gaitgen.motion.motion import Motion
    from gaitgen.motion.report import KeyFacts
    from gaitgen.rigs.cycle import RigClip

TO_STDOUT = "only the BVH goes to standard output; for other files give --out a folder"


@command
def cycle(
    *,
    request: Request,
    out: Annotated[
        Path,
        Option(
            "Folder for the files; made if it is missing. With - the BVH goes to standard output and the "
            "report to standard error"
        ),
    ] = Path(),
    name: Annotated[
        str | None, Option("Name of the files without suffix", "made from the settings if not given")
    ] = None,
    space: FileSpace,
    hand_off: HandOff,
    glb: Annotated[
        bool,
        Option(
            "Also write NAME.glb (glTF 2.0): the animal, or the joints of a rig, with a skin, moving, in "
            "metres with y up, for any viewer"
        ),
    ] = False,
    strip: Annotated[Path | None, Option("Also draw a strip of poses (PNG) into this file")] = None,
    force: Force = False,
    json: Annotated[bool, Option("Print the report as JSON")] = False,
) -> None:
    """Make one cycle of a gait: motion, keys, report of the plan.

    It writes NAME.bvh, NAME.channels.csv and NAME.keys.csv. The style factors, from --bounce to --reach,
    scale one thing each; 1 is the plain physical motion.
    """
    from gaitgen.formats.write import plain_stem

    if isinstance(request.animal, str) and _is_rig_map(request.animal):
        from gaitgen.rigs.command import cycle_on_rig

        rig = cycle_on_rig(request.animal, request, space)
        stem = plain_stem(rig.stem if name is None else name)
        _deliver_on_rig(rig, out, stem, hand_off, strip=strip, glb=glb, force=force, json=json)
        return
    from gaitgen.pipeline import make_cycle

    clip = make_cycle(request)
    clip = replace(clip, notices=(*clip.notices, *style_notices(clip)))
    stem = plain_stem(clip.stem if name is None else name)
    _deliver(clip, space, out, stem, strip=strip, hand_off=hand_off, glb=glb, force=force, json=json)


def _is_rig_map(animal: str) -> bool:
    if not is_file_name(animal):
        return False
    from gaitgen.rigs.map_file import is_map

    return is_map(animal)


def _deliver_on_rig(
    made: RigClip,
    out: Path,
    stem: str,
    hand_off: HandOff,
    *,
    strip: Path | None,
    glb: bool,
    force: bool,
    json: bool,
) -> None:
    """Write the files of a cycle on a rig, all or none, then report."""
    from gaitgen.formats.kept import CLIP_ENDS, FileSet
    from gaitgen.motion.report import as_json, report
    from gaitgen.motion.report_text import as_text
    from gaitgen.rigs.glb import encode_glb

    to_stdout = str(out) == "-"
    sets: list[FileSet] = []
    key_facts, said = None, tuple[Notice, ...]()
    if not to_stdout:
        ends, keys = made.encoded(hand_off)
        if keys is not None:
            key_facts, said = made.key_facts(keys), keys.notices
        if glb:
            ends[".glb"] = encode_glb(made, stem)
        sets.append(FileSet(out, stem, ends, CLIP_ENDS, own=made.stem))
    elif hand_off.controls or hand_off.key_poses or glb:
        raise RequestError(TO_STDOUT)
    if strip is not None:
        sets.append(FileSet.of_one(strip, strip_of(made.clip, strip)))
    written = put_in_place(sets, force=force)
    said = (*made.clip.notices, *said, *_on_poses(made.clip, hand_off), *written.notices)
    clip = replace(made.clip, notices=said)
    found = report(clip, [str(path) for path in written.files], key_facts)
    if to_stdout:
        say_bytes(made.bvh())
    (say_aside if to_stdout else say)(as_json(found) if json else as_text(found), end="")


def _on_poses(clip: Motion, hand_off: HandOff) -> tuple[Notice, ...]:
    from gaitgen.formats.keys import key_pose_notices

    return key_pose_notices(clip) if hand_off.key_poses else ()


def _glb(clip: Motion, stem: str) -> bytes:
    from gaitgen.formats import glb

    return glb.encode(clip, stem)


def _deliver(
    clip: Motion,
    space: FileSpace,
    out: Path,
    stem: str,
    *,
    strip: Path | None,
    hand_off: HandOff,
    glb: bool,
    force: bool,
    json: bool,
) -> None:
    """Encode everything first, then write all files or none, then report."""
    from gaitgen.formats import bvh
    from gaitgen.formats import hand_off as hand_off_files
    from gaitgen.formats.kept import CLIP_ENDS, FileSet
    from gaitgen.motion.report import as_json, report
    from gaitgen.motion.report_text import as_text

    sets: list[FileSet] = []
    key_facts: KeyFacts | None = None
    to_stdout = str(out) == "-"
    if not to_stdout:
        ends, keys = hand_off_files.encode(clip, space, hand_off)
        if glb:
            ends[".glb"] = _glb(clip, stem)
        sets.append(FileSet(out, stem, ends, CLIP_ENDS, own=clip.stem))
        if keys is not None:
            key_facts = hand_off_files.key_facts(clip, keys, space)
            clip = replace(clip, notices=(*clip.notices, *keys.notices))
    elif hand_off.controls or hand_off.key_poses or glb:
        raise RequestError(TO_STDOUT)
    if strip is not None:
        sets.append(FileSet.of_one(strip, strip_of(clip, strip)))
    written = put_in_place(sets, force=force)
    clip = replace(clip, notices=(*clip.notices, *_on_poses(clip, hand_off), *written.notices))
    found = report(clip, [str(path) for path in written.files], key_facts)
    text = as_json(found) if json else as_text(found)
    if to_stdout:
        say_bytes(bvh.encode(clip, space))
    (say_aside if to_stdout else say)(text, end="")
