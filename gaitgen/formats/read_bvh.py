"""Reads BVH files of any channel set.

Tolerant of tabs, spaces, blank lines, line ends, capitals and scientific notation; strict about everything
that would be guessed otherwise. Each fault is one FileFormatError with file and line.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import no_file
from gaitgen.errors import FileFormatError, RigError
from gaitgen.formats.bvh_file import BvhFile, axis_of, channel_columns
from gaitgen.formats.bvh_tree import fail, number, read_tree, shown
from gaitgen.formats.decimals import LARGEST
from gaitgen.numerics.standard_input import is_standard_input, standard_input

Array = npt.NDArray[np.float64]

LARGEST_FILE_BYTES = 100_000_000
MOST_LINES = 2_000_000
MOST_PLACES = 1_000_000
"""Frames times joints of one clip: a quarter of an hour of 47 joints at 24 frames a second. What looks at all
of it at once then stays below a gigabyte."""
SHORTEST_S, LONGEST_S = 1e-5, 1e3
"""Time from one frame to the next that a clip may have. [s]"""

_BLOCK_NUMBERS = 100_000  # split at once; bounds the memory
_WORD = re.compile(r"\S+")
_MOTION = re.compile(r"\s*MOTION\s*", re.IGNORECASE)
_FRAMES = re.compile(r"\s*Frames\s*:\s*(\S+)\s*", re.IGNORECASE)
_FRAME_TIME = re.compile(r"\s*Frame\s+Time\s*:\s*(\S+)\s*", re.IGNORECASE)


def read_bvh_bytes(path: Path, kind: str = "rig") -> bytes:
    """Read the bytes of a BVH, called a ``kind`` where it cannot be read; ``-`` is the standard input.

    Raises
    ------
    RigError
        If there is no such file, or it cannot be read or is too large.
    """
    if is_standard_input(path):
        return standard_input()
    try:
        if not path.is_file():
            raise RigError(f"{path} {no_file(path)}; give the path of a {kind} (.bvh)")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            part = "a rig with one frame" if kind == "rig" else f"a part of the {kind}"
            raise RigError(f"{path} has more than {LARGEST_FILE_BYTES // 10**6} MB; give {part}")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise RigError(f"{str(path)!r} cannot be read ({reason}); give a {kind} that can") from None


def _lines(data: bytes, where: str) -> list[str]:
    """Split a file into lines."""
    if len(data) > LARGEST_FILE_BYTES:
        size_mb, most_mb = len(data) / 1e6, LARGEST_FILE_BYTES / 1e6
        message = (
            f"{where}, line 1: the file has {size_mb:.0f} MB; split it into parts below {most_mb:.0f} MB"
        )
        raise FileFormatError(message)
    if data.count(b"\n") + data.count(b"\r") > MOST_LINES:
        fail(
            where,
            MOST_LINES,
            f"the file goes on after {MOST_LINES} lines; take out the blank ones, or split it",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        fail(where, line, f"byte {data[fault.start]:#04x} is not text; save the file as plain ASCII or UTF-8")
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _filled(lines: list[str], start: int) -> list[int]:
    """Find the lines that are not blank, from a line (counted from 0) on."""
    return [i for i in range(start, len(lines)) if lines[i] and not lines[i].isspace()]


def _field(
    pattern: re.Pattern[str], lines: list[str], filled: list[int], where: str, form: str
) -> tuple[str, int]:
    """Match the first filled line, such as ``Frames: 33``; return the value and its line from 1."""
    if not filled:
        fail(where, len(lines), f"the file ends before {form!r}; it is cut short, so write it again")
    match = pattern.fullmatch(lines[filled[0]])
    if match is None:
        fail(where, filled[0] + 1, f"found {shown(lines[filled[0]].strip())}; write {form!r} there")
    return match[1], filled[0] + 1


def _block(lines: list[str], numbers: list[int], names: list[str], where: str) -> Array:
    """Read some rows of numbers."""
    width = len(names)
    words = [lines[i].split(maxsplit=width) for i in numbers]
    for i, row in zip(numbers, words, strict=True):
        if len(row) != width:
            count = len(row) if len(row) < width else sum(1 for _ in _WORD.finditer(lines[i]))
            fail(
                where, i + 1, f"the row has {count} numbers; the joints above need {width}, so write it again"
            )
    try:
        block = np.array([[float(word) for word in row] for row in words])
        usable = bool(np.all(np.abs(block) < LARGEST)) and not any("_" in lines[i] for i in numbers)
    except ValueError:
        usable = False
    if usable:
        return block
    return np.array(  # some number is at fault: find it, slowly
        [
            [number(word, where, i + 1, name) for word, name in zip(row, names, strict=True)]
            for i, row in zip(numbers, words, strict=True)
        ]
    )


def _rows(lines: list[str], filled: list[int], frames: int, names: list[str], where: str) -> Array:
    """Read exactly the promised number of rows, (frames, channels)."""
    if len(filled) != frames:
        line = filled[frames] + 1 if len(filled) > frames else len(lines)
        fail(where, line, f"the file has {len(filled)} rows, but says Frames: {frames}; make them agree")
    step = max(1, _BLOCK_NUMBERS // len(names))
    blocks = [_block(lines, filled[at : at + step], names, where) for at in range(0, frames, step)]
    return np.concatenate([np.empty((0, len(names))), *blocks])


def _frame_count(word: str, where: str, line: int) -> int:
    """Read the number of frames."""
    if not (word.isascii() and word.isdigit() and len(word) <= len(str(LARGEST_FILE_BYTES))):
        fail(where, line, f"Frames is {shown(word)}; write the number of rows as a whole number")
    return int(word)


def _refuse_too_many(frames: int, joints: int, where: str, line: int) -> None:
    """Refuse more than can be looked at at once."""
    most = MOST_PLACES // joints
    if frames > most:
        fail(
            where,
            line,
            f"the file has {frames} frames of {joints} joints; give a part, at most {most} frames",
        )


def read_bvh(data: bytes, where: str) -> BvhFile:
    """Read a BVH file.

    Parameters
    ----------
    data
        The whole file.
    where
        Its name, for messages.

    Returns
    -------
    BvhFile
        Everything in it, unchanged.

    Raises
    ------
    FileFormatError
        If the file is cut short, badly nested, inconsistent, too large (LARGEST_FILE_BYTES, MOST_PLACES), or
        holds a number that is not finite; one line with file, line and what to do.
    """
    lines = _lines(data, where)
    motion = next((i for i, line in enumerate(lines) if _MOTION.fullmatch(line)), len(lines))
    joints = read_tree(lines[:motion], where)
    names = [f"{joint.name}.{word}" for joint in joints for word in joint.channels or ()]
    if motion == len(lines):
        fail(
            where, len(lines), "there is no MOTION after the joints; the file is cut short, so write it again"
        )
    if not names:
        fail(where, joints[0].line, "no joint has a channel; give the ROOT its CHANNELS")
    filled = _filled(lines, motion + 1)
    count, line = _field(_FRAMES, lines, filled, where, "Frames: <number of rows>")
    frames = _frame_count(count, where, line)
    if len(filled) - 2 == frames:  # else what it says is not even true
        _refuse_too_many(frames, len(joints), where, line)
    step, line = _field(_FRAME_TIME, lines, filled[1:], where, "Frame Time: <seconds>")
    frame_time_s = number(step, where, line, "Frame Time")
    if not SHORTEST_S <= frame_time_s <= LONGEST_S:
        span = f"from {SHORTEST_S:g} to {LONGEST_S:g}"
        fail(
            where, line, f"Frame Time is {shown(step)}; write the seconds from one frame to the next, {span}"
        )
    ends = [(i, tip) for i, joint in enumerate(joints) for tip in joint.end_sites]
    file = BvhFile(
        joint_names=tuple(joint.name for joint in joints),
        parents=np.array([joint.parent for joint in joints], dtype=np.int64),
        offsets=np.array([joint.offset for joint in joints], dtype=np.float64),
        end_joints=np.array([i for i, _ in ends], dtype=np.int64),
        end_offsets=np.array([tip for _, tip in ends], dtype=np.float64).reshape(-1, 3),
        channels=tuple(joint.channels or () for joint in joints),
        frame_time_s=frame_time_s,
        rows=_rows(lines, filled[2:], frames, names, where),
    )
    return replace(file, adds_positions=_adds_positions(file))


def _adds_positions(file: BvhFile) -> bool:
    """Tell how positions under the root are meant: where frame 1 is nearer to nothing than to the OFFSETs."""
    as_place = as_change = 0.0
    for joint, columns in list(enumerate(channel_columns(file, "position")))[1:]:
        for column in columns if len(file.rows) else ():
            value = float(file.rows[0, column])
            as_place += abs(value - float(file.offsets[joint, axis_of(file, column)]))
            as_change += abs(value)
    return as_change < as_place
