"""`gaitgen variants`: many cycles or shots at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.options import Only, command
from gaitgen.commands.terminal import say, say_aside
from gaitgen.errors import RequestError, plain
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import STAND, WALK, Request
from gaitgen.numerics.standard_input import STANDARD_INPUT, refuse_twice
from gaitgen.option import Option

if TYPE_CHECKING:
    from gaitgen.batch.plan import Variant

HORSE = "riding_horse"
LENGTHS = "16,24,32,48"


@command
def variants(
    *,
    gait: Annotated[
        tuple[str, ...],
        Option(
            "The gait of cycles, such as walk, or a gait file (.toml); or the shot files (.toml) of shots",
            "a walk if not given",
            kind=str,
            is_positional=True,
            is_repeated=True,
        ),
    ] = (),
    frames: Annotated[
        str | None,
        Option(
            "Lengths of one stride in frames, such as 16,24,32 or 16-48:8 (from, to, step)",
            f"{LENGTHS} if not given",
        ),
    ] = None,
    animal: Annotated[
        str | None,
        Option(
            "Animals, such as riding_horse,draft_horse, or paths of skeleton files or maps of rigs",
            f"{HORSE}, or the animal of each shot file, if not given",
        ),
    ] = None,
    style: Annotated[
        tuple[str, ...],
        Option(
            "A style of your own with a name, such as 'brisk: bounce=1.3 nod=1.4', or ready-made ones, such "
            "as tired or 'proud, light'",
            "may be given several times",
            kind=str,
            is_repeated=True,
        ),
    ] = (),
    vary: Annotated[
        tuple[str, ...],
        Option(
            "A key of the shot files and values for it, such as passage.2.speed=3,3.5,4 for the second "
            "passage",
            "may be given several times",
            kind=str,
            is_repeated=True,
        ),
    ] = (),
    fps: Annotated[
        float | None,
        Option(
            "Frames per second",
            "24, or those of each shot file, if not given",
            label="frame rate",
            limits=(1.0, 1000.0),
        ),
    ] = None,
    base: Annotated[Request, Only("lead", "start", "in_place")],
    out: Annotated[Path, Option("Folder for the files; made if it is missing")] = Path(),
    space: FileSpace,
    hand_off: Annotated[HandOff, Only("keys", "controls")],
    workers: Annotated[
        int | None, Option("Processes to use", "as many as there are cores if not given", limits=(1, 256))
    ] = None,
    cluster: Annotated[
        str | None,
        Option(
            "Make them on a dask cluster, such as tcp://127.0.0.1:8786, instead of on this machine",
        ),
    ] = None,
    force: Annotated[
        bool,
        Option("Make everything again, and replace files that were changed by hand"),
    ] = False,
) -> None:
    """Make many cycles or shots at once, and one table of them.

    They are made in parallel. The table is variants.csv. Files of cycles are named ANIMAL_GAIT_FRAMES, those
    of shots FILE, and what else is asked for after that, such as the name of a style. What is there already
    from the same request is kept, so a run that was interrupted goes on when it is started again. One that
    cannot be made is noted, the others are made, and the exit code is 2.
    """
    from gaitgen.batch.run import run_variants
    from gaitgen.batch.table import table_text
    from gaitgen.formats.kept import refuse_stdout

    if workers is not None and cluster is not None:
        raise RequestError("workers are processes of this machine; leave out --workers or --cluster")
    refuse_stdout(out)
    plan = _planned(gait, base, frames, animal, style, vary, fps)
    with _progress(len(plan)) as (tell, tell_of):
        outcome = run_variants(
            plan,
            space,
            hand_off,
            out,
            workers=workers,
            cluster=cluster,
            force=force,
            tell=tell,
            say=tell_of,
        )
    say(table_text(outcome.rows))
    say(f"made {outcome.made}, kept {outcome.kept}")
    if outcome.not_made:
        raise RequestError(f"{len(outcome.not_made)} of {len(plan)} are not made, as said above")


def _planned(
    what: tuple[str, ...],
    base: Request,
    frames: str | None,
    animal: str | None,
    styles: tuple[str, ...],
    vary: tuple[str, ...],
    fps: float | None,
) -> tuple[Variant, ...]:
    """List the cycles of one gait, or the shots of shot files.

    Raises
    ------
    GaitgenError
        If what is asked is not usable, or is for the other of the two.
    """
    from gaitgen.batch.plan import parse_frames, parse_style, plan_variants
    from gaitgen.batch.shot_plan import plan_shots
    from gaitgen.batch.shots import is_shot_file
    from gaitgen.gait.gait import load_gait

    animals = [] if animal is None else [name.strip() for name in animal.split(",")]
    refuse_twice(*what, *animals)
    shots = [is_shot_file(word) for word in what]
    if any(shots) or (len(what) > 1 and all(word.endswith(".toml") for word in what)):
        _refuse_what_is_of_cycles(what, base, frames)
        return plan_shots(what, animals, styles, vary, fps)
    if len(what) > 1:
        raise RequestError(f"cycles are of one gait, and {', '.join(what)} are {len(what)}; give one of them")
    if vary:
        raise RequestError("a key of a shot file is varied, and none is given; name one, or leave out --vary")
    gait = what[0] if what else None
    base = replace(base, gait=gait, frame_rate_hz=fps or base.frame_rate_hz)
    walks = gait == STAND or load_gait(gait or WALK, also=(STAND,)).walks
    named = [parse_style(text, walks=walks) for text in styles]
    return plan_variants(base, animals or [HORSE], parse_frames(LENGTHS if frames is None else frames), named)


def _refuse_what_is_of_cycles(files: tuple[str, ...], base: Request, frames: str | None) -> None:
    """Refuse what a shot file says itself.

    Raises
    ------
    RequestError
        With the option, and the key of the file.
    """
    other = next((word for word in files if not word.endswith(".toml") and word != STANDARD_INPUT), None)
    if other is not None:
        raise RequestError(f"{other!r} is no shot file; give shot files (.toml), or one gait, not both")
    usual = Request()
    for given, option, key in (
        (frames is not None, "--frames", "strides, frames or distance of each passage"),
        (base.lead != usual.lead, "--lead", "lead of a passage"),
        (base.start != usual.start, "--start", "start"),
        (base.in_place != usual.in_place, "--travel", "path, along which shots travel anyhow"),
    ):
        if given:
            raise RequestError(f"{option} is for cycles; leave it out, as a shot file has its {key}")


@contextmanager
def _progress(total: int) -> Iterator[tuple[Callable[[int, int], None], Callable[[str], None]]]:
    """Show a bar on standard error while something takes long, and lines above it; only those in a file."""
    if not sys.stderr.isatty():
        yield (lambda _done, _all: None), (lambda line: say_aside(f"gaitgen: {line}"))
        return
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True) as bar:
        task = bar.add_task("making clips", total=total)
        yield (
            lambda done, _all: bar.update(task, completed=done),
            lambda line: console.print(
                plain(f"gaitgen: {line}"), markup=False, highlight=False, soft_wrap=True
            ),
        )
