"""Make many cycles or shots: what is missing, here or on a cluster, with one table."""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from gaitgen.batch.aside import aside_line, replaced_line
from gaitgen.batch.cluster import make_there
from gaitgen.batch.folder import only_run
from gaitgen.batch.identity import fingerprints
from gaitgen.batch.job import NotMade, jobs
from gaitgen.batch.plan import Variant
from gaitgen.batch.pool import make_here
from gaitgen.batch.table import TABLE, Row, add_row, files_of, is_there, read_table, set_aside, write_table
from gaitgen.errors import OutputError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.write import shown
from gaitgen.gait.request import Request
from gaitgen.rigs.cycle import refuse_what_is_the_rigs

FEWEST_GATHERED = 3  # so many that are not made for one reason are told in a line
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


@dataclass(frozen=True)
class Outcome:
    """What a run did.

    Attributes
    ----------
    rows
        One row a variant, in the order of the plan.
    made, kept
        How many were written, and how many were there already.
    not_made
        Names of those that cannot be made.
    """

    rows: tuple[Row, ...]
    made: int
    kept: int
    not_made: tuple[str, ...] = ()


def run_variants(
    plan: Sequence[Variant],
    space: FileSpace,
    wanted: HandOff,
    folder: Path,
    *,
    workers: int | None = None,
    cluster: str | None = None,
    force: bool = False,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
    say: Callable[[str], None] = lambda _line: None,
) -> Outcome:
    """Make what is not there yet, in parallel; the table gets one more row after each.

    An interrupted run leaves whole files and their rows, so that the next one goes on from there. One that
    cannot be made does not keep the others back: it has a row without files, and the reason is said.

    Parameters
    ----------
    plan, space, wanted, folder
        What to make, and how and where to write it.
    workers
        Processes; the number of cores by default.
    cluster
        Address of a dask scheduler whose workers make them, in place of processes here.
    force
        Make again what is there already, and replace what was changed by hand.
    tell
        Called with how many are done, and of how many.
    say
        Called with one line about something that is amiss and does not stop the run.

    Raises
    ------
    GaitgenError
        If none can be made, or the folder cannot be used; what was made before it is kept.
    """
    for variant in plan:
        if variant.rig is not None and isinstance(variant.request, Request):
            refuse_what_is_the_rigs(variant.rig.where, variant.request, space)
    ids = fingerprints(plan, space, wanted)
    with only_run(folder, say):
        rows = _rows_there(folder, say)
        kept = {v.name for v in plan if not force and is_there(rows.get(v.name), ids[v.name], folder)}
        missing = [variant for variant in plan if variant.name not in kept]
        before, failed = {} if force else dict(rows), list[NotMade]()
        waiting = jobs(missing, space, wanted, ids, force=force)
        tell(len(kept), len(plan))
        results = (
            make_here(waiting, folder, workers)
            if cluster is None or not waiting
            else make_there(waiting, folder, cluster, say)
        )
        with _table_kept(rows, [variant.name for variant in plan], folder) as add, closing(results):
            for done, row in enumerate(results, len(kept) + 1):
                if isinstance(row, NotMade):
                    failed.append(row)
                else:
                    add(row)
                    line = aside_line(row, folder) or replaced_line(before, row, folder)
                    if line is not None:
                        say(line)
                tell(done, len(plan))
            if failed and len(failed) == len(plan):
                raise failed[0].why
            order = [variant.name for variant in plan]
            failed.sort(key=lambda each: order.index(each.row["name"]))
            for line in not_made_lines(failed):
                say(line)
            for each in failed:
                if not files_of(rows.get(each.row["name"], each.row)):  # else those are there still
                    add(each.row)
    told = rows | {each.row["name"]: each.row for each in failed}
    return Outcome(
        tuple(told[variant.name] for variant in plan),
        made=len(waiting) - len(failed),
        kept=len(kept),
        not_made=tuple(each.row["name"] for each in failed),
    )


def _rows_there(folder: Path, say: Callable[[str], None]) -> dict[str, Row]:
    """Read the table of an earlier run; a damaged one is put aside, not lost."""
    rows, damage = read_table(folder)
    if damage:
        old = set_aside(folder)
        say(f"{shown(folder / TABLE)} {damage}; it is kept as {old}, and what it does not tell is made again")
    return rows


def not_made_lines(failed: Sequence[NotMade]) -> list[str]:
    """Say what is not made and why.

    Lengths that are not for one reason, but for its numbers, are one line; so are shots for one and the same.
    """
    alike: dict[tuple[str, str], list[NotMade]] = {}
    for each in failed:
        name, why = each.row["name"], str(each.why)
        is_length = each.row["frames"] != ""
        key = (_NUMBER.sub("#", name), _NUMBER.sub("#", why)) if is_length else ("", why)
        alike.setdefault(key, []).append(each)
    return [line for group in alike.values() for line in _group_lines(group)]


def _group_lines(group: Sequence[NotMade]) -> list[str]:
    if len(group) < FEWEST_GATHERED:
        return [f"{each.row['name']} is not made: {each.why}" for each in group]
    first, last = group[0].row["name"], group[-1].row["name"]
    what = "lengths" if group[0].row["frames"] else "shots"
    return [f"{first} to {last}, {len(group)} of these {what}, are not made; of the first: {group[0].why}"]


@contextmanager
def _table_kept(
    rows: dict[str, Row], order: Sequence[str], folder: Path
) -> Generator[Callable[[Row], None], None, None]:
    """Give the function that adds a row; write the table in the order of the plan when the rows end.

    Something that stops the run leaves the table in that order too, as far as it has come.
    """
    added = False

    def add(row: Row) -> None:
        nonlocal added
        if not added:  # it may be missing, or end in half a row
            write_table(rows, order, folder)
        added = True
        rows[row["name"]] = row
        add_row(row, folder)

    try:
        yield add
    except BaseException:
        if added:
            with suppress(OutputError):
                write_table(rows, order, folder)
        raise
    write_table(rows, order, folder)
