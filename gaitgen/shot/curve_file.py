"""Paths from a table of points (CSV, RFC 4180): x and y in metres, or the path that a shot wrote."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import no_file
from gaitgen.errors import FileFormatError
from gaitgen.formats.axes import FileSpace

Array = npt.NDArray[np.float64]

LARGEST_FILE_BYTES, MOST_M = 20_000_000, 10_000.0
POINTS = ("x", "y")
WRITTEN = ("path.Xposition", "path.Yposition", "path.Zposition")


def read_curve(path: Path, space: FileSpace | None = None) -> Array:
    """Read the points of a path, (points, 2): x forward, y to the left. [m]

    Parameters
    ----------
    path
        A table with the columns ``x, y`` in metres, or ``NAME.path.csv``.
    space
        Unit and axes of the latter; those of files if not given.

    Raises
    ------
    FileFormatError
        If it cannot be read, with the line.
    """
    try:
        if not path.is_file():
            raise FileFormatError(f"{path} {no_file(path)}; give the path of a table of points (.csv)")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise FileFormatError(f"{path} has more than {LARGEST_FILE_BYTES // 10**6} MB; give fewer points")
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise FileFormatError(f"{str(path)!r} cannot be read ({reason}); give a table of points") from None
    rows = _rows(path, text)
    names = [cell.strip() for cell in rows[0]] if rows else []
    wanted = next((kind for kind in (POINTS, WRITTEN) if set(kind) <= set(names)), None)
    if wanted is None:
        raise FileFormatError(
            f"{path}, line 1, has no columns x and y; write x,y in its first line, and a point in metres in "
            "each other"
        )
    columns = [names.index(name) for name in wanted]
    values = np.array([_numbers(path, k, row, columns) for k, row in enumerate(rows[1:], 2) if row])
    if wanted == WRITTEN:
        values = _in_metres(values, space or FileSpace())
    lines = [k for k, row in enumerate(rows[1:], 2) if row]
    line = next((k for k, row in zip(lines, values, strict=True) if np.abs(row).max() > MOST_M), 0)
    if line:
        raise FileFormatError(
            f"{path}, line {line}, is farther than {MOST_M:g} m; give a point that is nearer"
        )
    if len(values) < 2:
        raise FileFormatError(
            f"{path} ends in line {len(rows)}; write two points or more under the names x,y"
        )
    return values[:, :2]


def _rows(path: Path, text: str) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        return list(reader)
    except csv.Error as fault:
        raise FileFormatError(
            f"{path}, line {reader.line_num}, is no row of a table ({fault}); write a point such as 1.5,0.2"
        ) from None


def _numbers(path: Path, line: int, row: list[str], columns: list[int]) -> list[float]:
    try:
        numbers = [float(row[k]) for k in columns]
    except (IndexError, ValueError):
        numbers = [math.nan]
    if not all(math.isfinite(number) for number in numbers):
        raise FileFormatError(f"{path}, line {line}, has no two numbers; write a point such as 1.5,0.2")
    return numbers


def _in_metres(values: Array, space: FileSpace) -> Array:
    axes = space.positions_to_file(np.eye(3))
    return np.asarray(values @ np.linalg.inv(axes))
