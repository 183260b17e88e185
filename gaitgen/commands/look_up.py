"""`gaitgen animals`, `gaits`, `fit` and `check`: what there is, what a rig is, what is wrong with a clip."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gaitgen.commands.delivery import Force, put_in_place
from gaitgen.commands.options import command
from gaitgen.commands.terminal import say, say_aside, say_bytes
from gaitgen.errors import OutputError, RequestError
from gaitgen.gait.leg_factors import EXAMPLE
from gaitgen.numerics.standard_input import is_standard_input, refuse_twice
from gaitgen.option import Option
from gaitgen.rigs.rig_map import Rest

RESTS: dict[str, Rest] = {"zero": "zero", "first-frame": "first frame"}


@command
def animals(
    *,
    animal: Annotated[
        str | None,
        Option(
            "An animal to be told all about: its name, or the path of a skeleton file or of the map of a rig "
            "(.toml)",
            "all of them are listed if not given",
            is_positional=True,
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        Option("Also draw the animal as it stands, beside a scale, into this file: .png, .pdf or .svg"),
    ] = None,
    sheet: Annotated[
        Path | None,
        Option(
            "Also draw all animals to one scale on one page, the named one too if it is yours: .png, .pdf "
            "or .svg"
        ),
    ] = None,
    scaling: Annotated[
        Path | None,
        Option(
            "Also plot strides and changes of gait of all animals against size, over published lines: .png, "
            ".pdf or .svg"
        ),
    ] = None,
    force: Force = False,
    json: Annotated[bool, Option("Print it as JSON")] = False,
) -> None:
    """List the animals, tell all about one, or draw them to scale.

    Of one animal: size, limbs, feet, the gaits that it uses with their speeds and strides, and where these
    numbers are from.
    """
    from gaitgen.commands.animals import drawn_of_all, list_animals, portrait, put, show_animal

    if animal is None and picture is not None:
        raise RequestError("a picture shows one animal; name it: gaitgen animals NAME --picture FILE")
    text = list_animals(json=json) if animal is None else show_animal(animal, json=json)
    pictures = {}
    if animal is not None and picture is not None:
        pictures[picture] = portrait(animal, picture)
    for kind, path in (("sheet", sheet), ("scaling", scaling)):
        if path is not None:
            pictures[path] = drawn_of_all(kind, animal, path)
    put(pictures, force=force)
    say(text, end="")


@command
def gaits(
    *,
    animal: Annotated[
        str,
        Option(
            "The animal whose speeds are listed",
            "one of `gaitgen animals`, an animal file or the map of a rig (.toml)",
        ),
    ] = "riding_horse",
    json: Annotated[bool, Option("Print the list as JSON")] = False,
) -> None:
    """List and explain the gaits, and how an animal goes in them.

    A star marks the gaits that the animal uses; the others are made all the same, with a notice.
    """
    from gaitgen.commands.animals import any_animal
    from gaitgen.gait.own_speeds import own_speeds
    from gaitgen.numerics.json_text import report_text

    known = own_speeds(any_animal(animal))
    if json:
        say(report_text([each.as_values() for each in known]))
        return
    say(f"  {'name':<15}{'speed m/s':>12}  {'stride':>15}  {'down':>5}  what it is")
    for each in known:
        span = f"{each.slowest_m_s:.1f} to {each.fastest_m_s:.1f}"
        stride = f"{each.period_s:.2f} s, {each.stride_length_m:.1f} m"
        mark = "*" if each.is_own else " "
        say(f"{mark} {each.name:<15}{span:>12}  {stride:>15}  {each.duty_factor:>4.0%}  {each.says}")
    say("stride, down: at the usual speed; down is the share of a stride that a foot is on the ground")
    say("stand, which is none of them, keeps all feet on the ground and shifts the weight")


@command
def fit(
    *,
    rig: Annotated[
        Path,
        Option(
            "A BVH file whose rig stands on four feet",
            "- reads it from the standard input, and puts it beside the map",
            is_positional=True,
        ),
    ],
    map_: Annotated[
        Path | None,
        Option(
            "Write what was found into this file (.toml), to edit and animate with",
            "- writes it to standard output",
            name="map",
        ),
    ] = None,
    animal: Annotated[
        str | None,
        Option(
            "The animal whose limb laws, feet and style the rig borrows, one of `gaitgen animals`",
            "the one whose limbs are most alike if not given",
        ),
    ] = None,
    rest: Annotated[
        str | None,
        Option(
            "The pose in which the rig stands: with all rotations zero, or in the first frame of its file",
            "the one that stands better if not given",
            choices=tuple(RESTS),
        ),
    ] = None,
    force: Annotated[bool, Option("Replace a map that is there already")] = False,
    json: Annotated[bool, Option("Print what was found as JSON")] = False,
) -> None:
    """Find what is what in your own rig, and write a map of it.

    It finds limbs, back, neck, head, ears and tail, draws them, and lists what is in doubt. Then `gaitgen
    cycle walk --animal MAP.toml` writes the cycle for that rig.
    """
    from gaitgen.rigs import fit_report
    from gaitgen.rigs.command import fit as fit_rig

    to_stdout = map_ is not None and is_standard_input(map_)
    if map_ is not None and not to_stdout and map_.suffix.lower() != ".toml":
        raise OutputError(f"cannot write {map_}: a map is a TOML file; give a name that ends in .toml")
    pose = None if rest is None else RESTS[rest]
    fitted = fit_rig(rig, map_, animal=animal, rest=pose, force=force)
    text = fit_report.fit_json(fitted) if json else fit_report.fit_text(fitted, map_)
    if to_stdout:
        say_bytes(fitted.map_text)
    (say_aside if to_stdout else say)(text, end="")


@command
def check(
    *,
    clip: Annotated[Path, Option("A BVH file of any four-legged rig", is_positional=True)],
    animal: Annotated[
        str | None,
        Option(
            "Whose limits hold: one of `gaitgen animals`, an animal file (.toml), or a set of limits by name",
            "found out from the rig if not given",
        ),
    ] = None,
    map_: Annotated[
        Path | None,
        Option("Map of the rig (.toml) from `gaitgen fit`", "most rigs need none", name="map"),
    ] = None,
    limits: Annotated[Path | None, Option("File of limits (.toml) that replace those of the animal")] = None,
    against: Annotated[
        str | None,
        Option("Also compare with the computed cycle of a gait, such as walk, in as many frames"),
    ] = None,
    ground: Annotated[
        float | None,
        Option("Height of the ground in the file's unit", "0, or where the rig stands, if not given"),
    ] = None,
    shot: Annotated[
        Path | None,
        Option("Shot file (.toml) whose ground the feet are on: steps, a slope, a height map or a mesh"),
    ] = None,
    meant: Annotated[
        str | None,
        Option(
            "What is meant and so no fault: feet that go their own way, parts, joints of the clip or "
            "findings, such as 'LF, head, repeated frame'"
        ),
    ] = None,
    contacts: Annotated[
        str | None,
        Option(
            "Contacts and lift-offs that the clip is meant to have, such as "
            "'RH 1-23, RF 9-31, LH 17-39, LF 25-47'",
            "the timing is held against these",
        ),
    ] = None,
    gait: Annotated[
        str | None,
        Option("Gait, or gait file (.toml), that the clip is meant to have", "the timing is held against it"),
    ] = None,
    style: Annotated[
        str | None,
        Option(
            "Style that the clip is meant to be in, such as 'lame LF, tired 0.5'",
            "what the computed cycle shows in it is no fault",
        ),
    ] = None,
    legs: Annotated[
        str | None,
        Option(f"Factors of single legs that it is meant to have, such as {EXAMPLE}"),
    ] = None,
    pdf: Annotated[
        Path | None, Option("Also draw footfalls, frames and findings into this file (PDF)")
    ] = None,
    force: Force = False,
    json: Annotated[bool, Option("Print what was seen and found as JSON")] = False,
) -> None:
    """Say what is wrong with a clip, at which frame, and what to do.

    It also says what feet and body do. Exit code 0 if nothing is wrong, 1 if something is, 2 if the clip
    cannot be read. It may have a million frames times joints: a quarter of an hour of a rig of 47 joints at
    24 fps.
    """
    from gaitgen.commands.check_file import check_file

    refuse_twice(clip, animal, map_, limits, shot)
    checked = check_file(
        clip,
        animal=animal,
        map_path=map_,
        limits_path=limits,
        against=against,
        ground=ground,
        shot_path=shot,
        meant=meant,
        contacts=contacts,
        gait=gait,
        style=style,
        legs=legs,
    )
    if pdf is not None:
        from gaitgen.formats.kept import FileSet

        if pdf.suffix.lower() != ".pdf":
            raise OutputError(f"cannot write {pdf}: the page is a PDF; give a name that ends in .pdf")
        for notice in put_in_place([FileSet.of_one(pdf, checked.pdf())], force=force).notices:
            (say_aside if json else say)(f"note: {notice.text}")
    say(checked.json() if json else checked.text(), end="")
    raise typer.Exit(checked.exit_code)
