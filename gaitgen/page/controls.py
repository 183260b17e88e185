"""What can be changed on the served page: the options that have a slider, for the page, query and request."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names
from gaitgen.errors import RequestError
from gaitgen.gait.gait import gait_names
from gaitgen.gait.request import Request
from gaitgen.option import Found, Limits, Slider, options_of, with_values
from gaitgen.page.moved_contacts import CONTACT_FRAMES, CONTACTS, contact_values, moved_contacts

# The headings in their order; others come after.
GROUPS = ("Timing", "Style", "Animal")
# What comes with gaitgen, for options that take the path of a file too.
_KNOWN: Mapping[str, Callable[[], tuple[str, ...]]] = {"gait": gait_names, "animal": animal_names}


@dataclass(frozen=True)
class Control:
    """One slider or choice, as an option describes it.

    Attributes
    ----------
    found
        The option.
    slider
        How it is shown.
    """

    found: Found
    slider: Slider

    @property
    def name(self) -> str:
        """Name in the query."""
        return self.found.name

    @property
    def is_whole(self) -> bool:
        """Whether only whole numbers do."""
        return self.found.kind is int

    @property
    def is_choice(self) -> bool:
        """Whether it is a choice from a list."""
        return self.slider.step == 0.0

    @property
    def is_name(self) -> bool:
        """Whether it names something, perhaps a file, of which the page may only ask for what is listed."""
        return self.found.kind is str and not self.found.option.choices

    @property
    def ends(self) -> Limits:
        """Ends of a slider; a choice has none."""
        return self.slider.ends or self.found.option.limits or (0.0, 0.0)

    @property
    def least(self) -> float:
        """Lower end of a slider."""
        return self.ends[0]

    @property
    def greatest(self) -> float:
        """Upper end of a slider."""
        return self.ends[1]

    @property
    def offers(self) -> tuple[float | str, ...]:
        """What a list offers, before what the page starts with."""
        known = _KNOWN.get(self.name, tuple)()
        return self.found.option.choices or self.slider.offers or known


def controls_of(owner: type) -> Mapping[str, Control]:
    """List the options of a dataclass that have a slider, by name, under their headings in order."""
    shown = [Control(found, found.option.slider) for found in options_of(owner) if found.option.slider]
    groups = (*GROUPS, *(control.slider.group for control in shown))
    ordered = sorted(shown, key=lambda control: groups.index(control.slider.group))
    return {control.name: control for control in ordered}


CONTROLS = tuple(controls_of(Request).values())


def request_from(values: Mapping[str, str], start: Request) -> Request:
    """Turn what the page sent into a request; a control that is not sent is left to gaitgen.

    Parameters
    ----------
    values
        Name of a control to its value as text, and contacts that were moved by hand.
    start
        What the page started with; beside what comes with gaitgen, only its animal and gait may be asked
        for: a page must not read files of its own choice.

    Raises
    ------
    GaitgenError
        If a name is unknown or a value is not usable.
    """
    controls, plain = controls_of(type(start)), type(start)()
    given: dict[str, object] = {}
    for name, text in values.items():
        if name in {CONTACTS, CONTACT_FRAMES}:
            continue
        if name not in controls:
            raise RequestError(f"unknown control {name[:40]!r}; use one of {', '.join(controls)}")
        given[name] = _value(controls[name], text, start)
    own = {name: control.found.read(plain) for name, control in controls.items()}
    request = with_values(start, {**own, CONTACTS: None, **given})
    contacts = moved_contacts(values, request.frames, whole_frames=request.whole_frames)
    if contacts is None:
        return request
    text, frames = contacts
    return replace(request, contacts=text, frames=frames)


def _value(control: Control, text: str, start: Request) -> object:
    """Read the value of a control."""
    if control.is_name:
        known = _choices(control, start)
        if text not in known:
            raise RequestError(f"unknown {control.name} {text[:40]!r}; use one of {', '.join(known)}")
    try:
        return control.found.kind(text)
    except ValueError:
        kind = "whole number" if control.is_whole else "number"
        message = f"{control.name} is {text[:40]!r}; give a {kind}"
        raise RequestError(message) from None


def values_of(request: Request) -> dict[str, str]:
    """Return the values with which the page starts: those that differ from gaitgen's own choice."""
    plain = type(request)()
    values = {}
    for name, control in controls_of(type(request)).items():
        text = _text(control.found.read(request))
        if text is not None and text != _text(control.found.read(plain)):
            values[name] = text
    return values | contact_values(request)


def _text(value: object) -> str | None:
    if isinstance(value, Animal):
        return value.name
    return None if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)


def _choices(control: Control, start: Request) -> tuple[str, ...]:
    """List what a choice offers: what comes with gaitgen, and what the page starts with."""
    own = control.found.read(start)
    if control.found.kind is float:
        numbers = {float(str(number)) for number in (*control.offers, own)}
        return tuple(f"{number:.10g}" for number in sorted(numbers))
    words = [_text(word) for word in (*control.offers, own)]
    return tuple(dict.fromkeys(word for word in words if word is not None))


def table(start: Request) -> list[dict[str, object]]:
    """Return the controls as the page reads them, in order."""
    plain = type(start)()
    rows: list[dict[str, object]] = []
    for control in controls_of(type(start)).values():
        found, slider = control.found, control.slider
        row: dict[str, object] = {
            "name": control.name,
            "label": slider.label or found.label.capitalize(),
            "group": slider.group,
            "hint": f"{found.option.what}.",
        }
        if control.is_choice:
            row["choices"] = list(_choices(control, start))
        else:
            row |= {"least": control.least, "greatest": control.greatest, "step": slider.step}
            row["unit"] = slider.unit
        row["own"] = _text(found.read(plain))
        rows.append(row)
    return rows
