"""What a command that takes a gait or a clip does with its other options."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from gaitgen.errors import RequestError
from gaitgen.numerics.standard_input import is_standard_input

if TYPE_CHECKING:
    import typer


def is_clip(gait: str) -> bool:
    """Tell whether what stands for a gait is the path of a clip, or the standard input."""
    return gait.lower().endswith(".bvh") or is_standard_input(gait)


def refuse_options(
    context: typer.Context, kept: Collection[str], file: str, why: str = "is a clip and is shown as it is"
) -> None:
    """Refuse options that say how to make a cycle when the clip is there already.

    Parameters
    ----------
    context
        The command that runs.
    kept
        Parameters that go with a clip too.
    file, why
        The clip, and why it takes none, for the message.

    Raises
    ------
    RequestError
        If any other was given.
    """
    given = [
        item.opts[0]
        for item in context.command.params
        if item.name not in kept
        and getattr(context.get_parameter_source(item.name or ""), "name", "") == "COMMANDLINE"
    ]
    if given:
        raise RequestError(f"{file} {why}; leave out {', '.join(given)}, or give a gait instead")
