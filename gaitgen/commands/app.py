"""The commands, and what their end is: an exit code, and one line where something is refused."""

from __future__ import annotations

import sys

import click

from gaitgen import __version__
from gaitgen.commands.cycle import cycle
from gaitgen.commands.drawing import plot, sheet
from gaitgen.commands.look_up import animals, check, fit
from gaitgen.commands.many import variants
from gaitgen.commands.preview import preview
from gaitgen.errors import GaitgenError


class Commands(click.Group):
    """A group that lists its commands in the order in which they are given."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the names."""
        return list(self.commands)


def _print_version(context: click.Context, _option: click.Parameter, asked: bool) -> None:
    if asked:
        click.echo(f"gaitgen {__version__}")
        context.exit()


_VERSION = click.Option(
    ["--version"],
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_version,
    help="Print the version and stop.",
)
COMMANDS = Commands(
    "gaitgen",
    help="Make four-legged animals walk, to a frame count, as a blocking pass for any 3D package.",
    params=[_VERSION],
    commands={str(each.name): each for each in (animals, cycle, variants, sheet, plot, preview, fit, check)},
)


def run_command(arguments: list[str]) -> int:
    """Run one command and return its exit code; none prints the help."""
    try:
        with COMMANDS.make_context("gaitgen", arguments or ["--help"]) as context:
            COMMANDS.invoke(context)
    except click.exceptions.Exit as end:
        return end.exit_code
    except GaitgenError as error:
        click.echo(f"gaitgen: {error}", err=True)
        return 2
    except click.ClickException as error:
        words = " ".join(error.format_message().split()).removesuffix(".")
        click.echo(f"gaitgen: {words}; see gaitgen --help", err=True)
        return 2
    except KeyboardInterrupt:
        click.echo("gaitgen: interrupted; every file there is whole, as it was or new", err=True)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 141
    return 0
