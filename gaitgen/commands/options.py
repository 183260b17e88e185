"""Options of the command line, made from the fields of the dataclasses that a command takes."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, is_dataclass
from enum import Enum, StrEnum
from functools import wraps
from typing import Annotated, Any, get_args, get_origin

import typer

from gaitgen.option import Found, options_of, with_values

KEYWORD = inspect.Parameter.KEYWORD_ONLY


@dataclass(frozen=True)
class Only:
    """Marks a dataclass of which a command takes some options alone: ``Annotated[HandOff, Only("keys")]``."""

    names: tuple[str, ...]

    def __init__(self, *names: str) -> None:
        """Take the names of the options."""
        object.__setattr__(self, "names", names)


def with_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options of the dataclasses that it takes.

    Parameters
    ----------
    command
        Takes keyword arguments. One whose type is a dataclass with options gets all that are offered, or
        those that :class:`Only` names; any other is an option of this command alone.

    Returns
    -------
    callable
        The same command for typer, with an argument for each option.
    """
    items: list[inspect.Parameter] = []
    owners: dict[str, tuple[type, list[str]]] = {}
    for item in inspect.signature(command, eval_str=True).parameters.values():
        owner, only = _owner(item.annotation)
        if owner is None:
            items.append(item.replace(kind=KEYWORD))
            continue
        added = [parameter(found) for found in offered(owner) if only is None or found.name in only.names]
        owners[item.name] = (owner, [one.name for one in added])
        items += added

    @wraps(command)
    def run(**given: Any) -> None:  # noqa: ANN401
        for name, (owner, names) in owners.items():
            given[name] = filled(owner, {each: given.pop(each) for each in names})
        command(**given)

    return declared(run, items)


def declared(run: Callable[..., None], items: list[inspect.Parameter]) -> Callable[..., None]:
    """Say of a function that takes any keyword which ones it takes, for typer to read."""
    run.__signature__ = inspect.Signature(items)  # type: ignore[attr-defined]
    run.__annotations__ = {item.name: item.annotation for item in items}
    return run


def offered(owner: type) -> list[Found]:
    """List the options of a dataclass that people are asked for."""
    return [found for found in options_of(owner) if found.option.is_offered]


def filled(owner: type, given: Mapping[str, object]) -> Any:  # noqa: ANN401
    """Make a dataclass of what was given on the command line.

    Raises
    ------
    GaitgenError
        If the dataclass refuses a value.
    """
    plain = {name: value.value if isinstance(value, Enum) else value for name, value in given.items()}
    return with_values(owner(), plain)


def parameter(found: Found) -> inspect.Parameter:
    """Declare an option for typer; what stands without its name has no default here and must be given."""
    option = found.option
    kind: Any = found.kind
    if option.is_positional:
        argument = Annotated[kind, typer.Argument(help=option.sentence)]
        return inspect.Parameter(found.name, KEYWORD, annotation=argument)
    if option.choices:
        kind = _words(found)
    if found.default is None:
        kind = kind | None
    annotation = Annotated[kind, typer.Option(*_switch(found), help=option.sentence)]
    return inspect.Parameter(found.name, KEYWORD, annotation=annotation, default=found.default)


def _words(found: Found) -> type[Enum]:
    """Make the type of an option that takes certain words."""
    return StrEnum(found.name, {word: word for word in found.option.choices})  # type: ignore[return-value]


def _switch(found: Found) -> list[str]:
    """Word an option that is on or off: what is off by default has no word for off."""
    if found.kind is not bool:
        return []
    word = found.name.replace("_", "-")
    return [found.option.switch or (f"--{word}/--no-{word}" if found.default else f"--{word}")]


def _owner(annotation: Any) -> tuple[type | None, Only | None]:  # noqa: ANN401
    """Return the dataclass with options that an argument is, if it is one, and which of them it has."""
    only = None
    if get_origin(annotation) is Annotated:
        annotation, *marks = get_args(annotation)
        only = next((mark for mark in marks if isinstance(mark, Only)), None)
    has_options = isinstance(annotation, type) and is_dataclass(annotation) and options_of(annotation)
    return (annotation if has_options else None), only
