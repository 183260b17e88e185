"""The commands that draw: `gaitgen sheet` and `gaitgen plot`."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
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


SOURCE_HELP = (
    "The gait to draw, walk or the path of a gait file (.toml); or a clip to draw as it is, the path of a "
    "BVH file with the joints that gaitgen writes, also one refined by hand."
)


@dataclass(frozen=True)
class Source:
    """What is drawn: a cycle to make, or a clip in a file.

    Attributes
    ----------
    request
        The cycle, or None for a file.
    file
        The file, or None for a cycle.
    """

    request: "Request | None" = None
    file: Path | None = None

    def clip(self) -> "Clip":
        """Make or read the clip; what was guessed of a file is printed."""
        if self.request is not None:
            return clip_of(self.request)
        from gaitgen.read_clip import clip_from_bvh

        clip = clip_from_bvh(self.file or Path())
        for notice in clip.notices:
            typer.echo(f"note: {notice.text}")
        return clip

    @property
    def title(self) -> str:
        """What stands beside the animal in a heading."""
        return Path(self.request.gait).stem if self.request else (self.file or Path()).name

    def stem(self, clip: "Clip") -> str:
        """Name of the files that are drawn."""
        if self.request:
            return f"{clip.skeleton.name}_{self.title}_{self.request.frames}"
        return (self.file or Path()).stem


def add_commands(app: typer.Typer, cycle: Callable[..., None]) -> None:
    """Add the drawing commands, with the options of ``cycle`` that say what the motion is."""
    app.command()(_with_motion(sheet, cycle))
    app.command()(_with_motion(plot, cycle))


def _with_motion(command: Callable[..., None], cycle: Callable[..., None]) -> Callable[..., None]:
    """Put the options of ``cycle`` before those of a command that takes a Source."""
    theirs = inspect.signature(cycle, eval_str=True).parameters
    own = [item for name, item in inspect.signature(command).parameters.items() if name != "source"]
    shared = [theirs[name] for name in (*MOTION, *STYLE, *BUILD)]
    shared[0] = shared[0].replace(annotation=Annotated[str, typer.Argument(help=SOURCE_HELP)])
    keyword = inspect.Parameter.POSITIONAL_OR_KEYWORD
    context_item = inspect.Parameter("context", keyword, annotation=typer.Context)

    def run(context: typer.Context, **options: Any) -> None:  # noqa: ANN401
        from gaitgen.read_clip.beside import is_clip, refuse_options

        values = {item.name: options.pop(item.name) for item in shared}
        if is_clip(values["gait"]):
            refuse_options(context, {"gait", *options}, values["gait"])
            source = Source(file=Path(values["gait"]))
        else:
            source = Source(request=request_from(values))
        command(source, **options)

    run.__name__, run.__doc__ = command.__name__, command.__doc__
    items = [context_item, *shared, *own]
    run.__signature__ = inspect.Signature(items)  # type: ignore[attr-defined]
    run.__annotations__ = {item.name: item.annotation for item in items}
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
    front and three-quarter. The style factors are numbers from 0 to 3; 1 is the plain physical motion. A
    clip (.bvh) is drawn as it is, from its own contacts, and takes none of the options that make a cycle.
    """
    from gaitgen.sheets.sheet import write_sheet

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

    The style factors are numbers from 0 to 3; 1 is the plain physical motion. A clip (.bvh) is drawn as it
    is, its forces estimated from the motion, and takes none of the options that make a cycle.
    """
    from gaitgen.sheets.plots import check_suffix, write_plot

    if out is not None:
        check_suffix(out.suffix, str(out))
    clip = source.clip()
    path = out or Path(f"{source.stem(clip)}_{what.value}.png")
    _write({path: write_plot(clip, what.value, path.suffix, source.title)})
