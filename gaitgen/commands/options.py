"""Commands of the command line, made from functions and the options of what these take."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, is_dataclass, replace
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args, get_origin

import click

from gaitgen.option import Found, Option, kind_of, options_of, refuse_outside_limits, with_values

T = TypeVar("T")


class Only:
    """Marks a dataclass of which a command takes some options alone: ``Annotated[HandOff, Only("keys")]``."""

    def __init__(self, *names: str) -> None:
        """Take the names of the options."""
        self.names = names


def command(run: Callable[..., None]) -> click.Command:
    """Make a command of a function, named after it, with its docstring as help.

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

    def call(**given: Any) -> None:  # noqa: ANN401
        made = {name: filled(owner, taken, given) for name, (owner, taken) in owners.items()}
        run(**made, **own_values(own, given))

    return named_command(run, found, call)


def _must_be_given(found: Found) -> Found:
    """Take the default from what stands without its name."""
    return replace(found, default=MISSING) if found.option.is_positional else found


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
) -> click.Command:
    """Make a command that is named and described like ``run``, takes some options and does ``call``."""
    return click.Command(
        run.__name__, params=[_parameter(each) for each in found], callback=call, help=inspect.getdoc(run)
    )


def own_option(item: inspect.Parameter) -> Found:
    """Return the option that an argument of a function is marked with."""
    kind, marks = _parts(item.annotation)
    option = next(mark for mark in marks if isinstance(mark, Option))
    default = MISSING if item.default is inspect.Parameter.empty else item.default
    return Found(option, (item.name,), kind_of(option.kind or kind), default)


def offered(owner: type) -> list[Found]:
    """List the options of a dataclass that people are asked for."""
    return [found for found in options_of(owner) if found.option.is_offered]


def _parameter(found: Found) -> click.Parameter:
    """Declare an option; its default is printed after its sentence."""
    option, words = found.option, [found.name]
    kind = click.Choice(option.choices) if option.choices else _TYPES.get(found.kind, found.kind)
    rest: dict[str, Any] = {"type": kind, "help": option.sentence, "required": found.default is MISSING}
    if not rest["required"]:
        rest["default"] = found.default
    if option.is_positional:
        if not rest["required"]:
            rest["help"] += f"  [default: {found.default}]"
        return click.Argument(words, **rest)
    rest |= {"is_flag": found.kind is bool, "multiple": option.is_repeated}
    return click.Option([*words, _switch(found)], show_default=True, **rest)


_TYPES: Mapping[type, Any] = {Path: click.Path(path_type=Path)}


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
