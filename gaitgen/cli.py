"""The command line: options in, one call, files and a report out."""

from __future__ import annotations

import sys
from enum import StrEnum
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaitgen.errors import GaitgenError, OutputError, RequestError

if TYPE_CHECKING:
    from gaitgen.files.axes import FileSpace
    from gaitgen.motion.clip import Clip

app = typer.Typer(
    name="gaitgen",
    help="Make four-legged animals walk, to a frame count, as a blocking pass for any 3D package.",
    no_args_is_help=False,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


class Foot(StrEnum):
    """The four feet."""

    LF = "LF"
    RF = "RF"
    LH = "LH"
    RH = "RH"


class Unit(StrEnum):
    """Units of length in files."""

    CM = "cm"
    M = "m"
    IN = "in"


class Up(StrEnum):
    """Up axis in files."""

    Y = "y"
    Z = "z"


class Order(StrEnum):
    """Orders of the three rotation channels."""

    XYZ = "XYZ"
    XZY = "XZY"
    YXZ = "YXZ"
    YZX = "YZX"
    ZXY = "ZXY"
    ZYX = "ZYX"


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"gaitgen {metadata.version('gaitgen')}")
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Make four-legged animals walk, to a frame count, as a blocking pass for any 3D package."""


@app.command()
def animals(
    json: Annotated[bool, typer.Option("--json", help="Print the list for programs.")] = False,
) -> None:
    """List the animals that come with gaitgen, with their size."""
    import json as writer

    from gaitgen.skeleton.library import animal_names, load_animal

    known = [load_animal(name) for name in animal_names()]
    if json:
        rows = [
            {
                "name": s.name,
                "title": s.title,
                "species": s.species,
                "withers_height_m": s.withers_height_m,
                "body_mass_kg": s.body_mass_kg,
                "joints": len(s.joint_names),
            }
            for s in known
        ]
        typer.echo(writer.dumps(rows, indent=2))
        return
    typer.echo(f"{'name':<16}{'withers':>9}{'mass':>9}{'joints':>8}  title")
    for s in known:
        typer.echo(
            f"{s.name:<16}{s.withers_height_m:>7.2f} m{s.body_mass_kg:>6.0f} kg"
            f"{len(s.joint_names):>8}  {s.title}"
        )


@app.command()
def cycle(
    gait: Annotated[str, typer.Argument(help="The gait to make: walk.")],
    animal: Annotated[
        str, typer.Option(help="An animal of `gaitgen animals`, or the path of a skeleton file (.toml).")
    ] = "riding_horse",
    frames: Annotated[
        int, typer.Option(help="Length of one stride in frames; the last frame repeats the first.")
    ] = 32,
    fps: Annotated[float, typer.Option(help="Frame rate in frames per second.")] = 24.0,
    start: Annotated[Foot, typer.Option(help="The foot whose contact is frame 1.")] = Foot.RH,
    in_place: Annotated[
        bool,
        typer.Option("--in-place/--travel", help="Keep the body over the origin, or let it travel along."),
    ] = True,
    strides: Annotated[int, typer.Option(help="How many strides to write, one after the other.")] = 1,
    speed: Annotated[
        float | None, typer.Option(help="Speed in m/s; the animal's own choice if not given.")
    ] = None,
    stride_length: Annotated[
        float | None, typer.Option(help="Length of a stride in m; the animal's own choice if not given.")
    ] = None,
    duty_factor: Annotated[
        float | None,
        typer.Option(help="Share of the stride each foot is down, 0.52 to 0.9; from the tempo if not given."),
    ] = None,
    lag: Annotated[
        float | None,
        typer.Option(
            help="Share of a stride by which a fore foot lands after the hind foot of its side, "
            "0.05 to 0.45; the gait's own if not given."
        ),
    ] = None,
    settle: Annotated[
        float,
        typer.Option(help="Share of a stride after contact at which hips and chest are lowest, 0 to 0.25."),
    ] = 0.125,
    whole_frames: Annotated[
        bool,
        typer.Option(
            "--whole-frames/--no-whole-frames", help="Put contacts and lift-offs on whole frames, or not."
        ),
    ] = True,
    bounce: Annotated[float, typer.Option(help="Factor on the rise and fall of hips and chest.")] = 1.0,
    sway: Annotated[float, typer.Option(help="Factor on sideways shift, roll and bend.")] = 1.0,
    nod: Annotated[float, typer.Option(help="Factor on the nod of neck and head.")] = 1.0,
    lift: Annotated[
        float, typer.Option(help="Factor on the lift and fold of the swinging legs, 0.3 to 3.")
    ] = 1.0,
    overlap: Annotated[float, typer.Option(help="Factor on the swing of ears, jaw and tail.")] = 1.0,
    weight: Annotated[float, typer.Option(help="Factor on how far the fetlocks sink under load.")] = 1.0,
    reach: Annotated[
        float, typer.Option(help="Factor on the ground a foot covers in stance, 0.3 to 3.")
    ] = 1.0,
    withers_height: Annotated[
        float | None, typer.Option(help="Height at the withers in m; scales the whole animal.")
    ] = None,
    body_mass: Annotated[
        float | None, typer.Option(help="Body mass in kg; follows the height if not given.")
    ] = None,
    cannon_ratio: Annotated[
        float | None, typer.Option(help="Length of the fore cannon bone over withers height, 0.10 to 0.22.")
    ] = None,
    neck_factor: Annotated[float | None, typer.Option(help="Length of the neck, times its own.")] = None,
    back_factor: Annotated[float | None, typer.Option(help="Length of the back, times its own.")] = None,
    head_factor: Annotated[float | None, typer.Option(help="Size of the head, times its own.")] = None,
    out: Annotated[
        Path,
        typer.Option(
            help="Folder for the files; made if it is missing. With - the BVH goes to standard output and "
            "the report to standard error."
        ),
    ] = Path(),
    name: Annotated[
        str | None, typer.Option(help="Name of the files without suffix; made from the request if not given.")
    ] = None,
    unit: Annotated[Unit, typer.Option(help="Unit of length in the files.")] = Unit.CM,
    up: Annotated[
        Up,
        typer.Option(help="Up axis: y (the animal faces +z, left is +x) or z (it faces +x, left is +y)."),
    ] = Up.Y,
    rotation_order: Annotated[
        Order, typer.Option(help="Order of the three rotation channels of every joint.")
    ] = Order.ZXY,
    strip: Annotated[
        Path | None, typer.Option(help="Also draw a strip of poses (PNG) into this file.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the report for programs.")] = False,
) -> None:
    """Make one cycle of a gait: NAME.bvh and NAME.channels.csv, and a report of the plan.

    The style factors are numbers from 0 to 3; 1 is the plain physical motion.
    """
    from gaitgen.files.axes import FileSpace
    from gaitgen.generate import Request, generate
    from gaitgen.parameters.style import Style
    from gaitgen.skeleton.proportions import Proportions

    request = Request(
        gait=gait,
        animal=animal,
        proportions=Proportions(
            withers_height, body_mass, cannon_ratio, neck_factor, back_factor, head_factor
        ),
        frames=frames,
        frame_rate_hz=fps,
        start=start.value,
        in_place=in_place,
        strides=strides,
        speed_m_s=speed,
        stride_length_m=stride_length,
        duty_factor=duty_factor,
        lag=lag,
        style=Style(bounce, sway, nod, lift, overlap, weight, reach),
        settle_strides=settle,
        whole_frames=whole_frames,
    )
    clip = generate(request)
    stem = _stem(name or f"{clip.skeleton.name}_{gait}_{frames}")
    _deliver(clip, FileSpace(unit.value, up.value, rotation_order.value), out, stem, strip=strip, json=json)


def _stem(name: str) -> str:
    if not name or name != Path(name).name or name in {".", ".."} or "\0" in name:
        raise RequestError(f"name is {name!r}; give a plain file name without folders, use --out for those")
    return name


def _deliver(clip: Clip, space: FileSpace, out: Path, stem: str, *, strip: Path | None, json: bool) -> None:
    """Encode everything first, then write all files or none, then report."""
    from gaitgen.files import bvh, channels
    from gaitgen.files.write import write_files
    from gaitgen.report import as_json, as_text, report

    files: dict[Path, bytes] = {}
    to_stdout = str(out) == "-"
    motion = bvh.encode(clip, space)
    if not to_stdout:
        files[out / f"{stem}.bvh"] = motion
        files[out / f"{stem}.channels.csv"] = channels.encode(clip, space)
    if strip is not None:
        if strip.suffix.lower() != ".png":
            raise OutputError(
                f"cannot write {strip}: a strip is a PNG picture, so give a name that ends in .png"
            )
        from gaitgen.sheets.strip import write_strip

        files[strip] = write_strip(clip)
    write_files(files)
    facts = report(clip, [str(path) for path in files])
    text = as_json(facts) if json else as_text(facts)
    if to_stdout:
        sys.stdout.buffer.write(motion)
        sys.stdout.buffer.flush()
    typer.echo(text, nl=False, err=to_stdout)


# The base of everything that can be wrong with a command line; typer does not name it.
USAGE_ERRORS: tuple[type[Exception], ...] = tuple(
    base
    for base in typer.BadParameter.__mro__
    if base.__name__ == "ClickException" and issubclass(base, Exception)
)


def main() -> None:
    """Run the command line; what gaitgen refuses is one line on standard error and exit code 2."""
    raise SystemExit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code."""
    try:
        code = app(args=arguments or ["--help"], prog_name="gaitgen", standalone_mode=False)
    except GaitgenError as error:
        typer.echo(f"gaitgen: {error}", err=True)
        return 2
    except USAGE_ERRORS as error:
        typer.echo(f"gaitgen: {_one_line(error)}", err=True)
        return 2
    except (KeyboardInterrupt, typer.Abort):
        typer.echo("gaitgen: interrupted; no file was changed", err=True)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 141
    if code == 130:
        typer.echo("gaitgen: interrupted; no file was changed", err=True)
    return code if isinstance(code, int) else 0


def _one_line(error: BaseException) -> str:
    words = getattr(error, "format_message", lambda: str(error))()
    return " ".join(str(words).split()) + "; see gaitgen --help"
