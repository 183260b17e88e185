"""Numbers as text: six decimals, the same bytes on every machine, no minus zero.

A whole table is printed at once: the digits of every number come from a table of "000" to "999", laid
out in columns of fixed width, and what is not wanted (signs, leading zeros) is dropped at the end.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.errors import FileFormatError

Array = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

LARGEST = 1e9
"""Numbers of this size and above are refused: no length or angle of an animal is that large."""

_TRIPLES: Bytes = np.frombuffer("".join(f"{i:03d}" for i in range(1000)).encode(), np.uint8).reshape(1000, 3)
_BLOCK_NUMBERS = 16_384  # printed at once: what stays in the cache, measured
_WHOLE_DIGITS = 9
_SIGN, _POINT = 0, 10  # columns of the sign and of the decimal point
_WIDTH = 18  # sign, nine digits, point, six digits, separator


def _refuse_unusable(table: Array, names: Sequence[str], first_frame: int) -> None:
    """Raise for the first number that is not finite or far too large."""
    bad = ~(np.abs(table) < LARGEST)
    if bad.any():
        row, column = (int(i) for i in np.argwhere(bad)[0])
        message = (
            f"{names[column]} is {float(table[row, column])!r} at frame {row + first_frame}; "
            f"only finite numbers below {LARGEST:.0e} can be written, so check the motion of that channel"
        )
        raise FileFormatError(message)


def _block(table: Array, separator: bytes) -> bytes:
    """Print some rows of a checked table."""
    scaled = np.rint(table * 1e6).astype(np.int64)  # (rows, columns)
    size = np.abs(scaled)
    whole = (size // 1_000_000).astype(np.int32)  # 32 bits divide faster
    fraction = (size % 1_000_000).astype(np.int32)
    text = np.empty((*table.shape, _WIDTH), np.uint8)
    text[..., _SIGN] = ord("-")
    text[..., 1:4] = _TRIPLES[whole // 1_000_000]
    text[..., 4:7] = _TRIPLES[whole // 1000 % 1000]
    text[..., 7:10] = _TRIPLES[whole % 1000]
    text[..., _POINT] = ord(".")
    text[..., 11:14] = _TRIPLES[fraction // 1000]
    text[..., 14:17] = _TRIPLES[fraction % 1000]
    text[..., -1] = ord(separator)
    text[:, -1, -1] = ord("\n")
    keep = np.ones(text.shape, np.bool_)
    keep[..., _SIGN] = scaled < 0
    for place in range(1, _WHOLE_DIGITS):  # the ones digit is always kept
        keep[..., _WHOLE_DIGITS - place] = whole >= 10**place
    return text[keep].tobytes()


def table_text(table: Array, names: Sequence[str], separator: bytes = b" ", first_frame: int = 1) -> bytes:
    r"""Print a table with six decimals, one line a row, each ending in ``\n``.

    Parameters
    ----------
    table
        (rows, columns) numbers, at least one column.
    names
        Name of each column, for the message.
    separator
        One byte between numbers.
    first_frame
        Frame of the first row, for the message.

    Returns
    -------
    bytes
        ASCII; what ``%.6f`` prints for every number, except that minus zero is zero.

    Raises
    ------
    FileFormatError
        If a number is not finite or not below LARGEST; names its column and frame.
    """
    _refuse_unusable(table, names, first_frame)
    rows = max(1, _BLOCK_NUMBERS // table.shape[1])
    starts = range(0, table.shape[0], rows)
    return b"".join(_block(table[start : start + rows], separator) for start in starts)


def triple_text(values: Array, name: str) -> str:
    """Print three numbers with single spaces between them, such as an offset.

    Raises
    ------
    FileFormatError
        If a number is not finite or not below LARGEST.
    """
    if not np.all(np.abs(values) < LARGEST):
        raise FileFormatError(
            f"{name} is {np.asarray(values).tolist()}; give three finite numbers below {LARGEST:.0e}"
        )
    return " ".join(f"{value:.6f}" for value in np.round(values, 6) + 0.0)
