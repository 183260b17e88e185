"""The standard input in place of a file, as ``-``: read once, and kept for whoever reads the file again."""

from __future__ import annotations

import sys
from functools import lru_cache
from pathlib import PurePath
from typing import BinaryIO

from gaitgen.errors import RequestError

STANDARD_INPUT = "-"
MOST_BYTES = 100_000_000  # and one more is read, so that whoever refuses longer files sees it


def is_standard_input(path: PurePath | str) -> bool:
    """Tell whether a path stands for the standard input."""
    return str(path) == STANDARD_INPUT


def refuse_twice(*paths: PurePath | str | None) -> None:
    """Refuse to read two different files from the standard input.

    Raises
    ------
    RequestError
        If it stands for more than one of them.
    """
    if sum(path is not None and is_standard_input(path) for path in paths) > 1:
        raise RequestError("the standard input is one file; give the others as files")


def standard_input() -> bytes:
    """Return all of the standard input, as often as it is asked for; nothing where it is closed."""
    return b"" if sys.stdin is None else _all_of(sys.stdin.buffer)


def is_file_name(word: str) -> bool:
    """Tell whether a word that may be a name from a list is the path of a TOML file instead."""
    return word.endswith(".toml") or "/" in word or word == STANDARD_INPUT


def stem_of(path: PurePath, of_input: str = "clip") -> str:
    """Return the name of a file without its last suffix, or what that of the standard input is to be."""
    return of_input if is_standard_input(path) else path.stem


@lru_cache(maxsize=1)
def _all_of(stream: BinaryIO) -> bytes:
    return stream.read(MOST_BYTES + 1)
