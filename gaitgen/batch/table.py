"""The table of a run: one row a variant, kept beside its files.

While a run lasts, each row is added at the end of the file; when it ends, the file is written once more, in
the order of the plan.
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from pathlib import Path

from gaitgen.batch.folder import read_plain
from gaitgen.batch.identity import digest
from gaitgen.errors import OutputError
from gaitgen.formats.beside import take_away_left
from gaitgen.formats.record import digests_in
from gaitgen.formats.write import shown, write_files

TABLE = "variants.csv"
COLUMNS = (
    "name",
    "animal",
    "gait",
    "style",
    "frames",
    "fps",
    "speed_m_s",
    "stride_length_m",
    "duty_factor",
    "froude_number",
    "named",
    "hips_rise_mm",
    "chest_rise_mm",
    "trunk_lowered_mm",
    "slip_mm",
    "keys",
    "notices",
    "request",
    "files",
)
Row = dict[str, str]
NOT_MADE = "not_made"  # the note of a variant that cannot be made, and has no files
_TITLES = {
    "name": "name",
    "frames": "frames",
    "speed_m_s": "m/s",
    "duty_factor": "duty",
    "hips_rise_mm": "hips mm",
    "trunk_lowered_mm": "lowered mm",
    "keys": "keys",
    "notices": "notes",
}
# What a word in the column of notes means; the report of a cycle says more.
_NOTES = {
    "belly": "belly, chest or head come under the ground",
    "duty_factor": "feet are down for unusually short or long",
    "frames": "an odd number of frames: left and right steps differ by a frame",
    "lame": "a leg carries less than the other of its pair, as asked",
    "mark": "a mark is missed, or something was changed to meet it",
    "load": "the weight on the rig's fore limbs is not what its shape would give",
    "not_made": "it cannot be made, for the reason said on standard error",
    "names": "some readers stumble over names of joints",
    "passage": "a passage has no whole stride of its own",
    "overlap": "a part that hangs would swing farther than its joints allow, and is held to that",
    "range": "a joint leaves its range",
    "reach": "the stride is shortened, or the trunk lowered, so that the legs reach",
    "rig": "made for a rig of your own",
    "sinks": "a sole, or an edge of it, comes under the ground",
    "snap": "a leg moves on with a jerk",
    "steps": "a joint of a leg leaves its range on steps",
    "slip": "a toe misses its place: the rig does not reach it",
    "speed": "faster or slower than this animal goes at this gait",
    "slow": "a run so slow that the body cannot stay up for as long: it bobs over its feet",
    "turn": "a turn is hard: few animals take it so fast, or legs leave their ranges",
    "style": "only part of the style is applied: a joint, or a leg, allows no more",
}
_MOST_ROWS = 100_000


def read_table(folder: Path) -> tuple[dict[str, Row], str]:
    """Read the table of an earlier run, which may be damaged or not ours at all.

    A last line without an end is what a killed run leaves, and is no damage.

    Returns
    -------
    rows
        Name of the variant to its row; of two rows of one name the later.
    damage
        What is wrong with the table, in a few words; empty if nothing is.
    """
    try:
        lines = _lines(folder)
    except FileNotFoundError:
        return {}, ""
    except OSError as fault:
        return {}, f"cannot be read ({fault.strerror or type(fault).__name__})"
    except (ValueError, csv.Error) as fault:
        return {}, f"is no table of variants ({fault})"
    rows: dict[str, Row] = {}
    damaged = 0
    for values in lines:
        row = dict(zip(COLUMNS, values, strict=False))
        if len(values) == len(COLUMNS) and _is_sound(row):
            rows[row["name"]] = row
        else:
            damaged += 1
    return rows, f"has {damaged} damaged row{'s' * (damaged > 1)}" if damaged else ""


def _lines(folder: Path) -> list[list[str]]:
    """Take the table apart, without its head and without half a line at its end.

    Raises
    ------
    OSError
        If it is not there, or no plain file.
    ValueError, csv.Error
        If it is no such table.
    """
    text = read_plain(folder / TABLE).decode("utf-8")
    head = ",".join(COLUMNS) + "\n"
    if not text.startswith(head):
        raise ValueError("the first line has other columns")
    whole = io.StringIO(text[len(head) : text.rfind("\n") + 1], newline="")
    lines = list(islice(csv.reader(whole), _MOST_ROWS + 1))
    if len(lines) > _MOST_ROWS:
        raise ValueError(f"more than {_MOST_ROWS} rows")
    return lines


def _is_sound(row: Row) -> bool:
    """Tell whether a row names files of its own in this folder, and nothing that disturbs a terminal."""
    files = digests_in(row["files"])
    return (
        all(value.isprintable() for value in row.values())
        and all(name.startswith(f"{row['name']}.") for name, _ in files)
        and bool(files) != (row["notices"] == NOT_MADE)
        and files_text(dict(files)) == row["files"]
    )


def files_text(digests: Mapping[str, str]) -> str:
    """Write the column of files: ``NAME:DIGEST``, one space between two."""
    return " ".join(f"{name}:{digest_}" for name, digest_ in digests.items())


def files_of(row: Row) -> tuple[str, ...]:
    """Return the names of the files of a row."""
    return tuple(name for name, _ in digests_in(row["files"]))


def digests_of(row: Row) -> dict[str, str]:
    """Return the files of a row and the digests of their contents."""
    return dict(digests_in(row["files"]))


def is_there(row: Row | None, request_id: str, folder: Path) -> bool:
    """Tell whether a variant was made from the same request and all its files are as they were written."""
    if row is None or row["request"] != request_id or row["notices"] == NOT_MADE:
        return False
    for name, written in digests_in(row["files"]):
        try:
            if digest(read_plain(folder / name)) != written:
                return False
        except OSError:
            return False
    return True


def set_aside(folder: Path) -> str:
    """Give a damaged table another name, and return that.

    Raises
    ------
    OutputError
        If it cannot be renamed.
    """
    number = 1
    while os.path.lexists(folder / f"{TABLE}.old{number}"):
        number += 1
    name = f"{TABLE}.old{number}"
    try:
        (folder / TABLE).rename(folder / name)
    except OSError as fault:
        where = shown(folder / TABLE)
        raise OutputError(f"cannot rename {where}: {fault.strerror}; take it away yourself") from None
    return name


def table_bytes(rows: Iterable[Row], *, header: bool = True) -> bytes:
    """Encode rows."""
    buffer = io.StringIO(newline="")
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    if header:
        writer.writeheader()
    writer.writerows(rows)
    return buffer.getvalue().encode()


def write_table(rows: Mapping[str, Row], plan: Sequence[str], folder: Path) -> None:
    """Write the table whole: the variants of the plan in its order, then others by animal, style and length.

    A table that is so already is not touched.
    """
    first = {name: rows[name] for name in plan if name in rows}
    others = sorted((row for name, row in rows.items() if name not in first), key=_order)
    data = table_bytes([*first.values(), *others])
    with contextlib.suppress(OSError):
        if read_plain(folder / TABLE) == data:
            take_away_left([folder / TABLE])
            return
    write_files({folder / TABLE: data})


def add_row(row: Row, folder: Path) -> None:
    """Write one more row at the end of the table, in one piece.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    data = table_bytes([row], header=False)
    try:
        with (folder / TABLE).open("ab", buffering=0) as file:
            written = file.write(data)
    except OSError as fault:
        raise _refusal(folder, fault.strerror or type(fault).__name__) from None
    if written != len(data):
        raise _refusal(folder, "no space left")


def _refusal(folder: Path, reason: str) -> OutputError:
    return OutputError(f"cannot write {shown(folder / TABLE)}: {reason}; see to space and rights there")


def _order(row: Mapping[str, str]) -> tuple[str, str, str, int, str]:
    length = int(row["frames"]) if re.fullmatch(r"[0-9]{1,9}", row["frames"]) else 0
    return row["animal"], row["gait"], row["style"], length, row["name"]


def table_text(rows: Sequence[Row]) -> str:
    """Write the table for people."""
    table = [list(_TITLES.values()), *([row[column] for column in _TITLES] for row in rows)]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    words = {0, len(widths) - 1}  # set to the left, numbers to the right
    lines = [
        "  ".join(
            cell.ljust(width) if k in words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in table
    ]
    return "\n".join([*lines, *_notes_explained(rows)]) + "\n"


def _notes_explained(rows: Sequence[Row]) -> list[str]:
    """Say what each word in the column of notes means, if there are any."""
    words = sorted({word for row in rows for word in row["notices"].split()} & set(_NOTES))
    return ["", "notes", *(f"  {word:<12}{_NOTES[word]}" for word in words)] if words else []
