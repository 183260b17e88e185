"""The command line: options in, one call, files and a report out."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from enum import StrEnum
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaitgen.drawing import add_commands
from gaitgen.errors import GaitgenError, OutputError, RequestError
from gaitgen.preview.command import preview

if TYPE_CHECKING:
    from gaitgen.files.axes import FileSpace
    from gaitgen.files.hand_off import HandOff
    from gaitgen.motion.clip import Clip
    from gaitgen.rig.command import RigClip

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
        str,
        typer.Option(help="An animal of `gaitgen animals`, a skeleton file or the map of a rig (.toml)."),
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
    contacts: Annotated[
        str | None,
        typer.Option(
            help="Contact and lift-off frames read off film, such as 'RH 1-23, RF 9-31, LH 17-39, LF 25-47'; "
            "they stand for duty factor, lag and start."
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
    keys: Annotated[
        bool,
        typer.Option(
            "--keys/--no-keys", help="Write NAME.keys.csv, the motion as few keys with slopes, or not."
        ),
    ] = True,
    controls: Annotated[
        bool,
        typer.Option(
            "--controls",
            help="Also write NAME.controls.csv and NAME.controls.keys.csv: hooves, trunk, head and tail as "
            "curves in space, for a rig with controls.",
        ),
    ] = False,
    keys_only: Annotated[
        bool,
        typer.Option(
            "--keys-only",
            help="Also write NAME.keys.bvh with the key poses alone as its frames, evenly spaced.",
        ),
    ] = False,
    tolerance_deg: Annotated[
        float, typer.Option(help="How far the splines through the keys may be off in degrees.")
    ] = 0.5,
    tolerance_mm: Annotated[
        float, typer.Option(help="How far the splines through the keys may be off in mm.")
    ] = 3.0,
    rig_scale: Annotated[
        float | None, typer.Option(help="Size of your rig against the animal; scales the control curves.")
    ] = None,
    rig_height: Annotated[
        float | None,
        typer.Option(
            help="Withers height of your rig in the unit of the files; the other way to give its size."
        ),
    ] = None,
    glb: Annotated[
        bool,
        typer.Option(
            "--glb",
            help="Also write NAME.glb (glTF 2.0): the animal with a skin, moving, in metres with y up, "
            "for any viewer.",
        ),
    ] = False,
    strip: Annotated[
        Path | None, typer.Option(help="Also draw a strip of poses (PNG) into this file.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the report for programs.")] = False,
) -> None:
    """Make one cycle of a gait: NAME.bvh, NAME.channels.csv and NAME.keys.csv, and a report of the plan.

    The style factors are numbers from 0 to 3; 1 is the plain physical motion.
    """
    from gaitgen.files.axes import FileSpace
    from gaitgen.files.hand_off import HandOff
    from gaitgen.generate import Request, generate
    from gaitgen.motion.keys import Tolerance
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
        contacts=contacts,
    )
    hand_off = HandOff(
        keys, controls, keys_only, Tolerance(tolerance_deg, tolerance_mm), rig_scale, rig_height
    )
    space = FileSpace(unit.value, up.value, rotation_order.value)
    if _is_rig_map(animal):
        from gaitgen.rig.command import cycle_on_rig

        if glb:
            raise RequestError(f"{animal} is the map of a rig, which has a skin of its own; leave out --glb")
        rig = cycle_on_rig(animal, request, space, hand_off)
        _deliver_on_rig(rig, out, _stem(name or f"{rig.rig.name}_{gait}_{frames}"), hand_off, strip, json)
        return
    clip = generate(request)
    stem = _stem(name or f"{clip.skeleton.name}_{gait}_{frames}")
    _deliver(clip, space, out, stem, strip=strip, hand_off=hand_off, glb=glb, json=json)


def _is_rig_map(animal: str) -> bool:
    if not animal.endswith(".toml"):
        return False
    from gaitgen.rig.map_file import is_map

    return is_map(animal)


def _deliver_on_rig(
    made: RigClip, out: Path, stem: str, hand_off: HandOff, strip: Path | None, json: bool
) -> None:
    """Write the files of a cycle on a rig, all or none, then report."""
    from gaitgen.files.write import write_files
    from gaitgen.report import as_json, as_text, report

    to_stdout = str(out) == "-"
    files: dict[Path, bytes] = {}
    if not to_stdout:
        files = {out / f"{stem}{end}": data for end, data in made.files(hand_off).items()}
    if strip is not None:
        files[strip] = _strip(made.clip, strip)
    write_files(files)
    facts = report(made.clip, [str(path) for path in files])
    if to_stdout:
        sys.stdout.buffer.write(made.bvh())
        sys.stdout.buffer.flush()
    typer.echo(as_json(facts) if json else as_text(facts), nl=False, err=to_stdout)


def _strip(clip: Clip, path: Path) -> bytes:
    if path.suffix.lower() != ".png":
        raise OutputError(f"cannot write {path}: a strip is a PNG picture, so give a name that ends in .png")
    from gaitgen.sheets.strip import write_strip

    return write_strip(clip)


def _glb(clip: Clip, stem: str) -> bytes:
    from gaitgen.files import glb

    return glb.encode(clip, stem)


@app.command()
def fit(
    rig: Annotated[Path, typer.Argument(help="A BVH file whose rig stands on four feet.")],
    map_: Annotated[
        Path | None,
        typer.Option("--map", help="Write what was found into this file (.toml), to edit and animate with."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a map that is there already.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Print what was found for programs.")] = False,
) -> None:
    """Find limbs, back, neck, head and tail of your own rig, and write a map of it.

    Then `gaitgen cycle walk --animal MAP.toml` writes the cycle for that rig.
    """
    from gaitgen.rig import command

    if map_ is not None and map_.suffix.lower() != ".toml":
        raise OutputError(f"cannot write {map_}: a map is a TOML file, so give a name that ends in .toml")
    found, notices = command.fit(rig, map_, force=force)
    text = command.fit_json(found, notices, map_) if json else command.fit_text(found, notices, rig, map_)
    typer.echo(text, nl=False)


@app.command()
def check(
    clip: Annotated[Path, typer.Argument(help="A BVH file of any four-legged rig.")],
    animal: Annotated[str, typer.Option(help="Whose limits hold: horse.")] = "horse",
    map_: Annotated[
        Path | None,
        typer.Option("--map", help="Map of the rig (.toml) from `gaitgen fit`; not needed for most rigs."),
    ] = None,
    limits: Annotated[
        Path | None, typer.Option(help="File with limits (.toml) that stand for some of the animal's.")
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            help="Also compare with the computed cycle of this gait and of as many frames, such as walk."
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print what was seen and found for programs.")] = False,
) -> None:
    """Say what a clip's feet and body do, and what is wrong with it, at which frame.

    Exit code 0 if nothing is wrong, 1 if something is, 2 if the clip cannot be read.
    """
    from gaitgen.check.command import check_file

    checked = check_file(clip, animal=animal, map_path=map_, limits_path=limits, against=against)
    typer.echo(checked.json() if json else checked.text(), nl=False)
    raise typer.Exit(checked.exit_code)


@app.command()
def variants(
    gait: Annotated[str, typer.Argument(help="The gait to make: walk, or the path of a gait file (.toml).")],
    frames: Annotated[
        str, typer.Option(help="Lengths in frames, such as 16,24,32 or 16-48:8 (from, to, step).")
    ] = "16,24,32,48",
    animal: Annotated[
        str, typer.Option(help="Animals, such as riding_horse,draft_horse, or paths of skeleton files.")
    ] = "riding_horse",
    style: Annotated[
        list[str] | None,
        typer.Option(help="A named style, such as 'proud: bounce=1.3 nod=1.4'; may be given several times."),
    ] = None,
    fps: Annotated[float, typer.Option(help="Frame rate in frames per second.")] = 24.0,
    start: Annotated[Foot, typer.Option(help="The foot whose contact is frame 1.")] = Foot.RH,
    in_place: Annotated[
        bool,
        typer.Option("--in-place/--travel", help="Keep the body over the origin, or let it travel along."),
    ] = True,
    out: Annotated[Path, typer.Option(help="Folder for the files; made if it is missing.")] = Path(),
    unit: Annotated[Unit, typer.Option(help="Unit of length in the files.")] = Unit.CM,
    up: Annotated[Up, typer.Option(help="Up axis: y or z.")] = Up.Y,
    rotation_order: Annotated[
        Order, typer.Option(help="Order of the three rotation channels of every joint.")
    ] = Order.ZXY,
    keys: Annotated[
        bool, typer.Option("--keys/--no-keys", help="Write NAME.keys.csv for each cycle, or not.")
    ] = True,
    controls: Annotated[
        bool, typer.Option("--controls", help="Also write the control curves of each cycle.")
    ] = False,
    workers: Annotated[
        int | None, typer.Option(help="Processes to use; as many as there are cores if not given.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Make everything again, also what is there unchanged.")
    ] = False,
) -> None:
    """Make many cycles at once, in parallel, and one table of them, variants.csv.

    Files are named ANIMAL_GAIT_FRAMES, with _STYLE if a style is named. What is there already from the same
    request is kept.
    """
    from gaitgen import variants as many
    from gaitgen.files.axes import FileSpace
    from gaitgen.files.hand_off import HandOff
    from gaitgen.generate import Request

    if workers is not None and not 1 <= workers <= 256:
        raise RequestError(f"workers is {workers}; give a number from 1 to 256")
    base = Request(gait=gait, frame_rate_hz=fps, start=start.value, in_place=in_place)
    plan = many.plan_variants(
        base,
        [name.strip() for name in animal.split(",")],
        many.parse_frames(frames),
        [many.parse_style(text) for text in style or ()],
    )
    space = FileSpace(unit.value, up.value, rotation_order.value)
    with _progress(len(plan)) as tell:
        outcome = many.run_variants(
            plan, space, HandOff(keys, controls), out, workers=workers, force=force, tell=tell
        )
    typer.echo(many.summary_text(outcome), nl=False)


app.command()(preview)


@contextmanager
def _progress(total: int) -> Iterator[Callable[[int, int], None]]:
    """Show a bar on standard error while something takes long; nothing where that is no terminal."""
    if not sys.stderr.isatty():
        yield lambda _done, _all: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("making cycles", total=total)
        yield lambda done, _all: bar.update(task, completed=done)


def _stem(name: str) -> str:
    if not name or name != Path(name).name or name in {".", ".."} or "\0" in name:
        raise RequestError(f"name is {name!r}; give a plain file name without folders, use --out for those")
    return name


def _deliver(
    clip: Clip,
    space: FileSpace,
    out: Path,
    stem: str,
    *,
    strip: Path | None,
    hand_off: HandOff,
    glb: bool,
    json: bool,
) -> None:
    """Encode everything first, then write all files or none, then report."""
    from gaitgen.files import bvh, channels
    from gaitgen.files import hand_off as hand_off_files
    from gaitgen.files.write import write_files
    from gaitgen.report import as_json, as_text, report

    files: dict[Path, bytes] = {}
    key_facts: dict[str, object] | None = None
    to_stdout = str(out) == "-"
    motion = bvh.encode(clip, space)
    if not to_stdout:
        files[out / f"{stem}.bvh"] = motion
        files[out / f"{stem}.channels.csv"] = channels.encode(clip, space)
        extra, keys = hand_off_files.encode(clip, space, hand_off)
        files |= {out / f"{stem}{end}": data for end, data in extra.items()}
        if glb:
            files[out / f"{stem}.glb"] = _glb(clip, stem)
        if keys is not None:
            key_facts = hand_off_files.key_facts(clip, keys, space)
            clip = replace(clip, notices=(*clip.notices, *keys.notices))
    elif hand_off.controls or hand_off.key_poses or glb:
        raise RequestError("only the BVH goes to standard output; give --out a folder for other files")
    if strip is not None:
        files[strip] = _strip(clip, strip)
    write_files(files)
    facts = report(clip, [str(path) for path in files], key_facts)
    text = as_json(facts) if json else as_text(facts)
    if to_stdout:
        sys.stdout.buffer.write(motion)
        sys.stdout.buffer.flush()
    typer.echo(text, nl=False, err=to_stdout)


add_commands(app, cycle)

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
        typer.echo("gaitgen: interrupted; every file there is whole, as it was or new", err=True)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 141
    if code == 130:
        typer.echo("gaitgen: interrupted; every file there is whole, as it was or new", err=True)
    return code if isinstance(code, int) else 0


def _one_line(error: BaseException) -> str:
    words = getattr(error, "format_message", lambda: str(error))()
    return " ".join(str(words).split()) + "; see gaitgen --help"
