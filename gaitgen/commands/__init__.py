"""The command line: options in, one call, files and a report out."""

from __future__ import annotations

import sys
from importlib import import_module


def main() -> None:
    """Run the command line; what gaitgen refuses is one line on standard error and exit code 2."""
    _end_quietly()
    from gaitgen.commands.signals import farewell, heard, heed, listen, no_more

    try:
        listen()  # before anything else is loaded, which takes the longest
        _hide_warnings()
        code = _let_go(run(sys.argv[1:]))
        heed()
        no_more()  # what comes now comes too late: all is done, and the exit code says so
    except KeyboardInterrupt:
        code = _end_at(*farewell(*([heard()] if heard() else [])))
        no_more()
    except Exception:
        if not heard():  # else a library made another exception of it
            raise
        code = _end_at(*farewell(heard()))
        no_more()
    raise SystemExit(code)


def _end_quietly() -> None:
    """Let an interrupt end the program without a word, until it is heard: nothing is begun yet."""
    try:
        signal = import_module("_signal")  # what `signal` is made of: built in, and at hand at once
    except ImportError:
        signal = import_module("signal")
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def _let_go(code: int) -> int:
    from gaitgen.commands.terminal import let_go

    let_go()
    return code


def _hide_warnings() -> None:
    """Hide what libraries say to programmers; whoever asks for it by python -W or PYTHONWARNINGS sees it."""
    import warnings

    if not sys.warnoptions:
        warnings.simplefilter("ignore")


def _end_at(line: str, code: int) -> int:
    from gaitgen.commands.terminal import say_aside

    say_aside(line)
    return _let_go(code)


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code; the version is printed before anything heavy is loaded."""
    from gaitgen.commands.terminal import guarded

    return guarded(lambda: _run(arguments))


def _run(arguments: list[str]) -> int:
    if arguments == ["--version"]:
        from gaitgen import __version__
        from gaitgen.commands.terminal import say

        say(f"gaitgen {__version__}")
        return 0
    from gaitgen.commands.app import run_command

    return run_command(arguments)
