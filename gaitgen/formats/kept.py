"""Writes files beside what a person has changed, never over it.

The record of the folder is written with the files, all of them or none. A file that it does not vouch for is
taken for somebody's work: it is kept, and the whole set of files that it belongs to goes beside it under the
next free number, ``NAME.2.bvh``. Without the record, or with a damaged one, everything is kept that differs
from what would be written.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gaitgen.errors import Notice, OutputError
from gaitgen.formats.in_place import SavedMeanwhileError
from gaitgen.formats.record import (
    EDIT,
    KEYS,
    REQUEST,
    Entry,
    digest,
    digest_of,
    followed,
    is_ours,
    vouched,
    with_records,
)
from gaitgen.formats.write import write_files

MOST_NUMBERED = 1000
MOST_TRIED = 20  # times, where somebody saves files while they are written
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
    is_remade
        They are made from the sources that stand beside them, so what was carried there gives way too.
    own
        The common name that says what was asked for, where somebody gave them another.
    """

    folder: Path
    stem: str
    files: Mapping[str, bytes]
    beside: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    is_remade: bool = False
    own: str = ""

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
    made = _made_folders(sets)
    with contextlib.ExitStack() as locks:
        for folder in sorted({followed(each.folder) for each in sets}):
            locks.enter_context(_alone(folder))
        for _ in range(MOST_TRIED):
            with contextlib.suppress(SavedMeanwhileError):
                files, notices, known = _all_placed(sets, maker, force=force)
                write_files(files | with_records(files, maker, _own_names(sets, files)), known)
                return Written(tuple(files), (*made, *notices))
    raise OutputError(
        f"cannot write {sets[0].folder / sets[0].stem}: files there are saved again and again meanwhile; "
        "nothing was changed, give another name or folder"
    )


def _all_placed(
    sets: Sequence[FileSet], maker: str, *, force: bool
) -> tuple[dict[Path, bytes], list[Notice], dict[Path, str | None]]:
    """Choose names for some sets; return their files, what is to be said, and what is there as it was then.

    Raises
    ------
    SavedMeanwhileError
        If something there was saved while it was looked at.
    """
    files: dict[Path, bytes] = {}
    known: dict[Path, str | None] = {}
    notices = []
    for each in sets:
        name, kept = placed(each, maker=maker, force=force)
        own = {each.folder / f"{name}{end}": data for end, data in each.files.items()}
        files |= own
        if not force:
            known |= {path: digest_of(path) for path in own}
            if placed(each, maker=maker)[0] != name:
                raise SavedMeanwhileError
        if kept is not None:
            notices.append(kept_notice(kept, name))
        elif maker != KEYS and not force and _is_another_clip(each):
            notices.append(replaced_notice(each.folder / f"{name}{CLIP}"))
    return files, notices, known


def _own_names(sets: Sequence[FileSet], files: Mapping[Path, bytes]) -> dict[Path, str]:
    """Say which name clips would have whose own one tells less."""
    clips = [path for path in files if path.suffix == CLIP]
    return {
        path: each.own
        for each in sets
        if each.own not in {"", each.stem}
        for path in clips
        if path.parent == each.folder and f"{path.stem}.".startswith(f"{each.stem}.")
    }


def _made_folders(sets: Sequence[FileSet]) -> list[Notice]:
    """Say which folders of pictures are made: nobody asks for one where a path is mistyped."""
    asked = {folder for each in sets if each.beside for folder in (each.folder, *each.folder.parents)}
    new = {each.folder for each in sets if not each.beside and not each.folder.exists()} - asked
    return [Notice("folder", f"{folder} was not there; the folder is made.") for folder in sorted(new)]


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
    found, target = digest_of(kept) or "", followed(kept)
    entries = vouched(target.parent).get(target.name, [])
    as_written = any(found.startswith(written) for written, _ in entries)
    why = "was made from work by hand" if as_written else "is not as gaitgen wrote it"
    text = f"{kept} {why}, so it is kept; the new files are named {name} (--force replaces it)."
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
    found = digest_of(each.folder / f"{each.stem}{CLIP}") if CLIP in each.files else None
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
        found = digest_of(path)
        data = each.files.get(end)
        if found is None or (data is not None and found == digest(data)):
            continue
        folder = followed(path).parent
        if folder not in known:
            known[folder] = vouched(folder)
        makers = (maker, EDIT) if each.is_remade and name == each.stem else (maker,)
        entries = known[folder].get(followed(path).name, [])
        if not any(is_ours(found, by, entry) for by in makers for entry in entries):
            yield path


@contextlib.contextmanager
def _alone(folder: Path) -> Generator[None, None, None]:
    """Let two runs in one folder write one after the other, where the system can lock a folder."""
    try:
        import fcntl

        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)  # a pipe would be waited for
    except (ImportError, OSError):  # no such lock here, or no folder yet
        yield
        return
    try:
        with contextlib.suppress(OSError):
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
