"""Writes files beside what a person has changed, never over it.

What gaitgen wrote is known by its contents: a small record in each folder, ``.gaitgen-written``, has one line
a file, ``DIGEST MAKER "NAME"``. It is written with the files, all of them or none. A file that the record
does not vouch for is taken for somebody's work: it is kept, and the whole set of files that it belongs to
goes beside it under the next free number, ``NAME.2.bvh``. Without the record, or with a damaged one,
everything is kept that differs from what would be written.
"""

from __future__ import annotations

import contextlib
import csv
import hashlib
import json
import os
import re
import stat
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gaitgen.errors import Notice, OutputError
from gaitgen.formats.write import write_files

RECORD = ".gaitgen-written"
TABLE = "variants.csv"  # of `gaitgen variants`, which vouches for its files too
MOST_BYTES = 64_000_000
MOST_NUMBERED = 1000
CLIP = ".bvh"
# Files of one clip, which keep one name together.
CLIP_ENDS = (
    CLIP,
    ".channels.csv",
    ".keys.csv",
    ".poses.bvh",
    ".controls.csv",
    ".controls.keys.csv",
    ".glb",
    ".path.csv",
)
# What files are made from. Those made from a request can be made again; those made from what somebody did by
# hand are replaced by the same command alone.
REQUEST, KEYS, EDIT = "request", "keys", "edit"

_LINE = re.compile(r'([0-9a-f]{64}) ([a-z]+) (".*")')
_IN_TABLE = re.compile(r"([^/\\:]{1,250}):([0-9a-f]{16})(?: |$)")
_SHORT = 16  # digits of a digest in a table of variants

Entry = tuple[str, str]  # digest, maker


@dataclass(frozen=True)
class FileSet:
    """Files that keep one name together.

    Attributes
    ----------
    folder, stem
        Where they go, and their common name.
    files
        End of each file's name to its contents.
    beside
        Ends of other files that belong to the set, and must not be somebody's work either.
    sources
        Ends of files that these are made from; under a numbered name there must be none, or they would be
        those of another set.
    """

    folder: Path
    stem: str
    files: Mapping[str, bytes]
    beside: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @classmethod
    def of_one(cls, path: Path, data: bytes) -> FileSet:
        """Make a set of one file."""
        return cls(path.parent, path.stem, {path.suffix: data})

    def named(self, number: int) -> str:
        """Return the common name under a number; the first has none."""
        return self.stem if number == 1 else f"{self.stem}.{number}"


@dataclass(frozen=True)
class Written:
    """What was written.

    Attributes
    ----------
    files
        Every file.
    notices
        One for each set that went beside what is kept, or in the place of another clip.
    """

    files: tuple[Path, ...]
    notices: tuple[Notice, ...]


def write_kept(sets: Sequence[FileSet], *, maker: str = REQUEST, force: bool = False) -> Written:
    """Write sets of files, all or none, and keep what is not as gaitgen wrote it.

    Parameters
    ----------
    sets
        The files.
    maker
        What they are made from: REQUEST, KEYS or EDIT.
    force
        Replace whatever is there.

    Raises
    ------
    OutputError
        If one cannot be written, or standard output is named as their folder; then nothing is changed.
    """
    for each in sets:
        refuse_stdout(each.folder)
    files: dict[Path, bytes] = {}
    notices = []
    with contextlib.ExitStack() as locks:
        for folder in sorted({_folder(each.folder) for each in sets}):
            locks.enter_context(_alone(folder))
        for each in sets:
            name, kept = placed(each, maker=maker, force=force)
            files |= {each.folder / f"{name}{end}": data for end, data in each.files.items()}
            if kept is not None:
                notices.append(kept_notice(kept, name))
            elif maker != KEYS and not force and _is_another_clip(each):
                notices.append(replaced_notice(each.folder / f"{name}{CLIP}"))
        write_files(files | _records(files, maker))
    return Written(tuple(files), tuple(notices))


def refuse_stdout(folder: Path) -> None:
    """Refuse "-" as a folder: it is standard output, which has no room for several files.

    Raises
    ------
    OutputError
        If that is what it is.
    """
    if str(folder) == "-":
        raise OutputError("'-' is standard output, where these files cannot go; give a folder")


def kept_notice(kept: Path, name: str) -> Notice:
    """Say that a file is kept, and what the new ones are called."""
    text = (
        f"{kept} is not as gaitgen wrote it, so it is kept; the new files are named {name} "
        "(--force replaces it)."
    )
    return Notice("kept", text)


def replaced_notice(path: Path) -> Notice:
    """Say that a clip, one that nobody changed, gives way to another."""
    text = (
        f"{path} was another clip that gaitgen wrote, which this one replaces; give --name or --out to have "
        "both."
    )
    return Notice("replaced", text)


def _is_another_clip(each: FileSet) -> bool:
    """Tell whether there is a clip of a set's own name with other contents."""
    found = _digest(each.folder / f"{each.stem}{CLIP}") if CLIP in each.files else None
    return found not in {None, digest(each.files.get(CLIP, b""))}


def placed(each: FileSet, *, maker: str = REQUEST, force: bool = False) -> tuple[str, Path | None]:
    """Choose the name of a set: its own, or the first numbered one under which nothing is lost.

    Returns
    -------
    name
        Common name of the files.
    kept
        The first file that stands in the way of the set's own name; None if nothing does.

    Raises
    ------
    OutputError
        If every numbered name is taken.
    """
    if force:
        return each.stem, None
    known: dict[Path, dict[str, list[Entry]]] = {}
    kept = None
    for number in range(1, MOST_NUMBERED + 1):
        name = each.named(number)
        hit = next(_in_the_way(each, name, maker, known), None)
        if number > 1 and hit is None:
            paths = (each.folder / f"{name}{end}" for end in each.sources)
            hit = next((path for path in paths if path.exists()), None)
        if hit is None:
            return name, kept
        kept = kept or hit
    raise OutputError(
        f"{each.folder / each.stem}: {MOST_NUMBERED} files of that name are kept there; choose another name"
    )


def _in_the_way(
    each: FileSet, name: str, maker: str, known: dict[Path, dict[str, list[Entry]]]
) -> Iterator[Path]:
    """Find files of a set that are there and are somebody's work."""
    for end in (*each.files, *(end for end in each.beside if end not in each.files)):
        path = each.folder / f"{name}{end}"
        found = _digest(path)
        data = each.files.get(end)
        if found is None or (data is not None and found == digest(data)):
            continue
        folder = _folder(path).parent
        if folder not in known:
            known[folder] = _vouched(folder)
        if not any(_is_ours(found, maker, entry) for entry in known[folder].get(_folder(path).name, [])):
            yield path


def _is_ours(found: str, maker: str, entry: Entry) -> bool:
    written, by = entry
    return found.startswith(written) and by in {REQUEST, maker}


def digest(data: bytes) -> str:
    """Name some bytes by their contents: 64 hexadecimal digits of SHA-256."""
    return hashlib.sha256(data).hexdigest()


def _folder(path: Path) -> Path:
    """Follow links."""
    with contextlib.suppress(OSError, RuntimeError, ValueError):
        return path.resolve()
    return path


def _digest(path: Path) -> str | None:
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


def _vouched(folder: Path) -> dict[str, list[Entry]]:
    """Read what gaitgen wrote last in a folder: name of the file to its digests."""
    found = {name: [entry] for name, entry in read_record(folder).items()}
    for name, short in _in_table(folder):
        found.setdefault(name, []).append((short, REQUEST))
    return found


def read_record(folder: Path) -> dict[str, Entry]:
    """Read the record of a folder; lines that are none are passed over."""
    entries: dict[str, Entry] = {}
    for line in _text(folder / RECORD).splitlines():
        parts = _LINE.fullmatch(line)
        if parts is None:
            continue
        with contextlib.suppress(ValueError):
            entries[json.loads(parts[3])] = parts[1], parts[2]
    return entries


def _in_table(folder: Path) -> list[tuple[str, str]]:
    """Files and digests of a table of variants."""
    lines = _text(folder / TABLE).splitlines()
    found: list[tuple[str, str]] = []
    with contextlib.suppress(csv.Error):
        for row in csv.DictReader(lines):
            found += _IN_TABLE.findall(row.get("files") or "")
    return [(name, short) for name, short in found if len(short) == _SHORT]


def _text(path: Path) -> str:
    """Text of a small plain file; nothing where there is none."""
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode) or found.st_size > MOST_BYTES:
            return ""
        return path.read_bytes().decode("utf-8", errors="replace")
    except OSError:
        return ""


def _records(files: Mapping[Path, bytes], maker: str) -> dict[Path, bytes]:
    """Write the records anew, with some files in them; none where something else has that name."""
    by_folder: dict[Path, dict[str, Entry]] = {}
    for path, data in files.items():
        target = _folder(path)
        if target.exists() and not target.is_file():
            continue
        by_folder.setdefault(target.parent, {})[target.name] = digest(data), maker
    records = {}
    for folder, new in by_folder.items():
        path = folder / RECORD
        free = not os.path.lexists(path)
        if free or (stat.S_ISREG(path.lstat().st_mode) and os.access(path, os.W_OK)):
            entries = read_record(folder) | new
            lines = [f"{entry[0]} {entry[1]} {json.dumps(name)}\n" for name, entry in sorted(entries.items())]
            records[path] = "".join(lines).encode("ascii")
    return records


@contextlib.contextmanager
def _alone(folder: Path) -> Generator[None, None, None]:
    """Let two runs in one folder write one after the other, where the system can lock a folder."""
    try:
        import fcntl

        descriptor = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):  # no such lock here, or no folder yet
        yield
        return
    try:
        with contextlib.suppress(OSError):
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
