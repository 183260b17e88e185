"""`gaitgen bake` and `gaitgen carry`: what was changed by hand, back into files and on to other clips."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from gaitgen.animal.sizes import Proportions
from gaitgen.commands.cycle import TO_STDOUT
from gaitgen.commands.delivery import Force, put_in_place, strip_of
from gaitgen.commands.options import Only, command
from gaitgen.commands.terminal import say, say_aside, say_bytes
from gaitgen.errors import RequestError
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.numerics.standard_input import STANDARD_INPUT, is_standard_input, refuse_twice
from gaitgen.option import Option


@command
def bake(
    *,
    keys: Annotated[
        Path,
        Option(
            "The keys of a clip, NAME.keys.csv, as written or edited since",
            "- reads them from the standard input and wants --bvh",
            is_positional=True,
        ),
    ],
    bvh: Annotated[
        Path | None,
        Option("BVH that says the joints and the frame rate", "NAME.bvh beside the keys if not given"),
    ] = None,
    out: Annotated[
        Path | None,
        Option(
            "Folder for the files, made if it is missing",
            "the folder of the keys if not given; - writes the BVH alone to standard output",
        ),
    ] = None,
    name: Annotated[
        str | None, Option("Name of the files without suffix", "that of the keys if not given")
    ] = None,
    force: Force = False,
) -> None:
    """Make a clip from keys that you have edited.

    It writes NAME.bvh and NAME.channels.csv, from cubic Hermite splines through NAME.keys.csv. A key has a
    value in the unit of its channel and a tangent before and after it in that unit per frame; its frame
    counts from 1 and may lie between whole frames. A channel holds its first key before it and its last after
    it; without a key it stays as in the first frame of the BVH. Where NAME.controls.keys.csv is there too,
    NAME.controls.csv is made from it. The joints come from the BVH, any rig's.
    """
    from gaitgen.edits.bake import bake as baked_from
    from gaitgen.edits.own_name import own_name
    from gaitgen.formats.kept import CLIP_ENDS, FileSet
    from gaitgen.formats.record import KEYS
    from gaitgen.formats.write import plain_stem

    refuse_twice(keys, bvh)
    made = baked_from(keys, bvh)
    if str(out) == STANDARD_INPUT:
        say_bytes(made.files[".bvh"])
        say_aside(made.text(), end="")
        return
    stem = made.stem if name is None else plain_stem(name)
    sources = tuple(end for end in CLIP_ENDS if end.endswith(".keys.csv"))
    beside = tuple(end for end in CLIP_ENDS if end not in sources)
    home = bvh.parent if bvh is not None and is_standard_input(keys) else keys.parent
    folder = home if out is None else out
    is_remade = folder.resolve() == home.resolve() and stem == made.stem and not is_standard_input(keys)
    source = bvh or keys.with_name(f"{made.stem}.bvh")
    files = FileSet(folder, stem, made.files, beside, sources, is_remade, own=own_name(source))
    written = put_in_place([files], maker=KEYS, force=force)
    say(made.text(), end="")
    for notice in written.notices:
        say(f"  note: {notice.text}")
    for path in written.files:
        say(f"  wrote {path}")


@command
def carry(
    *,
    refined: Annotated[
        Path,
        Option(
            "The clip that was refined by hand (.bvh), as gaitgen made it",
            "- reads it from the standard input",
            is_positional=True,
        ),
    ],
    frames: Annotated[
        int | None,
        Option(
            "Length of one stride to carry it to in frames",
            "the clip's own if not given, in another gait what the animal takes for it",
            limits=(1, 2000),
            told_from=8,
        ),
    ] = None,
    animal: Annotated[
        str | None,
        Option(
            "Animal to carry it to: a name, a skeleton file or the map of a rig",
            "that of the clip if not given",
        ),
    ] = None,
    map: Annotated[  # noqa: A002, as the option is called
        Path | None, Option("Map of the rig that the clip is on, if it is on one (.toml)")
    ] = None,
    speed: Annotated[
        float | None, Option("Speed to carry it to in m/s", "the animal's own choice if not given")
    ] = None,
    gait: Annotated[
        str | None,
        Option("Gait to carry it to, one whose feet land in the same order", "that of the clip if not given"),
    ] = None,
    from_: Annotated[
        Path | None,
        Option(
            "The clip that it started from (.bvh)",
            "made again from how the joints of the refined one turn if not given",
            switch="--from",
        ),
    ] = None,
    asked: Annotated[Request, Only("style", "legs")],
    style: Style,
    proportions: Proportions,
    out: Annotated[
        Path | None,
        Option(
            "Folder for the files, made if it is missing",
            "the folder of the clip if not given; - writes the BVH alone to standard output",
        ),
    ] = None,
    name: Annotated[
        str | None,
        Option("Name of the files without suffix", "made from clip, animal and length"),
    ] = None,
    hand_off: Annotated[HandOff, Only("keys", "sparse", "controls")],
    strip: Annotated[Path | None, Option("Also draw a strip of poses (PNG) into this file")] = None,
    force: Force = False,
    json: Annotated[bool, Option("Print the report as JSON")] = False,
) -> None:
    """Carry what you changed by hand to another length, animal or rig.

    Or to another speed. What was changed is the difference from the clip that it started from, joint by
    joint. It is laid over the new clip at the same moment of each stance and swing, lengths by the size of
    the animal; feet stand where the hand put them and do not slip. Style factors are those of the new clip;
    the refined one may be plain or in that style, which is found out.
    """
    from gaitgen.edits.carried_file import Wanted
    from gaitgen.edits.carry_file import carry_file
    from gaitgen.formats.kept import CLIP_ENDS, FileSet
    from gaitgen.formats.record import EDIT
    from gaitgen.formats.write import plain_stem

    refuse_twice(refined, map, from_, animal)
    to_stdout = str(out) == STANDARD_INPUT
    if to_stdout and hand_off.controls:
        raise RequestError(TO_STDOUT)
    wanted = Wanted(
        frames, speed, animal, gait, style, asked.named_style, asked.legs, proportions=proportions
    )
    made = carry_file(refined, wanted, from_, map)
    stem = plain_stem(made.stem if name is None else name)
    files = made.files(hand_off)
    folder = refined.parent if out is None else out
    sets = [] if to_stdout else [FileSet(folder, stem, files, CLIP_ENDS, own=made.stem)]
    if strip is not None:
        sets.append(FileSet.of_one(strip, strip_of(made.shown, strip)))
    written = put_in_place(sets, maker=EDIT, force=force)
    paths = [str(path) for path in written.files]
    if to_stdout:
        say_bytes(files[".bvh"])
    tell = say_aside if to_stdout else say
    if json:
        tell(made.json(paths), end="")
        return
    tell(made.text(), end="")
    for notice in written.notices:
        tell(f"  note: {notice.text}")
    tell("".join(f"\n  wrote {path}" for path in paths))
