"""The commands, and what their end is: an exit code, and one line where something is refused."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from gaitgen import __version__
from gaitgen.commands.cycle import cycle
from gaitgen.commands.drawing import add_commands
from gaitgen.commands.look_up import animals, check, fit
from gaitgen.commands.many import variants
from gaitgen.commands.preview import preview
from gaitgen.commands.source import with_motion
from gaitgen.errors import GaitgenError

app = typer.Typer(
    name="gaitgen",
    help="Make four-legged animals walk, to a frame count, as a blocking pass for any 3D package.",
    no_args_is_help=False,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"gaitgen {__version__}")
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Make four-legged animals walk, to a frame count, as a blocking pass for any 3D package."""


app.command()(animals)
app.command()(cycle)
app.command()(variants)
add_commands(app)
app.command()(with_motion(preview))
app.command()(fit)
app.command()(check)

# The base of everything that can be wrong with a command line; typer does not name it.
USAGE_ERRORS: tuple[type[Exception], ...] = tuple(
    base
    for base in typer.BadParameter.__mro__
    if base.__name__ == "ClickException" and issubclass(base, Exception)
)


def run_command(arguments: list[str]) -> int:
    """Run one command and return its exit code; none prints the help."""
    try:
        code = app(args=arguments or ["--help"], prog_name="gaitgen", standalone_mode=False)
    except GaitgenError as error:
        typer.echo(f"gaitgen: {error}", err=True)
        return 2
    except USAGE_ERRORS as error:
        typer.echo(f"gaitgen: {_one_line(error)}", err=True)
        return 2
    except (KeyboardInterrupt, typer.Abort):
        typer.echo("gaitgen: interrupted; every file there is whole, as it was or new", err=True)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 141
    if code == 130:
        typer.echo("gaitgen: interrupted; every file there is whole, as it was or new", err=True)
    return code if isinstance(code, int) else 0


def _one_line(error: BaseException) -> str:
    words = getattr(error, "format_message", lambda: str(error))()
    return " ".join(str(words).split()) + "; see gaitgen --help"
