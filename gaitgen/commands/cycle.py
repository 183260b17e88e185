"""`gaitgen cycle`: one cycle of a gait."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaitgen.commands.options import Foot, Fps, InPlace, InUnit, Order, RotationOrder, Start, Unit, Up, UpAxis
from gaitgen.errors import OutputError, RequestError

if TYPE_CHECKING:
    from gaitgen.formats.axes import FileSpace
    from gaitgen.formats.hand_off import HandOff
    from gaitgen.motion.motion import Motion
    from gaitgen.rigs.command import RigClip


def cycle(
    gait: Annotated[str, typer.Argument(help="The gait to make: walk.")],
    animal: Annotated[
        str,
        typer.Option(help="An animal of `gaitgen animals`, a skeleton file or the map of a rig (.toml)."),
    ] = "riding_horse",
    frames: Annotated[
        int, typer.Option(help="Length of one stride in frames; the last frame repeats the first.")
    ] = 32,
    fps: Fps = 24.0,
    start: Start = Foot.RH,
    in_place: InPlace = True,
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
        float | None,
        typer.Option(
            help="Share of a stride after contact at which hips and chest are lowest, 0 to 0.25; "
            "the animal's own if not given."
        ),
    ] = None,
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
    unit: InUnit = Unit.CM,
    up: UpAxis = Up.Y,
    rotation_order: RotationOrder = Order.ZXY,
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
    from gaitgen.animal.proportions import Proportions
    from gaitgen.formats.axes import FileSpace
    from gaitgen.formats.hand_off import HandOff
    from gaitgen.formats.write import plain_stem
    from gaitgen.gait.style import Style
    from gaitgen.motion.keys import Tolerance
    from gaitgen.pipeline import Request, make_cycle

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
        from gaitgen.rigs.command import cycle_on_rig

        if glb:
            raise RequestError(f"{animal} is the map of a rig, which has a skin of its own; leave out --glb")
        rig = cycle_on_rig(animal, request, space, hand_off)
        _deliver_on_rig(rig, out, plain_stem(name or request.stem(rig.rig.name)), hand_off, strip, json)
        return
    clip = make_cycle(request)
    stem = plain_stem(name or request.stem(clip.skeleton.name))
    _deliver(clip, space, out, stem, strip=strip, hand_off=hand_off, glb=glb, json=json)


def _is_rig_map(animal: str) -> bool:
    if not animal.endswith(".toml"):
        return False
    from gaitgen.rigs.map_file import is_map

    return is_map(animal)


def _deliver_on_rig(
    made: RigClip, out: Path, stem: str, hand_off: HandOff, strip: Path | None, json: bool
) -> None:
    """Write the files of a cycle on a rig, all or none, then report."""
    from gaitgen.formats.write import write_files
    from gaitgen.motion.report import as_json, as_text, report

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


def _strip(clip: Motion, path: Path) -> bytes:
    if path.suffix.lower() != ".png":
        raise OutputError(f"cannot write {path}: a strip is a PNG picture, so give a name that ends in .png")
    from gaitgen.pictures.strip import write_strip

    return write_strip(clip)


def _glb(clip: Motion, stem: str) -> bytes:
    from gaitgen.formats import glb

    return glb.encode(clip, stem)


def _deliver(
    clip: Motion,
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
    from gaitgen.formats import bvh
    from gaitgen.formats import hand_off as hand_off_files
    from gaitgen.formats.write import write_files
    from gaitgen.motion.report import as_json, as_text, report

    files: dict[Path, bytes] = {}
    key_facts: dict[str, object] | None = None
    to_stdout = str(out) == "-"
    if not to_stdout:
        ends, keys = hand_off_files.encode(clip, space, hand_off)
        files = {out / f"{stem}{end}": data for end, data in ends.items()}
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
        sys.stdout.buffer.write(bvh.encode(clip, space))
        sys.stdout.buffer.flush()
    typer.echo(text, nl=False, err=to_stdout)
