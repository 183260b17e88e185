"""The commands that draw: `gaitgen sheet` and `gaitgen plot`."""

import inspect
from collections.abc import Callable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gaitgen.errors import OutputError

if TYPE_CHECKING:
    from gaitgen.generate import Request
    from gaitgen.motion.clip import Clip

STYLE = ("bounce", "sway", "nod", "lift", "overlap", "weight", "reach")
BUILD = ("withers_height", "body_mass", "cannon_ratio", "neck_factor", "back_factor", "head_factor")
# Options of `gaitgen cycle` that say what the motion is: every one is an option of a drawing too.
MOTION: Mapping[str, str] = {
    "gait": "gait",
    "animal": "animal",
    "frames": "frames",
    "fps": "frame_rate_hz",
    "start": "start",
    "speed": "speed_m_s",
    "stride_length": "stride_length_m",
    "duty_factor": "duty_factor",
    "lag": "lag",
    "contacts": "contacts",
    "settle": "settle_strides",
    "whole_frames": "whole_frames",
}


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


def add_commands(app: typer.Typer, cycle: Callable[..., None]) -> None:
    """Add the drawing commands, with the options of ``cycle`` that say what the motion is."""
    app.command()(_with_motion(sheet, cycle))
    app.command()(_with_motion(plot, cycle))


def _with_motion(command: Callable[..., None], cycle: Callable[..., None]) -> Callable[..., None]:
    """Put the options of ``cycle`` before those of a command that takes a Request."""
    theirs = inspect.signature(cycle, eval_str=True).parameters
    own = [item for name, item in inspect.signature(command).parameters.items() if name != "request"]
    shared = [theirs[name] for name in (*MOTION, *STYLE, *BUILD)]

    def run(**options: Any) -> None:  # noqa: ANN401
        values = {item.name: options.pop(item.name) for item in shared}
        command(request_from(values), **options)

    run.__name__, run.__doc__ = command.__name__, command.__doc__
    run.__signature__ = inspect.Signature([*shared, *own])  # type: ignore[attr-defined]
    run.__annotations__ = {item.name: item.annotation for item in (*shared, *own)}
    return run


def request_from(options: Mapping[str, Any]) -> "Request":
    """Make a request of the options in MOTION, STYLE and BUILD."""
    from gaitgen.generate import Request
    from gaitgen.parameters.style import Style
    from gaitgen.skeleton.proportions import Proportions

    motion = {field: options[name] for name, field in MOTION.items()}
    motion["start"] = str(motion["start"])
    return Request(
        **motion,
        style=Style(**{name: options[name] for name in STYLE}),
        proportions=Proportions(*(options[name] for name in BUILD)),
    )


def clip_of(request: "Request") -> "Clip":
    """Make the clip to draw; of a rig's map, on a skeleton with the rig's proportions."""
    if isinstance(request.animal, str) and request.animal.endswith(".toml"):
        from gaitgen.rig.map_file import is_map

        if is_map(request.animal):
            from gaitgen.files.axes import FileSpace
            from gaitgen.files.hand_off import HandOff
            from gaitgen.rig.command import cycle_on_rig

            return cycle_on_rig(request.animal, request, FileSpace(), HandOff()).clip
    from gaitgen.generate import generate

    return generate(request)


def _write(files: Mapping[Path, bytes]) -> None:
    from gaitgen.files.write import write_files

    write_files(files)
    for path in files:
        typer.echo(f"wrote {path}")


def sheet(
    request: "Request",
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
    """Draw the plan of one cycle to print: the key poses, the footfalls, and the rise and fall of the body.

    Page 1 has each key pose from the side, with its frame, the feet that are down, and where hips, chest,
    head, ears and tail are going, over the bars and curves of the stride; page 2 has the poses from the
    front and three-quarter. The style factors are numbers from 0 to 3; 1 is the plain physical motion.
    """
    from gaitgen.sheets.sheet import write_sheet

    suffix = out.suffix.lower()
    if suffix and suffix != ".pdf" and not out.is_dir():
        raise OutputError(
            f"cannot write {out}: a sheet is a PDF, so give a name that ends in .pdf, or a folder"
        )
    gait = Path(request.gait).stem
    clip = clip_of(request)
    single = suffix == ".pdf" and not out.is_dir()
    path = out if single else out / f"{clip.skeleton.name}_{gait}_{request.frames}_sheet.pdf"
    pdf, pages = write_sheet(clip, gait=gait, paper=paper.value, pictures=png)
    files = {path: pdf, **{path.with_name(f"{path.stem}_{k + 1}.png"): page for k, page in enumerate(pages)}}
    _write(files)


def plot(
    request: "Request",
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
    """Plot one stride: footfalls, trunk, forces, joints or spectrum.

    The style factors are numbers from 0 to 3; 1 is the plain physical motion.
    """
    from gaitgen.sheets.plots import check_suffix, write_plot

    if out is not None:
        check_suffix(out.suffix, str(out))
    gait = Path(request.gait).stem
    clip = clip_of(request)
    path = out or Path(f"{clip.skeleton.name}_{gait}_{request.frames}_{what.value}.png")
    _write({path: write_plot(clip, what.value, path.suffix, gait)})
