"""Values as JSON after RFC 8259, which has no word for a number that is not finite: it becomes null."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping

DECIMALS = 9  # of a report: nanometres and billionths


def json_text(value: object, *, indent: int | None = None, compact: bool = False) -> str:
    """Write a value as JSON that any reader takes.

    Parameters
    ----------
    value
        Numbers, words, lists and tables of them.
    indent
        Letters to set inner lines in; all on one line if not given.
    compact
        Without blanks after commas and colons.
    """
    separators = (",", ":") if compact else None
    try:
        return json.dumps(value, indent=indent, separators=separators, allow_nan=False)
    except ValueError:
        return json.dumps(_finite(value), indent=indent, separators=separators, allow_nan=False)


def report_text(value: object) -> str:
    """Write a report as JSON: a line for each value, numbers with as many decimals as mean something.

    Beyond them are digits in which one processor differs from another.
    """
    return json_text(_rounded(value), indent=2)


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _rounded(item) for key, item in value.items()}
    return [_rounded(item) for item in value] if isinstance(value, list | tuple) else value


def _finite(value: object) -> object:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(item) for key, item in value.items()}
    return [_finite(item) for item in value] if isinstance(value, list | tuple) else value
