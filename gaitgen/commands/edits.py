"""`gaitgen bake` and `gaitgen carry`: what was changed by hand, back into files and on to other clips."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gaitgen.commands.delivery import Force
from gaitgen.commands.options import command
from gaitgen.option import Option


@command
def bake(
    *,
    keys: Annotated[
        Path, Option("The keys of a clip, NAME.keys.csv, as written or edited since", is_positional=True)
    ],
    bvh: Annotated[
        Path | None,
        Option("BVH that says the joints and the frame rate", "NAME.bvh beside the keys if not given"),
    ] = None,
    out: Annotated[
        Path | None,
        Option("Folder for the files, made if it is missing", "the folder of the keys if not given"),
    ] = None,
    name: Annotated[
        str | None, Option("Name of the files without suffix", "that of the keys if not given")
    ] = None,
    force: Force = False,
) -> None:
    """Make NAME.bvh and NAME.channels.csv from edited keys, by cubic Hermite splines through them.

    A key has a value in the unit of its channel and a tangent before and after it in that unit per frame; its
    frame counts from 1 and may lie between whole frames. A channel holds its first key before it and its last
    after it; without a key it stays as in the first frame of the BVH. Where NAME.controls.keys.csv is there
    too, NAME.controls.csv is made from it. The joints come from the BVH, any rig's.
    """
    from gaitgen.edits.bake import bake as baked_from
    from gaitgen.formats.kept import CLIP_ENDS, KEYS, FileSet, write_kept
    from gaitgen.formats.write import plain_stem

    made = baked_from(keys, bvh)
    stem = made.stem if name is None else plain_stem(name)
    sources = tuple(end for end in CLIP_ENDS if end.endswith(".keys.csv"))
    beside = tuple(end for end in CLIP_ENDS if end not in sources)
    folder = keys.parent if out is None else out
    written = write_kept([FileSet(folder, stem, made.files, beside, sources)], maker=KEYS, force=force)
    typer.echo(made.text(), nl=False)
    for notice in written.notices:
        typer.echo(f"  note: {notice.text}")
    for path in written.files:
        typer.echo(f"  wrote {path}")
