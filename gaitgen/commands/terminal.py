"""What reaches the terminal: lines without anything that a terminal would obey."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from gaitgen.errors import OutputError

LONGEST_LINE = 1000


def _plain(text: str) -> str:
    """Write out what a terminal would obey; most texts are plain, and need not wait for what does it."""
    if text.replace("\n", "").isprintable():
        return text
    from gaitgen.errors import plain

    return plain(text)


def one_line(text: str) -> str:
    """Make a text plain, on one line, and leave out the middle of one that is far too long."""
    line = _plain(text).replace("\n", "\\n")
    if len(line) <= LONGEST_LINE:
        return line
    return f"{line[: LONGEST_LINE // 2]} ... {line[-LONGEST_LINE // 4 :]}"


def say(text: str, *, end: str = "\n") -> None:
    """Write to standard output, in letters that it can take.

    Raises
    ------
    OutputError
        If nothing can be written there.
    BrokenPipeError
        If nobody reads it any more.
    """
    _put(lambda out: out.write(_in_its_letters(_plain(text) + end, out.encoding)))


def say_bytes(data: bytes) -> None:
    """Write a whole file to standard output.

    Raises
    ------
    OutputError
        If nothing can be written there.
    BrokenPipeError
        If nobody reads it any more.
    """
    _put(lambda out: out.buffer.write(data))


def _put(write: Callable[[TextIO], object]) -> None:
    """Write to standard output, all of it now."""
    if sys.stdout is None:
        raise _refusal("it is closed")
    try:
        write(sys.stdout)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as fault:
        raise _refusal(fault.strerror or type(fault).__name__) from None


def say_aside(text: str, *, end: str = "\n") -> None:
    """Write to standard error, in letters that it can take; where there is none, to nobody."""
    if sys.stderr is None:
        return
    with suppress(OSError):
        sys.stderr.write(_in_its_letters(_plain(text) + end, sys.stderr.encoding))
        sys.stderr.flush()


def _in_its_letters(text: str, encoding: str | None) -> str:
    """Write out what an encoding has no letter for."""
    letters = encoding or "utf-8"
    return text.encode(letters, "backslashreplace").decode(letters)


def _refusal(reason: str) -> OutputError:
    from gaitgen.errors import OutputError

    return OutputError(
        f"cannot write to standard output: {reason}; see to where it goes (files asked for are there)"
    )


def guarded(run: Callable[[], int]) -> int:
    """Return the exit code of a command; what is refused, on the way or by the system, is one line and 2."""
    try:
        return run()
    except BrokenPipeError:  # whoever read it has had enough, as of `gaitgen animals | head -1`
        return 141
    except OSError as fault:
        return refuse(_worded(fault))
    except MemoryError:
        return refuse("there is not enough memory for that; ask for fewer frames, or give a shorter clip")
    except Exception as error:
        from gaitgen.errors import GaitgenError  # which the version need not wait for

        if not isinstance(error, GaitgenError):
            raise
        return refuse(str(error))


def _worded(fault: OSError) -> str:
    """Say what the system refused, where a command did not expect it."""
    reason = fault.strerror or type(fault).__name__
    if fault.filename is None:
        if fault.errno == errno.ENOENT:
            return "the folder that it was started in is gone; start it in another"
        return f"{reason}; see to the disk and to where output goes, then start it again"
    advice = (
        "choose a shorter name" if fault.errno == errno.ENAMETOOLONG else "see to it, then start it again"
    )
    return f"{fault.filename!s}: {reason}; {advice}"


def refuse(reason: str) -> int:
    """Say in one line why something is not done, and return the exit code for that."""
    say_aside(one_line(f"gaitgen: {reason}"))
    return 2


def let_go() -> None:
    """Let what could not be written go, so that the end of the program does not try again and complain."""
    for stream in (sys.stdout, sys.stderr):
        if stream is None:
            continue
        try:
            stream.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, stream.fileno())
                os.close(nowhere)
