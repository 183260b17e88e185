"""Values that take the place of those in a shot file, so that one file serves for many shots."""

from __future__ import annotations

import copy
import re
import tomllib
from typing import Any, NamedTuple

from gaitgen.animal.toml_table import Table
from gaitgen.errors import RequestError

MOST_VALUES = 1000
# Keys, and numbers of tables, with points between them, such as passage.2.speed.
_KEY = re.compile(r"[A-Za-z_]\w*(?:\.\w+)*")
# What is between commas, but for those inside quotation marks and brackets.
_PART = re.compile(r"""(?:"[^"]*"|'[^']*'|\[[^\]]*\]|\{[^}]*\}|[^,])+""")


class Change(NamedTuple):
    """A value, and where in a shot file it belongs: its key, with points, such as ``passage.2.speed``."""

    key: str
    value: Any

    @property
    def word(self) -> str:
        """What it is called in the name of a file, not yet in letters that every disk takes."""
        text = f"{self.value:g}" if isinstance(self.value, float) else str(self.value)
        return f"{self.key.replace('.', '_')}_{text}"


Changes = tuple[Change, ...]


def parse_change(text: str) -> Changes:
    """Read a key and its values, such as ``passage.2.speed=3,3.5,4`` or ``passage.1.gait=walk,amble``.

    Raises
    ------
    RequestError
        If there is no key or no value in it.
    """
    key, equals, values = (part.strip() for part in text.partition("="))
    if not equals or not _KEY.fullmatch(key) or not values:
        raise RequestError(
            f"cannot read {text!r}; write a key of the shot file and its values, such as "
            "passage.2.speed=3,3.5,4, where 2 is the second [[passage]]"
        )
    found = _values(values)
    if not 0 < len(found) <= MOST_VALUES:
        raise RequestError(f"{key} has {len(found)} values; give 1 to {MOST_VALUES}")
    return tuple(Change(key, value) for value in found)


def _values(text: str) -> list[Any]:
    """Read values as TOML does; what is none stands for itself, as a word without quotation marks."""
    try:
        return list(tomllib.loads(f"values = [{text}]")["values"])
    except (ValueError, RecursionError):
        return [_value(part.strip()) for part in _PART.findall(text)]


def _value(text: str) -> Any:  # noqa: ANN401
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text


def changed(top: Table, changes: Changes) -> Table:
    """Put other values into the contents of a shot file.

    Raises
    ------
    RequestError
        If a key leads through something that is not there, or is no table.
    """
    if not changes:
        return top
    content = copy.deepcopy(dict(top.content))
    for change in changes:
        *way, last = change.key.split(".")
        inner: Any = content
        for depth, key in enumerate(way, 1):
            inner = _inside(top, inner, key, ".".join(way[:depth]), change)
        if not isinstance(inner, dict):
            raise _refusal(top, change, f"{'.'.join(way)} is no table with keys")
        inner[last] = change.value
    return Table(top.where, top.name, content)


def _inside(top: Table, outer: Any, key: str, so_far: str, change: Change) -> Any:  # noqa: ANN401
    """Return a table in a table, or one of an array of tables by its number, from 1."""
    if isinstance(outer, list):
        if key.isdecimal() and 1 <= int(key) <= len(outer):
            return outer[int(key) - 1]
        raise _refusal(top, change, f"{so_far} is not there: {so_far.rpartition('.')[0]} has {len(outer)}")
    if isinstance(outer, dict) and key in outer:
        return outer[key]
    raise _refusal(top, change, f"{so_far} is not there")


def _refusal(top: Table, change: Change, what: str) -> RequestError:
    return RequestError(
        f"{top.where}: {change.key} cannot be varied, as {what}; write a key of that file, such as animal or "
        "passage.1.speed, where 1 is its first [[passage]]"
    )
