"""`gaitgen shot` and `gaitgen join`: passages along a path, and the strides between two cycles."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.delivery import Force
from gaitgen.commands.options import Only, command
from gaitgen.commands.terminal import say
from gaitgen.errors import OutputError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import LEADS, Request
from gaitgen.gait.style import Style
from gaitgen.option import Option, options_of

if TYPE_CHECKING:
    from gaitgen.shot.make import Made

STRIP_POSES = 16
# What of a request a join takes: the cycles on either side are the animal's own.
JOINED = ("animal", "fps", "lead", "style", *(found.name for found in options_of(Style)))

Out = Annotated[Path, Option("Folder for the files; made if it is missing")]
Name = Annotated[
    str | None, Option("Name of the files without suffix", "made from what they hold if not given")
]
Glb = Annotated[
    bool, Option("Also write NAME.glb (glTF 2.0): the animal with a skin, moving, for any viewer")
]
Json = Annotated[bool, Option("Print the report as JSON, with every contact and its place")]


@command
def shot(
    *,
    file: Annotated[Path, Option("The shot file (.toml)", is_positional=True)],
    out: Out = Path(),
    name: Name = None,
    space: FileSpace,
    hand_off: HandOff,
    glb: Glb = False,
    strip: Annotated[Path | None, Option("Also draw a strip of poses (PNG) into this file")] = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Make a shot from a file: gaits along a path.

    Passages of gaits go along a path, over ground, from a start to an end. It writes the files of a cycle,
    travelling, and NAME.path.csv, the way of the body over the ground.
    """
    from gaitgen.shot.make import make_shot
    from gaitgen.shot.request import shot_of
    from gaitgen.shot.shot_file import read_shot

    made = make_shot(shot_of(read_shot(file)))
    stem = name or file.stem
    _deliver(made, stem, space, hand_off, out, strip=strip, glb=glb, force=force, json=json)


@command
def join(
    *,
    before: Annotated[str, Option("The gait before, or halt", is_positional=True)],
    after: Annotated[str, Option("The gait after, or halt", is_positional=True)],
    request: Annotated[Request, Only(*JOINED)],
    lead_after: Annotated[
        str | None,
        Option(
            "The side that leads after it, in a gait with a lead", "as before if not given", choices=LEADS
        ),
    ] = None,
    out: Out = Path(),
    name: Name = None,
    space: FileSpace,
    hand_off: HandOff,
    glb: Glb = False,
    strip: Annotated[Path | None, Option("Also draw a strip of poses (PNG) into this file")] = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Make the strides between two cycles, or to a halt.

    The first pose is the first of the one cycle, the last pose the first of the other, so that the files of
    cycle, join and cycle laid end to end are one motion.
    """
    from gaitgen.gait.name_words import words_of_name
    from gaitgen.shot.join import make_join

    made = make_join(before, after, request, lead_after)
    plain = f"{made.clip.animal.name}_{Path(before).stem}_to_{Path(after).stem}"
    other = () if lead_after is None else (f"lead_after_{lead_after}",)
    stem = name or "_".join((plain, *words_of_name(request, ("gait", "animal", "frames")), *other))
    _deliver(made, stem, space, hand_off, out, strip=strip, glb=glb, force=force, json=json)


def _deliver(
    made: Made,
    stem: str,
    space: FileSpace,
    hand_off: HandOff,
    out: Path,
    *,
    strip: Path | None,
    glb: bool,
    force: bool,
    json: bool,
) -> None:
    """Encode everything first, then write all files or none, then report."""
    from gaitgen.formats import glb as glb_file
    from gaitgen.formats import hand_off as hand_off_files
    from gaitgen.formats.kept import CLIP_ENDS, FileSet, write_kept
    from gaitgen.formats.path_curve import encode
    from gaitgen.formats.write import plain_stem
    from gaitgen.shot.report import as_json, as_text, shot_report, with_files

    stem = plain_stem(stem)
    ends, keys = hand_off_files.encode(made.clip, space, hand_off)
    ends[".path.csv"] = encode(*made.root_motion(), space, made.clip.frame_rate_hz)
    if glb:
        ends[".glb"] = glb_file.encode(made.clip, stem)
    sets = [FileSet(out, stem, ends, CLIP_ENDS)]
    if strip is not None:
        sets.append(FileSet.of_one(strip, _strip(made, strip)))
    facts = None if keys is None else hand_off_files.key_facts(made.clip, keys, space)
    written = write_kept(sets, force=force)
    notices = (*(() if keys is None else keys.notices), *written.notices)
    found = with_files(shot_report(made), [str(path) for path in written.files], facts, notices)
    say(as_json(found) if json else as_text(found), end="")


def _strip(made: Made, path: Path) -> bytes:
    if path.suffix.lower() != ".png":
        raise OutputError(f"cannot write {path}: a strip is a PNG; give a name that ends in .png")
    from gaitgen.shot.seen import strip_of

    return strip_of(made, STRIP_POSES)
