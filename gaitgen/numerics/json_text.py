"""Values as JSON after RFC 8259, which has no word for a number that is not finite: it becomes null."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping


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


def _finite(value: object) -> object:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(item) for key, item in value.items()}
    return [_finite(item) for item in value] if isinstance(value, list | tuple) else value
