"""The words of a rig's map: choices, lists of names, and joints that are each named once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from gaitgen.animal.toml_table import Table, nearest
from gaitgen.formats.bvh_file import BvhFile


def choice(table: Table, key: str, choices: tuple[str, ...]) -> str:
    """Return one of some words."""
    value = table.text(key)
    if value not in choices:
        raise table.fail(f"{key} is {value!r}{nearest(value, choices)}; use one of {', '.join(choices)}")
    return value


def strings(table: Table, key: str) -> tuple[str, ...]:
    """Return a list of names."""
    value = table.take(key, hint='["...", "..."]')
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise table.fail(
            f"{key} is not a list of names; write [{key[0]}1, ...] with each name in quotation marks"
        )
    return tuple(value)


class MapNames:
    """The joints of a rig, each to be named once."""

    def __init__(self, file: BvhFile) -> None:
        self.names = file.joint_names
        self.index = {name: row for row, name in enumerate(file.joint_names)}
        self.parents = file.parents
        self.taken: dict[str, str] = {}

    def one(self, table: Table, key: str, *, again: bool = False) -> str | None:
        """Return a joint, or None if the key is not there; ``again`` if it may be named elsewhere too."""
        if not table.has(key):
            return None
        if again and (name := table.text(key)) in self.index:
            return name
        return self._known(table, key, table.text(key))

    def line(self, table: Table, key: str, *, either_way: bool = False) -> tuple[str, ...]:
        """Return joints of which each hangs on the one before, directly or not (or the other way round)."""
        found = tuple(self._known(table, key, name) for name in strings(table, key))
        if key == "joints" and not found:
            raise table.fail("joints is []; name the joints of the limb from the top down")
        for above, below in pairwise(found):
            if not (self.hangs(below, above) or (either_way and self.hangs(above, below))):
                raise table.fail(
                    f"{key} has {below!r} after {above!r}, but it does not hang on it; correct it"
                )
        return found

    def hangs(self, name: str, above: str) -> bool:
        """Tell whether a joint hangs on another, directly or not."""
        return above in self._line(name)

    def _line(self, name: str) -> Iterator[str]:
        row = int(self.parents[self.index[name]])
        while row >= 0:
            yield self.names[row]
            row = int(self.parents[row])

    def _known(self, table: Table, key: str, name: str) -> str:
        if name not in self.index:
            raise table.fail(
                f"{key} has {name!r}, which is no joint of the rig{nearest(name, self.index)}; correct it"
            )
        if name in self.taken:
            raise table.fail(f"{key} has {name!r}, which is in {self.taken[name]} too; name it once")
        self.taken[name] = f"[{table.name}] {key}"
        return name
