"""Options: fields of frozen dataclasses that say themselves how people ask for them.

An option is described once, as the metadata of the field that it fills. The command line, the served page and
the limits that a dataclass keeps are all made from there, so this module loads nothing heavy.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass, replace
from functools import cache
from types import NoneType
from typing import Any, TypeVar, get_args, get_type_hints

from gaitgen.errors import RequestError

T = TypeVar("T")
Limits = tuple[float, float]
_KEY = "option"


@dataclass(frozen=True)
class Slider:
    """How the served page shows an option.

    Attributes
    ----------
    group
        The heading that it stands under.
    step
        Step of a slider; 0 makes it a list to choose from.
    unit
        Printed after the value.
    label
        What the page calls it; the label of the option if empty.
    ends
        Ends of the slider where they are not the limits of the option.
    offers
        What a list offers where the option has no fixed choices.
    """

    group: str
    step: float = 0.0
    unit: str = ""
    label: str = ""
    ends: Limits | None = None
    offers: tuple[float | str, ...] = ()


@dataclass(frozen=True)
class Option:
    """What is said of one option, wherever it is offered.

    Attributes
    ----------
    what
        What it is, with its unit, without a full stop: "Length of one stride in frames".
    more
        What else there is to say, such as what happens where none is given.
    name
        Its name on the command line and on the page; the name of the field if empty.
    label
        Its name in messages; the name with spaces if empty.
    limits
        Least and greatest number.
    told_from
        The least number that help and messages tell, where a lesser one is taken in few cases.
    unit
        What the limits are counted in, for messages: "metres".
    choices
        The words that it takes.
    slider
        How the served page shows it; None leaves it out.
    switch
        Words of an option that is on or off, such as "--in-place/--travel", where they are not its name.
    kind
        What the command line takes, where the field takes more than that.
    is_positional
        Whether it stands on the command line without its name.
    is_repeated
        Whether it may be given several times; its values are a tuple then.
    is_drawn
        Whether it says what the motion looks like, so that drawings have it too.
    is_offered
        Whether people are asked at all; the limits of a field hold for programs too.
    is_checked_later
        Whether the limits depend on more than the dataclass knows and are checked where that is known.
    """

    what: str
    more: str = ""
    name: str = ""
    label: str = ""
    limits: Limits | None = None
    told_from: float | None = None
    unit: str = ""
    choices: tuple[str, ...] = ()
    slider: Slider | None = None
    switch: str = ""
    kind: type | None = None
    is_positional: bool = False
    is_repeated: bool = False
    is_drawn: bool = True
    is_offered: bool = True
    is_checked_later: bool = False

    def __post_init__(self) -> None:
        """Refuse a slider without ends, which nobody could draw."""
        if self.slider is not None and self.slider.step and not (self.slider.ends or self.limits):
            raise ValueError(f"the slider of {self.what!r} has no ends; give it ends, or the option limits")

    @property
    def sentence(self) -> str:
        """All of it in a sentence: what it is, its limits, and what else there is to say."""
        span = "" if self.told is None else f", {self.told[0]:g} to {self.told[1]:g}"
        return f"{self.what}{span}{self.more and f'; {self.more}'}."

    @property
    def told(self) -> Limits | None:
        """The limits that people are told."""
        if self.limits is None or self.told_from is None:
            return self.limits
        return self.told_from, self.limits[1]


def option(what: str, more: str = "", **rest: Any) -> Mapping[str, Option]:  # noqa: ANN401
    """Return the metadata that makes an option of a field; the arguments are those of :class:`Option`."""
    return {_KEY: Option(what, more, **rest)}


@dataclass(frozen=True)
class Found:
    """An option and the field that it fills.

    Attributes
    ----------
    option
        What is said of it.
    path
        Where the field is: one name, or two for a field of a dataclass in a field.
    kind
        Type of its values, such as ``float``, also where it may be left out.
    default
        Value of the field where nothing is asked for; MISSING where it must be given.
    """

    option: Option
    path: tuple[str, ...]
    kind: type
    default: object

    @property
    def field(self) -> str:
        """Name of the field."""
        return self.path[-1]

    @property
    def name(self) -> str:
        """Name on the command line and on the page, with underscores."""
        return self.option.name or self.field

    @property
    def label(self) -> str:
        """Name in messages."""
        return self.option.label or self.name.replace("_", " ")

    def read(self, holder: object) -> object:
        """Return the value in a dataclass."""
        for name in self.path:
            holder = getattr(holder, name)
        return holder


def options_of(owner: type) -> tuple[Found, ...]:
    """List the options of a dataclass in the order of its fields, those of dataclasses in it included."""
    return _options_of(owner)


@cache  # dataclasses check their limits each time that one is made
def _options_of(owner: type) -> tuple[Found, ...]:
    found: list[Found] = []
    for item in fields(owner):
        if _KEY in item.metadata:
            found.append(Found(item.metadata[_KEY], (item.name,), _kind(owner, item), item.default))
        elif item.default_factory is not MISSING and is_dataclass(item.default_factory):
            inner = options_of(item.default_factory)
            found += [replace(one, path=(item.name, *one.path)) for one in inner]
    return tuple(found)


def _kind(owner: type, item: Field[Any]) -> type:
    """Tell what a field takes beside None."""
    chosen: type | None = item.metadata[_KEY].kind
    hint = chosen or item.type
    return kind_of(get_type_hints(owner)[item.name] if isinstance(hint, str) else hint)


def kind_of(hint: Any) -> type:  # noqa: ANN401
    """Return a type without None: ``float`` of ``float | None``."""
    kind: type = next((one for one in get_args(hint) if one is not NoneType), hint)
    return kind


def with_values(start: T, values: Mapping[str, object]) -> T:
    """Return a dataclass in which some options, by name, have other values; what is inside it included.

    Raises
    ------
    GaitgenError
        If the dataclass refuses a value.
    """
    holder: Any = start
    changes: dict[str, object] = {}
    for item in fields(holder):
        own = getattr(holder, item.name)
        if _KEY in item.metadata:
            name = item.metadata[_KEY].name or item.name
            if name in values:
                changes[item.name] = values[name]
        elif is_dataclass(own):
            changes[item.name] = with_values(own, values)
    changed: T = replace(holder, **changes)
    return changed


def outside_limits(
    options: Iterable[Found], values: Mapping[str, Any]
) -> Iterator[tuple[Found, float, Limits]]:
    """Find the options whose number is not finite or outside their limits, with both ends of these.

    Parameters
    ----------
    options
        Options; those of dataclasses in a dataclass are left to these.
    values
        Their values by the name of the field, such as the ``vars`` of a dataclass; None is inside.
    """
    for found in options:
        limits = found.option.limits
        if limits is None or found.option.is_checked_later or len(found.path) > 1:
            continue
        value = values[found.field]
        if value is not None and not limits[0] <= value <= limits[1]:  # nan is nowhere
            yield found, value, limits


def in_digits(value: float) -> str:
    """Print a number for a message; a whole one of hundreds of digits by their count."""
    try:
        return f"{value:g}"
    except OverflowError:
        return f"a number of {len(str(abs(value)))} digits"  # Python reads none of more than 4300


def refuse_outside_limits(options: Iterable[Found], values: Mapping[str, Any]) -> None:
    """Refuse the first number that is outside the limits of its option; see :func:`outside_limits`.

    Raises
    ------
    RequestError
        With the label of the option, the number and the limits.
    """
    for found, value, limits in outside_limits(options, values):
        least, greatest = found.option.told or limits
        raise RequestError(
            f"{found.label} is {in_digits(value)}; give a number from {least:g} to {greatest:g}"
        )
