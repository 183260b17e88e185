"""The text of a TOML file, decoded; where it is none, or would be read for hours, its line is told."""

from __future__ import annotations

import re
import tomllib

from gaitgen.errors import AnimalError

LARGEST_FILE_BYTES = 1_000_000
MOST_DIGITS = 4300  # as many as Python reads and prints
TOO_DEEP = "too many brackets, or parts of a name, inside each other"
_LONG_NAME = re.compile(r"(?<![\w\"'-])(?:[\w\"'-]++\s*+\.\s*+){100}")
_COMMA = re.compile(r"=\s*[+-]?\d+,\d+\s*(#.*)?$")  # a decimal comma
_HUGE = re.compile(rf"(\d_?){{{MOST_DIGITS + 1}}}")


def decoded(data: bytes, where: str) -> dict[str, object]:
    """Decode one TOML document into dictionaries and lists.

    Raises
    ------
    AnimalError
        If the bytes are too many, not UTF-8, or not TOML.
    """
    if len(data) > LARGEST_FILE_BYTES:
        raise AnimalError(f"{where} has {len(data)} bytes; give at most {LARGEST_FILE_BYTES}")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise AnimalError(
            f"{where} is not UTF-8 text (byte {error.start + 1}); save it as a UTF-8 TOML file"
        ) from None
    if long := _LONG_NAME.search(text):  # it would be read for hours
        line = text.count("\n", 0, long.start()) + 1
        raise AnimalError(f"{where} is not TOML ({TOO_DEEP}, in line {line}); mend it there")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise AnimalError(f"{where} is not TOML ({_reason(text, error)}); mend it there") from None


def _reason(text: str, error: ValueError | RecursionError) -> str:
    """Say in a few words why a text is no TOML, and where."""
    lines = text.split("\n")
    if isinstance(error, RecursionError):
        return f"{TOO_DEEP}, in line {_deepest(lines)}"
    huge = next((k for k, line in enumerate(lines, 1) if _HUGE.search(line)), 0)
    if huge and not isinstance(error, tomllib.TOMLDecodeError):
        return f"a number of more than {MOST_DIGITS} digits, in line {huge}"
    comma = next((k for k, line in enumerate(lines, 1) if _COMMA.search(line)), 0)
    if comma and f"line {comma}," in str(error):
        return f"a comma in a number, in line {comma}: the decimal sign is a point"
    return " ".join(str(error).split())[:120]


def _deepest(lines: list[str]) -> int:
    """Find the line that opens the most brackets, or has the most parts of a name; from 1."""
    marks = [sum(map(line.count, "[{.")) for line in lines]
    return 1 + marks.index(max(marks))
