"""Which line of a shot file a complaint is about."""

from __future__ import annotations

import re
from pathlib import Path

from gaitgen.shot.asked import Mark, WayKey

CHANGE = "change_strides"  # the key of a passage that says in how many strides it is come into
GROUNDS = ("steps", "profile", "image", "mesh")  # keys that say how high the ground is
WAYS = ("points", "legs", "file")  # keys that say where a path leads
# Where a message names a table and a key of it, as those of toml_table do.
_PLACE = re.compile(r"\[([\w.]+)(?:, number (\d+))?\](?: (?:has an unknown key ')?(\w+))?")


def line_of(text: str, words: str) -> int | None:
    """Find the line that a complaint is about: that of its key, or of its table."""
    found = _PLACE.match(words)
    name, number, key = found.groups() if found else ("", None, None)
    if found is None:
        plain = re.match(r"top level (?:has an unknown key ')?(\w+)", words)
        key = plain.group(1) if plain else None
    lines = text.splitlines()
    start = 0
    if name:
        heads = [k for k, line in enumerate(lines) if re.match(rf"\s*\[+\s*{re.escape(name)}\s*\]+", line)]
        chosen = int(number or 1) - 1
        if chosen >= len(heads):
            return None
        start = heads[chosen] + 1
    for k in range(start, len(lines)):
        if re.match(r"\s*\[", lines[k]):
            break
        if key and re.match(rf"\s*\"?{re.escape(key)}\"?\s*=", lines[k]):
            return k + 1
    return start or None


def jump_line(path: Path, text: str, number: int, key: str) -> str:
    """Name the line of a jump that has a key."""
    return f"{path}: line {line_of(text, f'[jump, number {number}] {key}')}"


def change_line(path: Path, text: str, number: int) -> str:
    """Name the line of a passage that says in how many strides it is come into."""
    return f"{path}: line {line_of(text, f'[passage, number {number}] {CHANGE}')}"


def ground_line(path: Path, text: str) -> str:
    """Name the line of the heights of the ground."""
    lines = (line_of(text, f"[ground] {key}") for key in GROUNDS if re.search(rf"(?m)^\s*{key}\s*=", text))
    return f"{path}: line {next(lines, None) or line_of(text, '[ground]')}"


def way_key(path: Path, text: str) -> WayKey:
    """Name the line of the path, and its key; of one that leads through marks the first of them."""
    for key in WAYS:
        line = line_of(text, f"[path] {key}")
        if line is not None and re.match(rf"\s*\"?{key}\b", text.splitlines()[line - 1]):
            return WayKey(f"{path}: line {line}: [path] {key}", key)
    line = line_of(text, "[mark, number 1] at")
    return WayKey(str(path) if line is None else f"{path}: line {line}: [mark, number 1]", "mark")


def mark_line(text: str, mark: Mark, number: int) -> int:
    """Find the line of a mark that says when."""
    return line_of(text, f"[mark, number {number}] {'frame' if mark.frame is not None else 'halt'}") or 1
