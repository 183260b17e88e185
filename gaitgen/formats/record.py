"""The record of a folder, ``.gaitgen-written``: what gaitgen wrote there last, known by its contents.

One line a file, ``DIGEST MAKER "NAME"``; a clip with a name that somebody chose has also, in quotes too, the
one that it would have without, which tells what was asked for. A table of variants vouches for files too.
"""

from __future__ import annotations

import contextlib
import csv
import hashlib
import json
import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path

RECORD = ".gaitgen-written"
TABLE = "variants.csv"  # of `gaitgen variants`, which vouches for its files too
MOST_BYTES = 64_000_000
# What files are made from. Those made from a request can be made again; those made from what somebody did by
# hand are replaced by the same command alone.
REQUEST, KEYS, EDIT = "request", "keys", "edit"

_LINE = re.compile(r'([0-9a-f]{64}) ([a-z]+) ("(?:[^"\\]|\\.)*")(?: ("(?:[^"\\]|\\.)*"))?')
_DIGEST = re.compile(r":([0-9a-f]{16})(?: |$)")  # in a table of variants, shortened
_LONGEST_NAME = 250

Entry = tuple[str, str]  # digest, maker


def is_ours(found: str, maker: str, entry: Entry) -> bool:
    """Tell whether an entry vouches for what has that digest, and lets it give way to what a maker writes."""
    written, by = entry
    return found.startswith(written) and by in {REQUEST, maker}


def digest(data: bytes) -> str:
    """Name some bytes by their contents: 64 hexadecimal digits of SHA-256."""
    return hashlib.sha256(data).hexdigest()


def followed(path: Path) -> Path:
    """Follow links, as far as the system lets them be followed."""
    with contextlib.suppress(OSError, RuntimeError, ValueError):
        return path.resolve()
    return path


def digest_of(path: Path) -> str | None:
    """Digest of a plain file; None where there is none to be seen, "unreadable" where it cannot be read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return None
    except (OSError, ValueError):  # no such file, or no way to one: writing says which
        return None
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None
    except OSError:
        return "unreadable"


def vouched(folder: Path) -> dict[str, list[Entry]]:
    """Read what gaitgen wrote last in a folder: name of the file to its digests."""
    found = {name: [entry] for name, entry in read_record(folder).items()}
    for name, short in _in_table(folder):
        found.setdefault(name, []).append((short, REQUEST))
    return found


def read_record(folder: Path) -> dict[str, Entry]:
    """Read the record of a folder; lines that are none are passed over."""
    return {name: entry for name, (entry, _) in _lines(folder).items()}


def own_names(folder: Path) -> dict[str, str]:
    """Read the names that files of a folder would have, had nobody given them others."""
    return {name: own for name, (_, own) in _lines(folder).items() if own}


def _lines(folder: Path) -> dict[str, tuple[Entry, str]]:
    """Read the record of a folder: name of each file to its entry, and the name it would have or nothing."""
    found: dict[str, tuple[Entry, str]] = {}
    for line in _text(folder / RECORD).splitlines():
        parts = _LINE.fullmatch(line)
        if parts is None:
            continue
        with contextlib.suppress(ValueError):
            found[json.loads(parts[3])] = (parts[1], parts[2]), json.loads(parts[4] or '""')
    return found


def _in_table(folder: Path) -> list[tuple[str, str]]:
    """Files and digests of a table of variants."""
    lines = _text(folder / TABLE).splitlines()
    found: list[tuple[str, str]] = []
    with contextlib.suppress(csv.Error):
        for row in csv.DictReader(lines):
            found += digests_in(row.get("files") or "")
    return found


def digests_in(files: str) -> list[tuple[str, str]]:
    """Take apart a cell of files, ``NAME:DIGEST NAME:DIGEST``; what is no name of a file is passed over."""
    found, start = [], 0
    for match in _DIGEST.finditer(files):
        name, start = files[start : match.start()], match.end()
        if 0 < len(name) <= _LONGEST_NAME and not set(name) & set("/\\:"):
            found.append((name, match[1]))
    return found


def _text(path: Path) -> str:
    """Text of a small plain file; nothing where there is none."""
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode) or found.st_size > MOST_BYTES:
            return ""
        return path.read_bytes().decode("utf-8", errors="replace")
    except OSError:
        return ""


def with_records(
    files: Mapping[Path, bytes], maker: str, own: Mapping[Path, str] | None = None
) -> dict[Path, bytes]:
    """Write the records anew, with some files in them; none where something else has that name.

    ``own`` has the names that some of the files would have, had nobody given them others.
    """
    by_folder: dict[Path, dict[str, tuple[Entry, str]]] = {}
    for path, data in files.items():
        target = followed(path)
        if target.exists() and not target.is_file():
            continue
        by_folder.setdefault(target.parent, {})[target.name] = (
            (digest(data), maker),
            (own or {}).get(path, ""),
        )
    records = {}
    for folder, new in by_folder.items():
        path = folder / RECORD
        free = not os.path.lexists(path)
        if free or (stat.S_ISREG(path.lstat().st_mode) and os.access(path, os.W_OK)):
            lines = [
                " ".join((*entry, json.dumps(name), *([json.dumps(named)] if named else []))) + "\n"
                for name, (entry, named) in sorted((_lines(folder) | new).items())
            ]
            records[path] = "".join(lines).encode("ascii")
    return records
