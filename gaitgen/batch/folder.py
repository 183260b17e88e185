"""One folder of variants: one run at a time in it, and files that come and go whole.

Nothing here follows a link, waits for a pipe, or reads more than it has to: what lies in the folder may be
anybody's.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
from collections.abc import Callable, Generator, Mapping
from pathlib import Path

from gaitgen.errors import OutputError
from gaitgen.formats.in_place import put_back, put_in_place
from gaitgen.formats.signals import signals_held
from gaitgen.formats.write import shown

LOCK = ".variants.lock"
MOST_BYTES = 64_000_000

_PLAINLY = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def read_plain(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """Read a plain file: no link, folder, pipe or device, and not too large.

    Raises
    ------
    OSError
        If it is not there, or no such file.
    """
    descriptor = os.open(path, os.O_RDONLY | _PLAINLY)
    with os.fdopen(descriptor, "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is no plain file")
        data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise OSError(errno.EFBIG, f"it has more than {most_bytes // 1_000_000} MB")
    return data


def put(folder: Path, files: Mapping[str, bytes], known: Mapping[str, str | None] | None = None) -> None:
    """Write some files: first all beside their places, then each moved into place by one rename.

    They are not forced to the disk one by one, which costs more than all the rest: the table knows every
    file by its contents, so the next run makes again what a power cut took.

    Parameters
    ----------
    folder, files
        Where to, and name to contents.
    known
        Digests of those that are there as they were when it was chosen to replace them.

    Raises
    ------
    SavedMeanwhileError
        If one has changed since; some may be in place already.
    OutputError
        If one cannot be written; one line with the path, the reason and what to do.
    """
    beside = {name: folder / f".{name}.new" for name in files}
    asides = {name: folder / f".{name}.was.new" for name in files}
    at = folder
    with signals_held():
        try:
            for name, aside in asides.items():
                if aside.exists():  # a process was killed before the new file had its name
                    put_back(aside, folder / name)
            for name, data in files.items():
                at = folder / name
                _write_new(beside[name], data, _mode(at))
            for name, new in beside.items():
                at = folder / name
                if known is None:
                    os.replace(new, at)  # noqa: PTH105
                else:
                    put_in_place(new, at, asides[name], known[name])
        except BaseException as fault:
            for new in beside.values():
                with contextlib.suppress(OSError):
                    new.unlink(missing_ok=True)
            if isinstance(fault, OSError):
                raise _refusal(at, fault) from None
            raise


def _write_new(path: Path, data: bytes, mode: int | None) -> None:
    path.unlink(missing_ok=True)  # left there by a process that was killed
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _PLAINLY, 0o666)
    with os.fdopen(descriptor, "wb", buffering=0) as file:
        rest = memoryview(data)
        while rest:
            rest = rest[file.write(rest) :]
    if mode is not None:
        path.chmod(mode)


def _mode(path: Path) -> int | None:
    """Return the permission bits of the file that will be replaced; None where there is none yet."""
    try:
        found = path.lstat().st_mode
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(found):
        what = "a link" if stat.S_ISLNK(found) else "a folder" if stat.S_ISDIR(found) else "a device or pipe"
        message = f"cannot write {shown(path)}: {what} of that name is there"
        raise OutputError(f"{message}; take it away, or give another folder with --out")
    if not os.access(path, os.W_OK):
        message = f"cannot write {shown(path)}: it is write-protected"
        raise OutputError(f"{message}; unlock it, or give another folder with --out")
    return stat.S_IMODE(found)


def _refusal(path: Path, fault: OSError) -> OutputError:
    reason = fault.strerror or type(fault).__name__
    remedy = "see to space and rights there, or give another folder with --out"
    if fault.errno in {errno.EEXIST, errno.ENOTDIR}:
        what = "a link that leads nowhere" if path.is_symlink() and not path.exists() else "a file"
        remedy = f"it is {what}, so give another folder with --out"
    return OutputError(f"cannot write {shown(path)}: {reason}; {remedy}")


@contextlib.contextmanager
def only_run(folder: Path, say: Callable[[str], None]) -> Generator[None, None, None]:
    """Keep a second run out of a folder for as long as this one lasts; make the folder if it is missing.

    The lock is the system's, on an empty file: it ends with the process, however that ends. A folder that was
    made here and stays empty is removed again.

    Raises
    ------
    OutputError
        If another run is at work there, or the folder cannot be made or written.
    """
    path, descriptor = folder / LOCK, -1
    try:
        made = [one for one in (folder, *folder.parents) if not one.exists()]
    except OSError as fault:  # such as a name that is too long
        raise _refusal(folder, fault) from None
    try:
        descriptor = _entered(path, say)
        _take_second_names_away(folder)
        yield
    finally:
        if descriptor >= 0:
            with contextlib.suppress(OSError):
                path.unlink()
            os.close(descriptor)
        for new in made:
            with contextlib.suppress(OSError):
                new.rmdir()


def _take_second_names_away(folder: Path) -> None:
    """Take away what a run that was killed left of a file that has its own name already: a second one."""
    for new in folder.glob(".*.new"):
        with contextlib.suppress(OSError):
            if new.samefile(folder / new.name.removeprefix(".").removesuffix(".new")):
                new.unlink()


def _entered(path: Path, say: Callable[[str], None]) -> int:
    """Make the folder of the lock file and lock it; return the descriptor of the file."""
    at = folder = path.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
        at = path
        return _locked(path, say)
    except BlockingIOError:
        message = f"{shown(folder)} is busy: another run of gaitgen variants is writing there"
        raise OutputError(f"{message}; wait for it, or give another folder with --out") from None
    except OSError as fault:
        raise _refusal(at, fault) from None


def _locked(path: Path, say: Callable[[str], None]) -> int:
    """Open the lock file and lock it; the run before may be taking the file away meanwhile."""
    while True:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | _PLAINLY, 0o666)
        try:
            _lock(descriptor, path, say)
            with contextlib.suppress(FileNotFoundError):
                if os.path.samestat(os.fstat(descriptor), path.lstat()):
                    return descriptor
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)


def _lock(descriptor: int, path: Path, say: Callable[[str], None]) -> None:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as fault:
        if fault.errno in {errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK}:
            raise BlockingIOError from None
        reason = fault.strerror or type(fault).__name__
        say(f"{shown(path.parent)} cannot be locked ({reason}); start no second run there meanwhile")
