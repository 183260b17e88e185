"""Reads tables of keys, as written or edited since: comma-separated values, RFC 4180.

Each fault is one FileFormatError with file and line.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import FileFormatError
from gaitgen.formats.bvh_tree import fail, shown
from gaitgen.formats.cells import from_cell
from gaitgen.formats.decimals import LARGEST

Array = npt.NDArray[np.float64]

NUMBERS = ("frame", "value", "tangent_in", "tangent_out")
NEEDED = ("channel", *NUMBERS)
LONGEST_FRAMES = 1_000_000
LARGEST_BYTES = 200_000_000


@dataclass(frozen=True, eq=False)
class Curve:
    """The keys of one channel in order of frame; cubic Hermite pieces between them.

    Attributes
    ----------
    frame
        (keys,) from 1; may lie between whole frames.
    value, tangent_in, tangent_out
        (keys,) in the unit of the channel, and in that unit per frame before and after the key.
    """

    frame: Array
    value: Array
    tangent_in: Array
    tangent_out: Array

    def at(self, frame: Array) -> Array:
        """Evaluate the curve; before its first key and after its last it holds their values."""
        if self.frame.size == 1:
            return np.full(frame.shape, self.value[0])
        inside = np.clip(frame, self.frame[0], self.frame[-1])
        k = np.clip(np.searchsorted(self.frame, inside, side="right") - 1, 0, self.frame.size - 2)
        length = self.frame[k + 1] - self.frame[k]
        t = (inside - self.frame[k]) / length
        rise = t * t * (3.0 - 2.0 * t)
        bend = t * (1.0 - t) * length
        slopes = bend * ((1.0 - t) * self.tangent_out[k] - t * self.tangent_in[k + 1])
        return np.asarray(self.value[k] + rise * (self.value[k + 1] - self.value[k]) + slopes)


def read_keys(data: bytes, where: str) -> dict[str, Curve]:
    """Read a table of keys.

    Columns may stand in any order, and others beside them; rows too, and a byte order mark at the start.

    Parameters
    ----------
    data
        The whole file.
    where
        Its name, for messages.

    Returns
    -------
    Name of each channel, in the order in which they appear, to its curve.

    Raises
    ------
    FileFormatError
        If it is no such table, a number is none, or a channel has two keys in one frame.
    """
    if len(data) > LARGEST_BYTES:
        fail(
            where,
            1,
            f"the file has {len(data) // 10**6} MB; give keys of at most {LARGEST_BYTES // 10**6} MB",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        fail(where, line, f"byte {data[fault.start]:#04x} is not text; save the table as UTF-8")
    rows: dict[str, list[tuple[float, float, float, float, int]]] = {}
    for line, channel, numbers in _rows(text, where):
        rows.setdefault(channel, []).append((*numbers, line))
    if not rows:
        fail(where, 2, "there is no key; give at least one row under the names of the columns")
    return {channel: _curve(channel, own, where) for channel, own in rows.items()}


def _rows(text: str, where: str) -> Iterator[tuple[int, str, tuple[float, float, float, float]]]:
    """Yield line, channel and numbers of each row."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        head = [word.strip() for word in next(reader, [])]
        missing = [word for word in NEEDED if word not in head]
        if missing:
            _other_separator(head, where)
            fail(where, 1, f"the first line lacks {', '.join(missing)}; write {','.join(NEEDED)},pose there")
        twice = [word for word in NEEDED if head.count(word) > 1]
        if twice:
            fail(where, 1, f"the first line has {twice[0]} twice; keep one column of that name")
        place = {word: head.index(word) for word in NEEDED}
        for row in reader:
            if not any(word.strip() for word in row):
                continue
            if len(row) < 1 + max(place.values()):
                fail(where, reader.line_num, f"the row has {len(row)} columns; give {', '.join(NEEDED)}")
            channel = from_cell(row[place["channel"]].strip())
            if not channel:
                fail(where, reader.line_num, "the row names no channel; write one such as pelvis.Xposition")
            yield reader.line_num, channel, _numbers(row, place, where, reader.line_num)
    except csv.Error as fault:
        fail(where, reader.line_num, f"the row is no row of comma-separated values ({fault})")


def _other_separator(head: Sequence[str], where: str) -> None:
    """Say so where the words of the first line are there, but not with commas between them."""
    for separator, name in ((";", "semicolons"), ("\t", "tabs")):
        words = [word.strip(' "') for part in head for word in part.split(separator)]
        if len(words) > len(head) and set(NEEDED) <= set(words):
            fail(
                where,
                1,
                f"the columns are separated by {name}; save the table with commas between them and a point "
                "in numbers",
            )


def _numbers(
    row: Sequence[str], place: dict[str, int], where: str, line: int
) -> tuple[float, float, float, float]:
    found = []
    for word in NUMBERS:
        text = row[place[word]].strip()
        try:
            number = float(text) if "_" not in text else math.nan
        except ValueError:
            number = math.nan
        if not abs(number) < LARGEST:
            fail(where, line, f"{word} is {shown(text)}; write a finite number below {LARGEST:.0e}")
        found.append(number)
    if not 1.0 <= found[0] <= LONGEST_FRAMES:
        fail(where, line, f"frame is {found[0]:g}; frames count from 1 to {LONGEST_FRAMES}")
    return found[0], found[1], found[2], found[3]


def _curve(channel: str, rows: list[tuple[float, float, float, float, int]], where: str) -> Curve:
    rows = sorted(rows, key=lambda row: row[0])
    table = np.array([row[:4] for row in rows])
    same = np.flatnonzero(np.diff(table[:, 0]) < 1e-6)
    if same.size:
        k = int(same[0])
        line = max(rows[k][4], rows[k + 1][4])
        fail(where, line, f"{shown(channel)} has two keys in frame {table[k, 0]:g}; keep one")
    return Curve(*(np.ascontiguousarray(column) for column in table.T))


def length_frames(curves: dict[str, Curve], where: str) -> int:
    """Return the frame of the last key of all, which is the length of the clip.

    Raises
    ------
    FileFormatError
        If it is less than two frames.
    """
    last = math.floor(max(float(curve.frame[-1]) for curve in curves.values()) + 1e-6)
    if last < 2:
        message = f"{where}: the last key is in frame {last}; give keys over two frames or more"
        raise FileFormatError(message)
    return last
