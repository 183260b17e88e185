"""`gaitgen shot` and `gaitgen join`: passages along a path, and the strides between two cycles."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.delivery import Force, put_in_place
from gaitgen.commands.options import Only, command
from gaitgen.commands.terminal import say
from gaitgen.errors import OutputError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import LEADS, Request
from gaitgen.gait.style import Style
from gaitgen.numerics.standard_input import stem_of
from gaitgen.option import Option, option, options_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gaitgen.animal.animal import Animal
    from gaitgen.edits.shot_edit_told import ShotEditTold
    from gaitgen.rigs.shot import RigShot
    from gaitgen.shot.asked import ShotRequest
    from gaitgen.shot.make import Made

STRIP_POSES = 16
# What of a request a join takes: the cycles on either side are the animal's own.
JOINED = ("animal", "fps", "lead", "style", *(found.name for found in options_of(Style)))


@dataclass(frozen=True)
class Delivery:
    """What is written of a shot or a join, and where; what each field asks for is said by its option."""

    out: Path = field(default=Path(), metadata=option("Folder for the files; made if it is missing"))
    name: str | None = field(
        default=None,
        metadata=option("Name of the files without suffix", "made from what they hold if not given"),
    )
    glb: bool = field(
        default=False,
        metadata=option("Also write NAME.glb (glTF 2.0): the animal with a skin, moving, for any viewer"),
    )
    strip: Path | None = field(
        default=None, metadata=option("Also draw a strip of poses (PNG) into this file")
    )
    json: bool = field(
        default=False, metadata=option("Print the report as JSON, with every contact and its place")
    )


@command
def shot(
    *,
    file: Annotated[Path, Option("The shot file (.toml)", is_positional=True)],
    map: Annotated[  # noqa: A002, as the option is called
        Path | None, Option("The map of a rig that moves, instead of the animal in the file")
    ] = None,
    path: Annotated[
        Path | None,
        Option(
            "Lay the shot along another path: a table of points (CSV) with columns x,y in metres, or the "
            "NAME.path.csv of another shot"
        ),
    ] = None,
    edited: Annotated[
        Path | None,
        Option(
            "A BVH that was made from this file and changed by hand since: what was changed goes along, feet "
            "planted, as with --path"
        ),
    ] = None,
    fps: Annotated[
        float | None,
        Option(
            "Frames per second, instead of those of the file",
            "what it counts in frames stays as many",
            label="frame rate",
            limits=(1.0, 1000.0),
        ),
    ] = None,
    cycles: Annotated[
        bool,
        Option(
            "Also write the cycle of each passage in place, as NAME_1_walk and so on",
            "where the shot goes straight ahead on level ground it is these, stride after stride",
        ),
    ] = False,
    delivery: Delivery,
    force: Force = False,
    space: FileSpace,
    hand_off: HandOff,
) -> None:
    """Make a shot from a file: gaits along a path.

    Passages of gaits go along a path, over ground, from a start to an end. It writes the files of a cycle,
    travelling, and NAME.path.csv, the way of the body over the ground.
    """
    from gaitgen.rigs.shot import is_on_rig, shot_on_rig
    from gaitgen.shot.asked import WayKey
    from gaitgen.shot.make import make_shot
    from gaitgen.shot.request import laid_along, shot_of
    from gaitgen.shot.shot_file import read_shot
    from gaitgen.shot.way_file import curve_way

    request = read_shot(file)
    if fps is not None:
        request = request.at_rate(fps)
    if map is not None:
        request = request.of(str(map))
    plain = request
    if path is not None:
        request = request.along(*curve_way(path, space), WayKey(str(path), "file"))

    def made_of(asked: ShotRequest, along: ShotRequest | None = None) -> Made | RigShot:
        def make(animal: str | Animal) -> Made:
            found = shot_of(asked.of(animal))
            return make_shot(found if along is None else laid_along(found, along.of(animal)))

        first = asked.first
        if map is None and not is_on_rig(first.animal):
            return make(first.animal)
        return shot_on_rig(str(first.animal), first, make, space)

    edit: ShotEditTold | None = None
    if edited is None:
        made = made_of(request)
    else:  # what was changed by hand goes with its strides
        before = made_of(plain)
        made, edit = _with_edit(edited, before, before if path is None else made_of(plain, request))
    stem = stem_of(file, "shot")
    whose = request.first.animal
    jumps_m = tuple(jump.at_m for jump in request.jumps)
    _deliver(made, stem, whose, jumps_m, delivery, space, hand_off, force=force, cycles=cycles, edit=edit)


def _with_edit(
    edited: Path, before: Made | RigShot, after: Made | RigShot
) -> tuple[Made | RigShot, ShotEditTold]:
    """Lay what was changed by hand in a shot over the same along another path, and tell what was taken."""
    from gaitgen.rigs.shot import RigShot

    if isinstance(before, RigShot) and isinstance(after, RigShot):
        from gaitgen.edits.rig_shot_edit import relaid_on_rig

        on_rig = relaid_on_rig(edited, before, after)
        return on_rig.shot, on_rig.told
    from gaitgen.edits.shot_edit import relaid

    assert not isinstance(before, RigShot)  # noqa: S101
    assert not isinstance(after, RigShot)  # noqa: S101
    laid = relaid(edited, before, after)
    return laid.made, laid.told


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
    strides: Annotated[
        float | None,
        Option(
            "Strides in which the speed changes; 0.6 of each cycle are beside them, and at a halt the last "
            "step and the settling too",
            "as many as the animal takes if not given",
            limits=(1.0, 40.0),
        ),
    ] = None,
    delivery: Delivery,
    force: Force = False,
    space: FileSpace,
    hand_off: HandOff,
) -> None:
    """Make the strides between two cycles, or to a halt.

    The first pose is the first of the one cycle, the last pose the first of the other, so that the files of
    cycle, join and cycle laid end to end are one motion.
    """
    from gaitgen.gait.name_words import words_of_name
    from gaitgen.rigs.shot import is_on_rig, shot_on_rig
    from gaitgen.shot.join import make_join

    def make(animal: str | Animal) -> Made:
        return make_join(before, after, replace(request, animal=animal), lead_after, strides)

    made: Made | RigShot
    if is_on_rig(request.animal):
        made = shot_on_rig(str(request.animal), request, make, space, at_home=True)
        whose = made.on_rig.rig.name
    else:
        made = make(request.animal)
        whose = made.clip.animal.name
    plain = f"{whose}_{Path(before).stem}_to_{Path(after).stem}"
    other = [] if lead_after is None else [f"lead_after_{lead_after}"]
    other += [] if strides is None else [f"in_{strides:g}_strides".replace(".", "_")]
    stem = "_".join((plain, *words_of_name(request, ("gait", "animal", "frames")), *other))
    _deliver(made, stem, request.animal, (), delivery, space, hand_off, force=force)


def _deliver(
    shot: Made | RigShot,
    stem: str,
    animal: str | Animal,
    jumps_m: tuple[float, ...],
    delivery: Delivery,
    space: FileSpace,
    hand_off: HandOff,
    *,
    force: bool,
    cycles: bool = False,
    edit: ShotEditTold | None = None,
) -> None:
    """Encode everything first, then write all files or none, then report, with what a check finds in them."""
    from gaitgen.check.of_shot import found_in_shot
    from gaitgen.formats import glb as glb_file
    from gaitgen.formats import hand_off as hand_off_files
    from gaitgen.formats.kept import CLIP_ENDS, FileSet
    from gaitgen.formats.write import plain_stem
    from gaitgen.rigs.glb import encode_glb
    from gaitgen.rigs.shot import RigShot, encoded_shot
    from gaitgen.shot.report import as_json, as_text, shot_report, with_files

    stem, facts = plain_stem(stem if delivery.name is None else delivery.name), None
    ends, keys = encoded_shot(shot, space, hand_off)
    if isinstance(shot, RigShot):
        made, keys = shot.made, None
    else:
        made = shot
        facts = None if keys is None else hand_off_files.key_facts(made.clip, keys, space)
    if delivery.glb:
        ends[".glb"] = (
            encode_glb(shot.on_rig, stem) if isinstance(shot, RigShot) else glb_file.encode(made.clip, stem)
        )
    sets = [FileSet(delivery.out, stem, ends, CLIP_ENDS)]
    if cycles:
        sets += [
            FileSet(delivery.out, f"{stem}_{name}", files, CLIP_ENDS)
            for name, files in _cycles(shot, space, hand_off)
        ]
    if delivery.strip is not None:
        sets.append(FileSet.of_one(delivery.strip, _strip(made, delivery.strip)))
    written = put_in_place(sets, force=force)
    notices = (*(() if keys is None else keys.notices), *written.notices)
    if ".bvh" in ends and isinstance(animal, str):
        styles = [cycle.style for cycle in made.timeline.cycles]
        notices += found_in_shot(ends[".bvh"], f"{stem}.bvh", animal, made.ground, jumps_m, styles)
    told = shot_report(made)
    if isinstance(shot, RigShot):
        told = replace(told, lowest_sole_m=shot.lowest_sole_m)
    found = with_files(told, [str(path) for path in written.files], facts, notices)
    if edit is None:
        say(as_json(found) if delivery.json else as_text(found), end="")
    elif delivery.json:
        say(as_json(found, {"edit": asdict(edit)}), end="")
    else:
        say(f"{edit.text()}\n{as_text(found)}", end="")


def _cycles(
    shot: Made | RigShot, space: FileSpace, hand_off: HandOff
) -> Iterator[tuple[str, dict[str, bytes]]]:
    """Encode the cycle of each passage, in place, each once: how it is called, and its files."""
    from gaitgen.formats import hand_off as hand_off_files
    from gaitgen.pipeline import make_cycle
    from gaitgen.rigs.shot import RigShot

    made = shot.made if isinstance(shot, RigShot) else shot
    asked = dict.fromkeys(cycle.settled.asked for cycle in made.timeline.cycles)
    for number, each in enumerate(asked, 1):
        name = f"{number}_{each.gait_stem}"
        if isinstance(shot, RigShot):
            yield name, shot.cycle(each).files(hand_off)
        else:
            yield name, hand_off_files.encode(make_cycle(each), space, hand_off)[0]


def _strip(made: Made, path: Path) -> bytes:
    if path.suffix.lower() != ".png":
        raise OutputError(f"cannot write {path}: a strip is a PNG; give a name that ends in .png")
    from gaitgen.shot.seen import strip_of

    return strip_of(made, STRIP_POSES)
