"""Puts files in place, all or none of them.

Every file is first written in full beside its target and forced to the disk; only then are they moved
into place, each by one atomic rename (POSIX rename). Whatever goes wrong on the way, an interrupt from the
keyboard included, what was there before is there afterwards. What a process that was killed left beside a
file is taken away when the file is written the next time.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gaitgen.errors import OutputError, RequestError
from gaitgen.formats.beside import finished_with, names_beside, take_away_left
from gaitgen.formats.in_place import SavedMeanwhileError, put_in_place, refuse_saved
from gaitgen.formats.record import digest, digest_of
from gaitgen.formats.signals import Held, signals_held

_ADVICE: Mapping[int, str] = {
    errno.ENOSPC: "free some space on that disk",
    errno.EDQUOT: "free some of your quota on that disk",
    errno.EFBIG: "write to a disk that takes files of that size",
    errno.ENAMETOOLONG: "choose a shorter name",
    errno.ENOTDIR: "choose a folder that is not a file",
    errno.EEXIST: "choose a folder that is not a file",
}


def shown(path: Path) -> str:
    """Print a path on one line."""
    return str(path) if str(path).isprintable() else ascii(str(path))


Known = Mapping[Path, str | None]
"""Digests of files as they were when it was chosen to replace them; None where there was none."""


@dataclass
class _Output:
    """One file on its way: where it goes, what it replaces, and what it leaves beside it until the end."""

    asked: Path
    target: Path
    data: bytes
    mode: int | None
    temporary: Path
    backup: Path
    aside: Path
    known: Known

    def refuse_saved(self, path: Path) -> None:
        """Raise if what is to be replaced, or was just now, is not what was known of it."""
        if self.asked in self.known:
            refuse_saved(path, self.known[self.asked])

    def replace(self) -> None:
        """Move the new file into place, if what is there is still what was known.

        What is written into the old file until it is replaced is in its second name too.
        """
        if self.asked in self.known:
            put_in_place(self.temporary, self.target, self.aside, self.known[self.asked])
        else:
            os.replace(self.temporary, self.target)  # noqa: PTH105
        if self.backup.exists():
            self.refuse_saved(self.backup)

    def prepare(self) -> None:
        """Write the new file in full beside its target, and keep the old one under a second name."""
        descriptor = os.open(self.temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(self.data)
            stream.flush()
            if self.mode is not None:
                os.fchmod(stream.fileno(), self.mode)
            os.fsync(stream.fileno())
        if self.mode is not None:
            try:
                os.link(self.target, self.backup)
            except OSError:  # a disk without hard links
                shutil.copy2(self.target, self.backup)

    def restore(self) -> None:
        """Put back what was there before this file, unless somebody has saved another one since."""
        if self.temporary.exists():  # it was not moved
            return
        there = digest_of(self.target) if self.known else None
        if there not in {None, digest(self.data)}:
            return
        if self.mode is None:
            self.target.unlink(missing_ok=True)
        elif not self.backup.exists():
            return
        elif self.known:
            with contextlib.suppress(SavedMeanwhileError):
                put_in_place(self.backup, self.target, self.aside, there)
        else:
            os.replace(self.backup, self.target)  # noqa: PTH105

    def tidy(self, *, keep_backup: bool = False) -> None:
        """Remove what is left beside the target."""
        for path in (self.temporary,) if keep_backup else (self.temporary, self.backup):
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        finished_with(self.temporary)

    def what_is_left(self) -> str:
        """Say what became of a file that could not be put back."""
        return "is new" if self.mode is None else f"is kept as {shown(self.backup)}"

    def keep_backup(self) -> None:
        """Give what could not be put back a name that is nobody's to take away."""
        kept = self.backup.with_suffix(".kept")
        with contextlib.suppress(OSError):
            self.backup.rename(kept)
            self.backup = kept


@dataclass
class _Batch:
    """The files of one call and how far they have come."""

    outputs: list[_Output] = field(default_factory=list)
    folders: list[Path] = field(default_factory=list)
    moved: list[_Output] = field(default_factory=list)
    at: Path = Path()

    def plan(self, files: Mapping[Path, bytes], known: Known) -> None:
        """Look at every target before anything is touched."""
        taken: dict[Path, Path] = {}
        for asked, data in files.items():
            self.at = asked
            target = _target(asked)
            if target in taken:
                message = f"cannot write {shown(asked)}: it is the same file as {shown(taken[target])}"
                raise OutputError(f"{message}; give each output its own name")
            taken[target] = asked
            mode = _mode(asked, target)
            self.outputs.append(_Output(asked, target, data, mode, *names_beside(target), known))

    def make_folder(self, folder: Path) -> None:
        """Make a folder and those above it, remembering which are new."""
        missing = [path for path in (folder, *folder.parents) if not path.exists()]
        for path in reversed(missing):
            self.folders.append(path)
            try:
                path.mkdir()
            except FileExistsError:  # made by someone else meanwhile
                self.folders.pop()
                if not path.is_dir():
                    raise

    def prepare(self, held: Held) -> None:
        """Write everything beside its target; what asks to end is heard between two files."""
        take_away_left([output.target for output in self.outputs])
        for output in self.outputs:
            self.at = output.asked
            self.make_folder(output.target.parent)
            output.prepare()
            held.heed()

    def move(self) -> None:
        """Move everything into place."""
        for output in self.outputs:
            self.at = output.asked
            self.moved.append(output)
            output.replace()

    def tidy(self) -> None:
        """Remove what is left beside the targets."""
        for output in self.outputs:
            output.tidy()

    def undo(self) -> list[_Output]:
        """Put everything back; return the files that could not be."""
        lost: list[_Output] = []
        for output in reversed(self.moved):
            try:
                output.restore()
            except OSError:
                output.keep_backup()
                lost.append(output)
        for output in self.outputs:
            output.tidy(keep_backup=output in lost)
        for folder in reversed(self.folders):
            with contextlib.suppress(OSError):
                folder.rmdir()
        return lost


def _target(asked: Path) -> Path:
    """Follow links to where the bytes go."""
    try:
        return asked.resolve()
    except RuntimeError as fault:  # Python 3.11 and 3.12 report a circle of links this way
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP)) from fault


def _mode(asked: Path, target: Path) -> int | None:
    """Return the permission bits of an existing file, None where there is none yet.

    Raises
    ------
    OutputError
        If what is there is not a file that may be replaced.
    """
    try:
        found = target.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(found.st_mode):
        raise OutputError(f"cannot write {shown(asked)}: it is a folder; give the name of a file")
    if not stat.S_ISREG(found.st_mode):
        raise OutputError(f"cannot write {shown(asked)}: it is a device, not a file; give the name of a file")
    if not os.access(target, os.W_OK):
        raise OutputError(
            f"cannot write {shown(asked)}: it is write-protected; unlock it or choose another name"
        )
    return stat.S_IMODE(found.st_mode)


def _refusal(batch: _Batch, fault: OSError | ValueError, lost: list[_Output]) -> OutputError:
    """Word what happened in one line."""
    reason, advice = str(fault), "choose another name"
    if isinstance(fault, OSError):
        reason = fault.strerror or type(fault).__name__
        advice = _ADVICE.get(fault.errno or 0, "choose a place that you can write to")
    message = f"cannot write {shown(batch.at)}: {reason}; {advice}"
    if lost:
        kept = ", ".join(f"{shown(output.asked)} {output.what_is_left()}" for output in lost)
        return OutputError(f"{message}; the earlier files could not be put back: {kept}")
    return OutputError(f"{message}; nothing was changed")


def plain_stem(stem: str) -> str:
    """Return a file name without suffix, if it is one without folders; that of a clip is left out.

    Raises
    ------
    RequestError
        If it is not.
    """
    if stem.lower().endswith(".bvh"):
        stem = stem[: -len(".bvh")]
    if stem != Path(stem).name or "\\" in stem or not stem.isprintable() or stem in {"", ".", ".."}:
        raise RequestError(f"name is {stem!r}; give a plain file name without folders, use --out for those")
    return stem


def write_files(files: Mapping[Path, bytes], known: Known | None = None) -> None:
    """Write files so that either all of them are there, complete, or everything is as it was.

    Folders that are missing are made. A link is followed to its target. A file that is replaced keeps its
    permission bits; a new one gets those the process gives by default.

    Parameters
    ----------
    files
        Path to contents. All contents are at hand before the first byte is written.
    known
        What is known of files that are there; one that has changed since is not replaced.

    Raises
    ------
    SavedMeanwhileError
        If one has changed; then everything is as it was, and as it was saved.
    OutputError
        If one of them cannot be written; one line with the path, the reason and what to do.
    """
    batch = _Batch()
    with signals_held() as held:
        try:
            batch.plan(files, known or {})
            batch.prepare(held)
            batch.move()
        except (OSError, ValueError) as fault:
            raise _refusal(batch, fault, batch.undo()) from fault
        except BaseException:
            batch.undo()
            raise
        try:
            batch.tidy()
        except BaseException:  # everything is in place; only leave nothing beside it
            batch.tidy()
            raise
