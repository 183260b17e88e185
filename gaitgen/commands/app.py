"""The commands, and what their end is: an exit code, and one line where something is refused."""

from __future__ import annotations

import re
from typing import Annotated

import typer

from gaitgen import __version__
from gaitgen.commands.cycle import cycle
from gaitgen.commands.drawing import plot, sheet
from gaitgen.commands.edits import bake, carry
from gaitgen.commands.look_up import animals, check, fit, gaits
from gaitgen.commands.many import variants
from gaitgen.commands.one_of_each import OneOfEach
from gaitgen.commands.preview import preview
from gaitgen.commands.shot import join, shot
from gaitgen.commands.signals import Ended, farewell
from gaitgen.commands.terminal import refuse, say, say_aside

APP = typer.Typer(name="gaitgen", add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)


def _print_version(asked: bool) -> None:
    if asked:
        say(f"gaitgen {__version__}")
        raise typer.Exit


def _print_help(context: typer.Context, asked: bool) -> None:
    if asked:
        say(context.get_help())
        raise typer.Exit


# The help of the group is ours: the one typer adds loads a library to read its own absence, which the help
# of every command would wait for.
@APP.callback(add_help_option=False)
def _top(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version and stop."),
    ] = False,
    help: Annotated[  # noqa: A002
        bool,
        typer.Option("--help", "-h", callback=_print_help, is_eager=True, help="Show this message and exit."),
    ] = False,
) -> None:
    """Make four-legged animals walk, trot and gallop to a frame count, as a blocking pass to refine."""


for _each in (animals, gaits, cycle, shot, join, variants, sheet, plot, preview, bake, carry, fit, check):
    APP.command(cls=OneOfEach, context_settings={"help_option_names": ["-h", "--help"]})(_each)
COMMANDS = typer.main.get_command(APP)

# The base of everything that can be wrong with a command line; typer does not name it in every version.
USAGE_ERRORS: tuple[type[Exception], ...] = tuple(
    base
    for base in typer.BadParameter.__mro__
    if base.__name__ == "ClickException" and issubclass(base, Exception)
)


_PLAINER = (
    ("Input should be a valid integer, unable to parse string as an integer", "give a whole number"),
    ("Input should be a valid number, unable to parse string as a number", "give a number"),
    ("Input should be a valid boolean, unable to interpret input", "give yes or no"),
)


def run_command(arguments: list[str]) -> int:
    """Run one command and return its exit code; none prints the help."""
    try:
        with COMMANDS.make_context("gaitgen", arguments or ["--help"]) as context:
            COMMANDS.invoke(context)
    except typer.Exit as end:
        return end.exit_code
    except USAGE_ERRORS as error:
        return refuse(_plainly(error, arguments))
    except KeyboardInterrupt as stop:
        line, code = farewell(*([stop.number] if isinstance(stop, Ended) else []))
        say_aside(line)
        return code
    return 0


_DECIMAL_COMMA = re.compile(r"(?:--[\w-]+=)?(-?\d+),(\d+)")


def _plainly(error: BaseException, arguments: list[str]) -> str:
    words = getattr(error, "format_message", lambda: str(error))()
    plain = str(words).replace("Value error, ", "")  # how typer marks a word that is no choice
    for said, better in _PLAINER:
        plain = plain.replace(said, better)
    comma = next(filter(None, map(_DECIMAL_COMMA.fullmatch, arguments)), None)
    if comma and plain.rstrip(".").endswith("give a number"):
        plain = f"{plain.rstrip('.')} with a point for its decimals, {comma[1]}.{comma[2]}"
    command = getattr(getattr(error, "ctx", None), "command_path", "gaitgen")
    plain = " ".join(plain.split()).removesuffix(".")
    return f"{plain[:1].lower()}{plain[1:]}; see `{command} --help`"
