"""Numbers as text: six decimals, the same bytes on every machine, no minus zero.

A whole table is printed at once: a number is a row of words of four bytes, three digits and one more
character each, taken from tables of a thousand words; what is not wanted (signs, leading zeros) is
dropped at the end.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.errors import FileFormatError

Array = npt.NDArray[np.float64]
Words = npt.NDArray[np.uint32]

LARGEST = 1e9
"""Numbers of this size and above are refused: no length or angle of an animal is that large."""

_REFUSED = LARGEST - 5e-7  # would be rounded to it
_BLOCK_NUMBERS = 16_384  # printed at once: what stays in the cache, measured


def _words(form: str) -> Words:
    """Make the word of every number from 0 to 999."""
    return np.frombuffer("".join(form.format(i) for i in range(1000)).encode(), np.uint32)


_SIGN_WORDS, _POINT_WORDS = _words("-{:03d}"), _words(".{:03d}")
_LAST_WORDS = {b" ": _words("{:03d} "), b",": _words("{:03d},")}
# Which bytes of a word are kept: all; only digits; only the digits that a number has; its last; its sign.
_ALL, _DIGITS, _LAST_DIGIT, _SIGN = np.frombuffer(b"\1\1\1\1\0\1\1\1\0\0\0\1\1\0\0\0", np.uint32)
_OWN_DIGITS = np.frombuffer(b"".join(bytes([0, i > 99, i > 9, i > 0]) for i in range(1000)), np.uint32)


def _refuse_unusable(table: Array, names: Sequence[str], first_frame: int) -> None:
    """Raise for the first number that is not finite or far too large."""
    bad = ~(np.abs(table) < _REFUSED)
    if bad.any():
        row, column = (int(i) for i in np.argwhere(bad)[0])
        message = (
            f"{names[column]} is {float(table[row, column])!r} at frame {row + first_frame}; "
            f"only finite numbers below {LARGEST:.0e} can be written, so check the motion of that channel"
        )
        raise FileFormatError(message)


def _block(table: Array, separator: bytes) -> bytes:
    """Print some rows of a checked table."""
    scaled = np.rint(table * 1e6)  # (rows, columns)
    size = np.abs(scaled)
    largest = float(size.max())
    whole = 1 if largest < 1e9 else 2 if largest < 1e12 else 3  # words before the point
    left: npt.NDArray[np.integer] = size.astype(np.int32 if whole == 1 else np.int64)  # the first is faster
    text = np.empty((*table.shape, whole + 2), np.uint32)
    keep = np.full(text.shape, _ALL)
    for word in range(whole + 1, -1, -1):  # from the last three digits
        above = left // 1000
        letters = _SIGN_WORDS if word < whole else _POINT_WORDS if word == whole else _LAST_WORDS[separator]
        digits = left - 1000 * above
        text[..., word] = letters[digits]
        if word < whole:
            keep[..., word] = np.where(above > 0, _DIGITS, _OWN_DIGITS[digits])
        left = above
    keep[..., whole - 1] |= _LAST_DIGIT
    keep[..., 0] |= np.where(scaled < 0, _SIGN, np.uint32(0))
    letter = text.view(np.uint8)
    letter[:, -1, -1] = ord("\n")
    return letter[keep.view(np.bool_)].tobytes()


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


def triple_texts(values: Array, names: Sequence[str]) -> list[str]:
    """Print rows of three numbers, such as offsets, with single spaces between them.

    Parameters
    ----------
    values
        (rows, 3).
    names
        What each row is, for the message.

    Raises
    ------
    FileFormatError
        If a number is not finite or not below LARGEST.
    """
    bad = np.flatnonzero(~np.all(np.abs(values) < _REFUSED, axis=1))
    if bad.size:
        row = int(bad[0])
        raise FileFormatError(
            f"{names[row]} is {values[row].tolist()}; give three finite numbers below {LARGEST:.0e}"
        )
    return table_text(values, "xyz").decode("ascii").splitlines()
