"""Puts one new file in the place of another without replacing what somebody saves there meanwhile.

A rename replaces whatever is there at that moment, also a file that an editor has renamed into place since
it was looked at. So the old file is first moved aside, looked at there, where no one else names it, and the
new one is linked to the free name: a link never replaces (POSIX link, EEXIST).
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from gaitgen.formats.record import digest_of


class SavedMeanwhileError(Exception):
    """A file is not any more what it was when it was looked at: somebody has saved it."""


def refuse_saved(path: Path, known: str | None) -> None:
    """Raise if a file is not what was known of it.

    Raises
    ------
    SavedMeanwhileError
        If its digest is another.
    """
    if digest_of(path) != known:
        raise SavedMeanwhileError


def put_in_place(new: Path, target: Path, aside: Path, known: str | None) -> None:
    """Give a new file the name of one that is known, or of none; what else is there stays there.

    Parameters
    ----------
    new, target
        The new file, and its name; both in one folder.
    aside
        A free name in that folder for the old file meanwhile.
    known
        Digest of the old file; None if there was none.

    Raises
    ------
    SavedMeanwhileError
        If another file has that name, before or meanwhile; it has it afterwards too.
    OSError
        If the system refuses; then the old file has its name.
    """
    refuse_saved(target, known)
    if known is None:
        _named(new, target)
        return
    os.rename(target, aside)  # noqa: PTH104
    try:
        refuse_saved(aside, known)
        _named(new, target)
    except BaseException:
        with contextlib.suppress(SavedMeanwhileError):  # saved once more, which is newer
            _named(aside, target)
        aside.unlink(missing_ok=True)
        raise
    if digest_of(aside) != known:  # written into the old file, which an editor had open
        os.replace(aside, target)  # noqa: PTH105
        raise SavedMeanwhileError
    aside.unlink()


def put_back(aside: Path, target: Path) -> None:
    """Give a file that was moved aside by a process that is gone its name again, if that is free.

    Raises
    ------
    OSError
        If the system refuses.
    """
    with contextlib.suppress(SavedMeanwhileError):
        _named(aside, target)
    aside.unlink(missing_ok=True)


def _named(file: Path, name: Path) -> None:
    """Move a file to a name that is free."""
    try:
        os.link(file, name)
    except FileExistsError:
        raise SavedMeanwhileError from None
    except OSError:  # a disk without hard links
        if name.exists():
            raise SavedMeanwhileError from None
        os.rename(file, name)  # noqa: PTH104
        return
    file.unlink()
