"""`gaitgen variants`: many cycles at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

from gaitgen.commands.options import Only, command
from gaitgen.commands.terminal import say, say_aside
from gaitgen.errors import RequestError, plain
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import STAND, WALK, Request
from gaitgen.option import Option


@command
def variants(
    *,
    frames: Annotated[
        str, Option("Lengths of one stride in frames, such as 16,24,32 or 16-48:8 (from, to, step)")
    ] = "16,24,32,48",
    animal: Annotated[
        str, Option("Animals, such as riding_horse,draft_horse, or paths of skeleton files")
    ] = "riding_horse",
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
    base: Annotated[Request, Only("gait", "lead", "fps", "start", "in_place")],
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
    """Make many cycles at once, in parallel, and one table of them.

    The table is variants.csv. Files are named ANIMAL_GAIT_FRAMES, and what else is asked for after that, such
    as the name of a style. What is there already from the same request is kept, so a run that was
    interrupted goes on when it is started again. One that cannot be made is noted, the others are made, and
    the exit code is 2.
    """
    from gaitgen.batch.plan import parse_frames, parse_style, plan_variants
    from gaitgen.batch.run import run_variants
    from gaitgen.batch.table import table_text
    from gaitgen.formats.kept import refuse_stdout
    from gaitgen.gait.gait import load_gait

    if workers is not None and cluster is not None:
        raise RequestError("workers are processes of this machine; leave out --workers or --cluster")
    refuse_stdout(out)
    walks = base.gait == STAND or load_gait(base.gait or WALK, also=(STAND,)).walks
    plan = plan_variants(
        base,
        [name.strip() for name in animal.split(",")],
        parse_frames(frames),
        [parse_style(text, walks=walks) for text in style],
    )
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
        task = bar.add_task("making cycles", total=total)
        yield (
            lambda done, _all: bar.update(task, completed=done),
            lambda line: console.print(
                plain(f"gaitgen: {line}"), markup=False, highlight=False, soft_wrap=True
            ),
        )
