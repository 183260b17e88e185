"""The commands that draw: `gaitgen sheet` and `gaitgen plot`."""

from pathlib import Path
from typing import Annotated

from gaitgen.commands.delivery import Force, write_one, write_set
from gaitgen.commands.source import Source, drawing, drawing_shots
from gaitgen.errors import OutputError
from gaitgen.option import Option

PAPERS = ("a4", "letter")
PLOTS = ("footfalls", "trunk", "forces", "joints", "spectrum")


@drawing_shots
def sheet(
    source: Source,
    paper: Annotated[str, Option("Paper to print on, upright", choices=PAPERS)] = PAPERS[0],
    out: Annotated[
        Path,
        Option("Folder for the sheet, or the name of its file (.pdf); the folder is made if it is missing"),
    ] = Path(),
    png: Annotated[
        bool, Option("Also write each page as a picture beside it: NAME_1.png, NAME_2.png")
    ] = False,
    force: Force = False,
) -> None:
    """Draw a cycle, a clip or a shot on two pages to print.

    Page 1 has each key pose from the side, with its frame, the feet that are down, and where hips, chest,
    head, ears and tail are going, over the bars and curves of the stride; page 2 has the poses from the
    front and three-quarter. The style factors scale one thing each; 1 is the plain physical motion. A
    clip (.bvh) is drawn as it is, from its own contacts. Of a shot (.toml) the sheet has a plan of the path
    from above, with prints, times and gaits, bars of footfalls, and poses along the way on the true ground.
    Neither takes the options that make a cycle.
    """
    from gaitgen.formats.kept import refuse_stdout

    refuse_stdout(out)
    suffix = out.suffix.lower()
    if suffix and suffix != ".pdf" and not out.is_dir():
        raise OutputError(f"cannot write {out}: a sheet is a PDF; give a name that ends in .pdf, or a folder")
    stem, pdf, pages = _drawn_sheet(source, paper, pictures=png)
    single = suffix == ".pdf" and not out.is_dir()
    path = out if single else out / f"{stem}_sheet.pdf"
    pictures = {f"_{number}.png": page for number, page in enumerate(pages, 1)}
    write_set(path, {path.suffix: pdf, **pictures}, force=force)


def _drawn_sheet(source: Source, paper: str, *, pictures: bool) -> tuple[str, bytes, list[bytes]]:
    """Return the name of what is drawn, the PDF, and its pages as pictures if they are wanted."""
    plan, file = source.plan_in_file(), source.shot or source.file
    if source.shot is not None:
        from gaitgen.shot.seen import plan_of

        asked = source.asked()
        plan = plan_of(source.made(asked), asked.marks)
    if plan is not None and file is not None:
        from gaitgen.pictures.shot_sheet import write_shot_sheet

        return file.stem, *write_shot_sheet(plan, name=file.stem, paper=paper, pictures=pictures)
    from gaitgen.pictures.sheet import write_sheet

    clip = source.clip()
    drawn = write_sheet(clip, gait=source.title(clip), paper=paper, pictures=pictures)
    return source.stem(clip), *drawn


@drawing
def plot(
    source: Source,
    what: Annotated[
        str,
        Option(
            "What to draw: footfalls; rise, sway and pitch of the trunk; forces in body weights; "
            "joint angles in degrees with published extremes shaded; or their spectrum",
            choices=PLOTS,
        ),
    ] = PLOTS[0],
    out: Annotated[
        Path | None,
        Option(
            "File to draw into: .png, .pdf or .svg",
            "a .png in the current folder, named after the settings, if not given",
        ),
    ] = None,
    force: Force = False,
) -> None:
    """Plot one stride: footfalls, trunk, forces, joints or spectrum.

    The style factors scale one thing each; 1 is the plain physical motion. A clip (.bvh) is drawn as it is,
    its forces estimated from the motion, and takes none of the options that make a cycle.
    """
    from gaitgen.pictures.page import check_suffix
    from gaitgen.pictures.plots import write_plot

    if out is not None:
        check_suffix(out.suffix, str(out), "a plot")
    clip = source.clip()
    path = out or Path(f"{source.stem(clip)}_{what}.png")
    write_one(path, write_plot(clip, what, path.suffix, source.title(clip)), force=force)
