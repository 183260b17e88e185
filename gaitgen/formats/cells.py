"""Words as cells of a table: quoted after RFC 4180 where they have to be, and never a formula.

Spreadsheets work out a cell that begins with one of ``= + - @``. Names of joints and files may be anybody's,
so such a one gets an apostrophe before it, by which spreadsheets know words.
"""

from __future__ import annotations

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_QUOTED = frozenset(',"\r\n')


def no_formula(words: str) -> str:
    """Put an apostrophe before words that a spreadsheet would work out."""
    return f"'{words}" if words.startswith(_FORMULA) else words


def from_cell(words: str) -> str:
    """Return words as they were before such an apostrophe."""
    return words[1:] if words.startswith("'") and words[1:].startswith(_FORMULA) else words


def cell(words: str) -> str:
    """Return words as one cell."""
    safe = no_formula(words)
    return '"' + safe.replace('"', '""') + '"' if _QUOTED.intersection(safe) else safe
