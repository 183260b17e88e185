"""`gaitgen variants`: many cycles at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from gaitgen.commands.options import Foot, Fps, InPlace, InUnit, Order, RotationOrder, Start, Unit, Up, UpAxis
from gaitgen.errors import RequestError


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
    fps: Fps = 24.0,
    start: Start = Foot.RH,
    in_place: InPlace = True,
    out: Annotated[Path, typer.Option(help="Folder for the files; made if it is missing.")] = Path(),
    unit: InUnit = Unit.CM,
    up: UpAxis = Up.Y,
    rotation_order: RotationOrder = Order.ZXY,
    keys: Annotated[
        bool, typer.Option("--keys/--no-keys", help="Write NAME.keys.csv for each cycle, or not.")
    ] = True,
    controls: Annotated[
        bool, typer.Option("--controls", help="Also write the control curves of each cycle.")
    ] = False,
    workers: Annotated[
        int | None, typer.Option(help="Processes to use; as many as there are cores if not given.")
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Make them on a dask cluster, such as tcp://127.0.0.1:8786, instead of on this machine.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Make everything again, also what is there unchanged.")
    ] = False,
) -> None:
    """Make many cycles at once, in parallel, and one table of them, variants.csv.

    Files are named ANIMAL_GAIT_FRAMES, with _STYLE if a style is named. What is there already from the same
    request is kept, so a run that was interrupted goes on when it is started again.
    """
    from gaitgen.batch.plan import parse_frames, parse_style, plan_variants
    from gaitgen.batch.run import run_variants
    from gaitgen.batch.table import table_text
    from gaitgen.formats.axes import FileSpace
    from gaitgen.formats.hand_off import HandOff
    from gaitgen.pipeline import Request

    if workers is not None and not 1 <= workers <= 256:
        raise RequestError(f"workers is {workers}; give a number from 1 to 256")
    if workers is not None and cluster is not None:
        raise RequestError("workers are processes of this machine; leave out --workers, or --cluster")
    base = Request(gait=gait, frame_rate_hz=fps, start=start.value, in_place=in_place)
    plan = plan_variants(
        base,
        [name.strip() for name in animal.split(",")],
        parse_frames(frames),
        [parse_style(text) for text in style or ()],
    )
    space = FileSpace(unit.value, up.value, rotation_order.value)
    with _progress(len(plan)) as (tell, say):
        outcome = run_variants(
            plan,
            space,
            HandOff(keys, controls),
            out,
            workers=workers,
            cluster=cluster,
            force=force,
            tell=tell,
            say=say,
        )
    typer.echo(table_text(outcome.rows))
    typer.echo(f"made {outcome.made}, kept {outcome.kept}")


@contextmanager
def _progress(total: int) -> Iterator[tuple[Callable[[int, int], None], Callable[[str], None]]]:
    """Show a bar on standard error while something takes long, and lines above it; only those in a file."""
    if not sys.stderr.isatty():
        yield (lambda _done, _all: None), (lambda line: typer.echo(f"gaitgen: {line}", err=True))
        return
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True) as bar:
        task = bar.add_task("making cycles", total=total)
        yield (
            lambda done, _all: bar.update(task, completed=done),
            lambda line: console.print(f"gaitgen: {line}", markup=False, highlight=False, soft_wrap=True),
        )
