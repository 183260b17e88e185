"""Files that stand beside others while these are written, and what a killed process left of them.

A name tells of which file it is, on which machine and by which process it was made: what a process that is
still at work has there is left alone, also that of another machine that shares the folder.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import re
import secrets
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from gaitgen.formats.in_place import put_back

_NAME = re.compile(
    r"\.gaitgen-([0-9a-f]{12})-([0-9a-f]{8})-([0-9]{1,10})-[0-9a-f]{8}\.(?:new|old|was)", re.ASCII
)
_IN_WORK: set[str] = set()


def names_beside(target: Path) -> tuple[Path, Path, Path]:
    """Return names beside a file: of its new contents, of the old ones too, and to move the file to."""
    stem = f".gaitgen-{_of(target)}-{this_machine()}-{os.getpid()}-{secrets.token_hex(4)}"
    _IN_WORK.add(stem)
    new, old, was = (target.with_name(f"{stem}.{end}") for end in ("new", "old", "was"))
    return new, old, was


def finished_with(beside: Path) -> None:
    """Tell that a name is not in use any more."""
    _IN_WORK.discard(beside.stem)


def take_away_left(targets: Iterable[Path]) -> None:
    """Remove what processes that are gone left beside some files.

    A file that one of them had moved aside, and nothing put in its place, has its name again.
    """
    wanted: dict[Path, dict[str, Path]] = {}
    for target in targets:
        wanted.setdefault(target.parent, {})[_of(target)] = target
    for folder, files in wanted.items():
        left: list[str] = []
        with contextlib.suppress(OSError), os.scandir(folder) as found:
            left = [entry.name for entry in found if entry.name.startswith(".gaitgen-")]
        for name in left:
            match = _NAME.fullmatch(name)
            if match and match[1] in files and match[2] == this_machine() and _is_left(name, int(match[3])):
                with contextlib.suppress(OSError):
                    if name.endswith(".was"):
                        put_back(folder / name, files[match[1]])
                    else:
                        (folder / name).unlink()


def _of(target: Path) -> str:
    return hashlib.sha256(os.fsencode(target.name)).hexdigest()[:12]


@cache
def this_machine() -> str:
    """Name this machine, and the container in it: where a number of a process says which one it is."""
    space = ""
    with contextlib.suppress(OSError):
        space = os.readlink("/proc/self/ns/pid")  # noqa: PTH115
    return hashlib.sha256(f"{platform.node()} {space}".encode()).hexdigest()[:8]


def _is_left(name: str, process: int) -> bool:
    """Tell whether the process that made a name is gone; where that cannot be told, it is not."""
    if process == os.getpid():
        return Path(name).stem not in _IN_WORK
    if os.name != "posix":  # there the same call would end the process
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False
