"""The commands that draw: `gaitgen sheet` and `gaitgen plot`."""

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from gaitgen.commands.source import Source, with_motion
from gaitgen.errors import OutputError


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    LETTER = "letter"


class What(StrEnum):
    """What can be plotted."""

    FOOTFALLS = "footfalls"
    TRUNK = "trunk"
    FORCES = "forces"
    JOINTS = "joints"
    SPECTRUM = "spectrum"


def add_commands(app: typer.Typer) -> None:
    """Add the drawing commands, with the options that say what the motion is."""
    app.command()(with_motion(sheet))
    app.command()(with_motion(plot))


def _write(files: Mapping[Path, bytes]) -> None:
    from gaitgen.formats.write import write_files

    write_files(files)
    for path in files:
        typer.echo(f"wrote {path}")


def sheet(
    source: Source,
    paper: Annotated[Paper, typer.Option(help="Paper to print on, upright.")] = Paper.A4,
    out: Annotated[
        Path,
        typer.Option(
            help="Folder for the sheet, or the name of its file (.pdf); the folder is made if it is missing."
        ),
    ] = Path(),
    png: Annotated[
        bool,
        typer.Option("--png", help="Also write each page as a picture beside it: NAME_1.png, NAME_2.png."),
    ] = False,
) -> None:
    """Draw the plan of one cycle, or of a clip, to print: key poses, footfalls, rise and fall of the body.

    Page 1 has each key pose from the side, with its frame, the feet that are down, and where hips, chest,
    head, ears and tail are going, over the bars and curves of the stride; page 2 has the poses from the
    front and three-quarter. The style factors scale one thing each; 1 is the plain physical motion. A
    clip (.bvh) is drawn as it is, from its own contacts, and takes none of the options that make a cycle.
    """
    from gaitgen.pictures.sheet import write_sheet

    suffix = out.suffix.lower()
    if suffix and suffix != ".pdf" and not out.is_dir():
        raise OutputError(
            f"cannot write {out}: a sheet is a PDF, so give a name that ends in .pdf, or a folder"
        )
    clip = source.clip()
    single = suffix == ".pdf" and not out.is_dir()
    path = out if single else out / f"{source.stem(clip)}_sheet.pdf"
    pdf, pages = write_sheet(clip, gait=source.title, paper=paper.value, pictures=png)
    files = {path: pdf, **{path.with_name(f"{path.stem}_{k + 1}.png"): page for k, page in enumerate(pages)}}
    _write(files)


def plot(
    source: Source,
    what: Annotated[
        What,
        typer.Option(
            help="What to draw: footfalls; heave, sway and pitch of the trunk; forces in N/kg and body "
            "weights; joint angles in degrees with published extremes shaded; or their spectrum."
        ),
    ] = What.FOOTFALLS,
    out: Annotated[
        Path | None,
        typer.Option(
            help="File to draw into: .png, .pdf or .svg; a .png named after the request, in the current "
            "folder, if not given."
        ),
    ] = None,
) -> None:
    """Plot one stride of a cycle, or of a clip: footfalls, trunk, forces, joints or spectrum.

    The style factors scale one thing each; 1 is the plain physical motion. A clip (.bvh) is drawn as it is,
    its forces estimated from the motion, and takes none of the options that make a cycle.
    """
    from gaitgen.pictures.plots import check_suffix, write_plot

    if out is not None:
        check_suffix(out.suffix, str(out))
    clip = source.clip()
    path = out or Path(f"{source.stem(clip)}_{what.value}.png")
    _write({path: write_plot(clip, what.value, path.suffix, source.title)})
