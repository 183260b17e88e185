"""The table of a run: one row a variant, kept beside its files."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from gaitgen.formats.write import write_files

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


def digest(data: bytes) -> str:
    """Name some bytes by their contents: 16 hexadecimal digits of SHA-256."""
    return hashlib.sha256(data).hexdigest()[:16]


def rows_there(folder: Path) -> dict[str, Row]:
    """Read the table of an earlier run; an unreadable one counts as none."""
    try:
        text = (folder / TABLE).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return {}
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != COLUMNS:
        return {}
    return {row["name"]: row for row in reader if None not in row and None not in row.values()}


def is_there(row: Row | None, request_id: str, folder: Path) -> bool:
    """Tell whether a variant was made from the same request and all its files are as they were written."""
    if row is None or row["request"] != request_id or not row["files"]:
        return False
    for entry in row["files"].split(" "):
        name, _, written = entry.rpartition(":")
        try:
            if digest((folder / name).read_bytes()) != written:
                return False
        except OSError:
            return False
    return True


def write_table(rows: dict[str, Row], folder: Path) -> None:
    """Write the table, rows by animal, gait, style and length."""
    buffer = io.StringIO(newline="")
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(sorted(rows.values(), key=_order))
    write_files({folder / TABLE: buffer.getvalue().encode()})


def _order(row: Mapping[str, str]) -> tuple[str, str, str, int, str]:
    length = int(row["frames"]) if row["frames"].isdigit() else 0
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
    return "\n".join(lines) + "\n"
