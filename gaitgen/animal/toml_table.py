"""One table of a TOML file, read key by key; each complaint names file, table, key and remedy."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gaitgen.animal.toml_text import LARGEST_FILE_BYTES, MOST_DIGITS, TOO_DEEP, decoded
from gaitgen.errors import AnimalError
from gaitgen.numerics.standard_input import is_standard_input, standard_input

LARGEST_M = 20.0
NAME = r"[A-Za-z][A-Za-z0-9_]{0,39}"
MOST_OFFERED = 3
LONGEST_OFFERED = 100  # letters of a word for which something alike is looked for
LEAST_LIKENESS = 0.6
_MOST_BITS = int(MOST_DIGITS / math.log10(2.0))
_MOST_DEPTH = 20
_HINTS = {
    "_m": "<metres>",
    "_kg": "<kilograms>",
    "_deg": "<degrees>",
    "_hz": "<hertz>",
    "_percent": "<percent of the body mass>",
    "_ratio": "<ratio>",
}


def nearest(word: str, choices: Collection[str]) -> str:
    """Return ``; did you mean 'x'`` for choices that have the word, else for the most similar; or nothing."""
    if len(word) > LONGEST_OFFERED:
        return ""
    for same in (word.lower(), f"{word.lower()}s"):
        if same in choices:
            return f"; did you mean {same!r}"
    having = [choice for choice in sorted(choices) if word and word.lower() in choice.lower().split("_")]
    if having:
        return f"; did you mean {' or '.join(map(repr, having[:MOST_OFFERED]))}"
    whole = {choice: _likeness(word, choice) for choice in sorted(choices)}
    alike = {choice: max(_likeness(word, part) for part in (choice, *choice.split("_"))) for choice in whole}
    best = max(alike.values(), default=0.0)
    if best < LEAST_LIKENESS:
        return ""
    found = [choice for choice, how in alike.items() if how == best]
    found = [choice for choice in found if whole[choice] == best] or found
    return f"; did you mean {' or '.join(map(repr, found[:MOST_OFFERED]))}"


def _likeness(word: str, choice: str) -> float:
    """How alike two words are, 0 to 1."""
    matcher = difflib.SequenceMatcher(None, choice.lower(), word.lower())
    bounds = (matcher.real_quick_ratio, matcher.quick_ratio)  # cheap where names are long
    return matcher.ratio() if all(bound() >= LEAST_LIKENESS for bound in bounds) else 0.0


def no_file(path: Path) -> str:
    """Say what is at a path where no plain file is; whatever it is, it is not opened, which might wait."""
    if path.is_dir():
        return "is a folder, not a file"
    if path.exists():
        return "is a pipe or a device, not a file"
    return "is a link that leads nowhere" if path.is_symlink() else "is not there"


def read_bytes(path: Path, what: str = "skeleton file") -> bytes:
    """Read a regular file of at most a megabyte, ``what`` in messages; ``-`` is the standard input.

    Raises
    ------
    AnimalError
        If there is no such file, it is a folder, cannot be read or is too large.
    """
    if is_standard_input(path):
        return standard_input()
    try:
        if not path.is_file():
            raise AnimalError(f"{path} {no_file(path)}; give the path of a {what} (.toml)")
        size = path.stat().st_size
        if size > LARGEST_FILE_BYTES:
            raise AnimalError(
                f"{path} has {size} bytes; a {what} has at most {LARGEST_FILE_BYTES}, "
                f"so give the path of a {what} (.toml)"
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise AnimalError(f"{str(path)!r} cannot be read ({reason}); give a file that can") from None


def parse(data: bytes, where: str) -> Table:
    """Decode one TOML document.

    Raises
    ------
    AnimalError
        If the bytes are too many, not UTF-8, or not TOML.
    """
    content = decoded(data, where)
    _refuse_monsters(content, where)
    return Table(where, "", content)


def _refuse_monsters(content: object, where: str) -> None:
    """Refuse tables in tables in tables, and whole numbers of thousands of digits, which TOML lets pass."""
    waiting: list[tuple[object, int, tuple[str, ...]]] = [(content, 0, ())]
    while waiting:
        value, depth, keys = waiting.pop()
        if depth > _MOST_DEPTH:
            table, key = (keys[0], ".".join(keys[1:3])) if keys[1:] else ("", keys[0])
            raise Table(where, table, {}).fail(f"{key} has {TOO_DEEP}; take some away")
        if isinstance(value, int) and value.bit_length() > _MOST_BITS:
            message = f"{keys[-1]} has thousands of digits; write a smaller number"
            raise Table(where, ".".join(keys[:-1]), {}).fail(message)
        if isinstance(value, dict):
            waiting += [(each, depth + 1, (*keys, key)) for key, each in value.items()]
        elif isinstance(value, list):
            waiting += [(each, depth + 1, keys) for each in value]


@dataclass
class Table:
    """One table, its place in the file, and which of its keys have been read, or looked for."""

    where: str
    name: str
    content: Mapping[str, object]
    used: set[str] = field(default_factory=set)
    looked_for: set[str] = field(default_factory=set)

    @property
    def place(self) -> str:
        """File and table, as the start of a complaint."""
        return f"{self.where}: [{self.name}]" if self.name else f"{self.where}: top level"

    def fail(self, text: str) -> AnimalError:
        """Return the complaint ``file: [table] text``."""
        return AnimalError(f"{self.place} {text}")

    def has(self, key: str) -> bool:
        """Tell whether a key is given."""
        self.looked_for.add(key)
        return key in self.content

    def take(self, key: str, hint: str = "", usual: str = '"..."') -> object:
        """Return a required value and mark it as read; say what to write if it is missing.

        That is the hint, or else what the key's unit tells, or else what is usual.
        """
        self.used.add(key)
        if key not in self.content:
            remedy = hint or next((h for end, h in _HINTS.items() if key.endswith(end)), usual)
            raise self.fail(f"has no {key}; add {key} = {remedy}")
        return self.content[key]

    def table(self, key: str) -> Table:
        """Return a table inside this one."""
        name = f"{self.name}.{key}" if self.name else key
        self.used.add(key)
        if key not in self.content:
            raise AnimalError(f"{self.where}: has no table [{name}]; add [{name}]")
        value = self.content[key]
        if not isinstance(value, dict):
            raise self.fail(f"{key} is {_shown(value)}; write a table [{name}] instead")
        return Table(self.where, name, value)

    def tables(self, key: str) -> list[Table]:
        """Return every table inside the table of this name."""
        outer = self.table(key)
        return [outer.table(inner) for inner in outer.content]

    def array(self, key: str) -> list[Table]:
        """Return the tables of an array of tables [[key]]; none if not given."""
        if not self.has(key):
            return []
        value = self.take(key)
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.fail(f"{key} is {_shown(value)}; write tables [[{key}]]")
        return [Table(self.where, f"{key}, number {i}", item) for i, item in enumerate(value, 1)]

    def rows(self, key: str) -> list[list[object]]:
        """Return a list of lists."""
        value = self.take(key)
        if not isinstance(value, list) or not all(isinstance(item, list) for item in value):
            raise self.fail(f"{key} is {_shown(value)}; write a list of lists")
        return value

    def checked(self, value: object, key: str, least: float, greatest: float) -> float:
        """Return a value that must be a finite number inside limits."""
        return self._number(value, key, least, greatest)

    def text(
        self, key: str, pattern: str = r"[^\x00-\x1f\x7f]{1,400}", hint: str = "one line of text"
    ) -> str:
        """Return a string that fits a pattern entirely."""
        value = self.take(key)
        if not isinstance(value, str) or not re.fullmatch(pattern, value) or not value.strip():
            raise self.fail(f"{key} is {_shown(value)}; write {hint} in quotation marks")
        return value

    def names(self, key: str) -> tuple[str, ...]:
        """Return a list of plain names, each once, at least one."""
        value = self.take(key, hint='["<name>", "<name>"]')
        if not isinstance(value, list) or not value:
            raise self.fail(f"{key} is {_shown(value)}; write a list of names")
        for item in value:
            if not isinstance(item, str) or not re.fullmatch(NAME, item):
                raise self.fail(f"{key} has {_shown(item)}, which is no plain name; write names in quotes")
            if value.count(item) > 1:
                raise self.fail(f"{key} has {item!r} twice; name each joint once")
        return tuple(value)

    def flag(self, key: str) -> bool:
        """Return true or false; false if not given."""
        if not self.has(key):
            return False
        value = self.take(key)
        if not isinstance(value, bool):
            raise self.fail(f"{key} is {_shown(value)}; write true or false")
        return value

    def number(self, key: str, least: float, greatest: float) -> float:
        """Return a finite number inside limits."""
        return self._number(self.take(key, usual="<number>"), key, least, greatest)

    def number_or(self, usual: float, key: str, least: float, greatest: float) -> float:
        """Return a finite number inside limits, or the usual one where the table does not give it."""
        return self.number(key, least, greatest) if self.has(key) else usual

    def whole(self, key: str, least: int, greatest: int) -> int:
        """Return a whole number inside limits."""
        value = self.number(key, least, greatest)
        if value != int(value):
            raise self.fail(f"{key} is {value:g}; write a whole number from {least} to {greatest}")
        return int(value)

    def vector(self, key: str, size: int, least: float, greatest: float) -> tuple[float, ...]:
        """Return a list of finite numbers inside limits."""
        value = self.take(key, hint="[" + ", ".join(["<number>"] * size) + "]")
        if not isinstance(value, list) or len(value) != size:
            raise self.fail(f"{key} is {_shown(value)}; write {size} numbers in square brackets")
        return tuple(self._number(item, key, least, greatest) for item in value)

    def limits(self, key: str, least: float, greatest: float) -> tuple[float, float]:
        """Return a [least, greatest] pair in the right order."""
        low, high = self.vector(key, 2, least, greatest)
        if low > high:
            raise self.fail(f"{key} is [{low:g}, {high:g}], the wrong way round; write [{high:g}, {low:g}]")
        return low, high

    def no_more(self, known: Collection[str] = ()) -> None:
        """Refuse keys that nobody read."""
        for key in self.content:
            if key not in self.used and key not in known:
                hint = nearest(key, {*self.used, *self.looked_for, *known})
                raise self.fail(f"has an unknown key {_shown(key)}{hint or '; take it out'}")

    def _number(self, value: object, key: str, least: float, greatest: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.fail(f"{key} is {_shown(value)}; write a number from {least:g} to {greatest:g}")
        if not least <= value <= greatest or not math.isfinite(value):
            raise self.fail(f"{key} is {_shown(value)}; write a number from {least:g} to {greatest:g}")
        return float(value)


def _shown(value: object) -> str:
    """Show a value in a complaint, on one line and not too long."""
    try:
        text = repr(value)
    except ValueError:  # a whole number of thousands of digits
        text = "a huge number"
    return text if len(text) <= 60 else text[:57] + "..."
