"""Commands of the command line, made from functions and the options of what these take."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, is_dataclass, replace
from enum import Enum, StrEnum
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args, get_origin

import typer

from gaitgen.option import Found, Option, kind_of, options_of, refuse_outside_limits, with_values

T = TypeVar("T")


class Only:
    """Marks a dataclass of which a command takes some options alone: ``Annotated[HandOff, Only("keys")]``."""

    def __init__(self, *names: str) -> None:
        """Take the names of the options."""
        self.names = names


def command(run: Callable[..., None]) -> Callable[..., None]:
    """Make what typer makes a command of, named after a function, with its docstring as help.

    Parameters
    ----------
    run
        Takes keyword arguments. Marked with an :class:`~gaitgen.option.Option`, one is an option of this
        command alone; one that is a dataclass with options gets all that are offered, or those that
        :class:`Only` names. What stands on the command line without its name must be given.
    """
    found: list[Found] = []
    owners: dict[str, tuple[type, list[Found]]] = {}
    own: list[Found] = []
    for item in inspect.signature(run, eval_str=True).parameters.values():
        kind, marks = _parts(item.annotation)
        if isinstance(kind, type) and is_dataclass(kind):
            taken = {each.name: each for each in offered(kind)}
            names = next((mark.names for mark in marks if isinstance(mark, Only)), tuple(taken))
            owners[item.name] = (kind, [taken[name] for name in names])
            found += [_must_be_given(taken[name]) for name in names]
        else:
            own.append(own_option(item))
            found.append(own[-1])

    def call(_context: typer.Context, **given: Any) -> None:  # noqa: ANN401
        made = {name: filled(owner, taken, given) for name, (owner, taken) in owners.items()}
        run(**made, **own_values(own, given))

    return named_command(run, found, call)


def _must_be_given(found: Found) -> Found:
    """Take the default from what stands without its name."""
    is_needed = found.option.is_positional and found.default is not None
    return replace(found, default=MISSING) if is_needed else found


def filled(owner: Callable[[], T], taken: Iterable[Found], given: Mapping[str, object]) -> T:
    """Make a dataclass with the options that were given on the command line.

    Raises
    ------
    GaitgenError
        If the dataclass refuses a value.
    """
    return with_values(owner(), {found.name: given[found.name] for found in taken})


def own_values(own: Sequence[Found], given: Mapping[str, object]) -> dict[str, Any]:
    """Return the options of a command alone, by the name of the argument that they are.

    Raises
    ------
    RequestError
        If a number is outside its limits.
    """
    values = {found.field: given[found.name] for found in own}
    refuse_outside_limits(own, values)
    return values


def named_command(
    run: Callable[..., None], found: Sequence[Found], call: Callable[..., None]
) -> Callable[..., None]:
    """Make what typer makes a command of, described like ``run``, with some options, doing ``call``.

    ``call`` gets the context of the command, and the values by the names of the options.
    """

    def read(context: typer.Context, **given: Any) -> None:  # noqa: ANN401
        call(context, **{name: _plain(value) for name, value in given.items()})

    keyword = inspect.Parameter.KEYWORD_ONLY
    context = inspect.Parameter("context", keyword, annotation=typer.Context)
    items = [context, *(_parameter(each) for each in found)]
    read.__name__, read.__doc__ = run.__name__, inspect.getdoc(run)
    read.__signature__ = inspect.Signature(items)  # type: ignore[attr-defined]
    read.__annotations__ = {item.name: item.annotation for item in items}
    return read


def _plain(value: object) -> object:
    """Take a word out of its enumeration, and what was given several times out of its list."""
    if isinstance(value, Enum):
        return value.value
    return tuple(value) if isinstance(value, list) else value


def own_option(item: inspect.Parameter) -> Found:
    """Return the option that an argument of a function is marked with."""
    kind, marks = _parts(item.annotation)
    option = next(mark for mark in marks if isinstance(mark, Option))
    default = MISSING if item.default is inspect.Parameter.empty else item.default
    return Found(option, (item.name,), kind_of(option.kind or kind), default)


def offered(owner: type) -> list[Found]:
    """List the options of a dataclass that people are asked for."""
    return [found for found in options_of(owner) if found.option.is_offered]


def _parameter(found: Found) -> inspect.Parameter:
    """Declare an option as typer reads it; typer prints the default after the sentence."""
    option = found.option
    kind: Any = _words(found) if option.choices else found.kind
    default: Any = inspect.Parameter.empty if found.default is MISSING else found.default
    if option.choices and isinstance(default, str):
        default = kind(default)
    if option.is_positional:
        said: Any = typer.Argument(help=option.sentence, metavar=found.name.upper(), case_sensitive=False)
    else:
        said = typer.Option(
            _switch(found), help=option.sentence, metavar=_VALUES.get(kind), case_sensitive=False
        )
    if option.is_repeated:
        kind, default = list[kind], list(default)
    return inspect.Parameter(
        found.name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[kind, said]
    )


def _words(found: Found) -> type[StrEnum]:
    """Make an enumeration of the words to choose from, which is what typer reads."""
    enumeration: Any = StrEnum  # with members that only run time knows
    made: type[StrEnum] = enumeration("Words", [(word, word) for word in found.option.choices])
    return made


# What stands for a value in the help; words to choose from stand there themselves.
_VALUES: Mapping[type, str] = {str: "TEXT", int: "INTEGER", float: "NUMBER", Path: "PATH"}


def _switch(found: Found) -> str:
    """Word an option; what is on or off, and off by default, has no word for off."""
    word = found.name.replace("_", "-")
    both = found.kind is bool and found.default is True
    return found.option.switch or (f"--{word}/--no-{word}" if both else f"--{word}")


def _parts(annotation: Any) -> tuple[Any, tuple[object, ...]]:  # noqa: ANN401
    """Take a type and its marks apart."""
    if get_origin(annotation) is not Annotated:
        return annotation, ()
    kind, *marks = get_args(annotation)
    return kind, tuple(marks)
