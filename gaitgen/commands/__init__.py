"""The command line: options in, one call, files and a report out."""

from __future__ import annotations

import sys

from gaitgen import __version__


def main() -> None:
    """Run the command line; what gaitgen refuses is one line on standard error and exit code 2."""
    raise SystemExit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code; the version is printed before anything is loaded."""
    if arguments == ["--version"]:
        sys.stdout.write(f"gaitgen {__version__}\n")
        return 0
    from gaitgen.commands.app import run_command

    return run_command(arguments)
