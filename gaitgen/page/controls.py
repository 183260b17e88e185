"""What can be changed on the served page: one table for the page, the query and the request."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS, gait_names
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request

FRAME_RATES_HZ = (12.0, 15.0, 24.0, 25.0, 30.0, 48.0, 50.0, 60.0)


@dataclass(frozen=True)
class Control:
    """One slider or choice.

    Attributes
    ----------
    name, label, group
        Name in the query, and what the page calls it.
    field
        Attribute of the request, of its style, or of its proportions.
    least, greatest, step
        Ends and step of a slider; a choice has none.
    unit
        Printed after the value.
    hint
        One sentence for the reader.
    is_whole, is_choice
        Whether only whole numbers do, and whether it is a choice from a list.
    """

    name: str
    label: str
    group: str
    field: str
    least: float = 0.0
    greatest: float = 0.0
    step: float = 0.0
    unit: str = ""
    hint: str = ""
    is_whole: bool = False
    is_choice: bool = False


def _choice(name: str, label: str, group: str, field: str, hint: str) -> Control:
    return Control(name, label, group, field, hint=hint, is_choice=True)


def _style(name: str, least: float, hint: str) -> Control:
    return Control(name, name.capitalize(), "Manner", name, least, 3.0, 0.05, hint=hint)


CONTROLS: tuple[Control, ...] = (
    _choice("gait", "Gait", "Timing", "gait", "The gait to make."),
    Control("frames", "Frames", "Timing", "frames", 8, 96, 1, hint="Length of one stride.", is_whole=True),
    _choice("fps", "Frame rate", "Timing", "frame_rate_hz", "Frames per second of the shot."),
    _choice("start", "Starts on", "Timing", "start", "The foot whose contact is frame 1."),
    Control("speed", "Speed", "Timing", "speed_m_s", 0.2, 3.0, 0.01, " m/s", "Speed over the ground."),
    Control(
        "duty_factor",
        "Duty factor",
        "Timing",
        "duty_factor",
        0.52,
        0.9,
        0.005,
        hint="Share of the stride each foot is down.",
    ),
    Control(
        "lag",
        "Lag",
        "Timing",
        "lag",
        0.05,
        0.45,
        0.005,
        hint="Share of a stride by which a fore foot lands after the hind foot of its side.",
    ),
    Control(
        "settle",
        "Settle",
        "Timing",
        "settle_strides",
        0.0,
        0.25,
        0.005,
        hint="Share of a stride after contact at which hips and chest are lowest.",
    ),
    _style("bounce", 0.0, "Rise and fall of hips and chest."),
    _style("sway", 0.0, "Sideways shift, roll and bend."),
    _style("nod", 0.0, "Nod of neck and head."),
    _style("lift", 0.3, "Lift and fold of the swinging legs."),
    _style("overlap", 0.0, "Swing of ears, jaw and tail."),
    _style("weight", 0.0, "How far the fetlocks sink under load."),
    _style("reach", 0.3, "Ground a foot covers in stance."),
    _choice("animal", "Animal", "Animal", "animal", "Whose bones and flesh."),
    Control(
        "withers_height",
        "Withers height",
        "Animal",
        "withers_height_m",
        0.5,
        2.5,
        0.01,
        " m",
        "Scales the whole animal.",
    ),
    Control(
        "cannon_ratio",
        "Cannon ratio",
        "Animal",
        "cannon_ratio",
        0.10,
        0.22,
        0.002,
        hint="Length of the fore cannon bone over withers height.",
    ),
    Control("neck_factor", "Neck", "Animal", "neck_factor", 0.5, 2.0, 0.02, hint="Length, times its own."),
    Control("back_factor", "Back", "Animal", "back_factor", 0.7, 1.4, 0.02, hint="Length, times its own."),
    Control("head_factor", "Head", "Animal", "head_factor", 0.5, 1.6, 0.02, hint="Size, times its own."),
)
_BY_NAME: Mapping[str, Control] = {control.name: control for control in CONTROLS}
_STYLE = {item.name for item in fields(Style)}
_PROPORTIONS = {item.name for item in fields(Proportions)}
_REQUEST = {item.name for item in fields(Request)}
_FIELDS = {control.field for control in CONTROLS}


def request_from(values: Mapping[str, str], start: Request) -> Request:
    """Turn what the page sent into a request; a control that is not sent is left to gaitgen.

    Parameters
    ----------
    values
        Name of a control to its value as text.
    start
        What the page started with; beside what comes with gaitgen, only its animal and gait may be asked
        for: a page must not read files of its own choice.

    Raises
    ------
    GaitgenError
        If a name is unknown or a value is not usable.
    """
    parts: dict[str, dict[str, object]] = {"request": {}, "style": {}, "proportions": {}}
    for name, text in values.items():
        if name not in _BY_NAME:
            raise RequestError(f"unknown control {name!r}; use one of {', '.join(_BY_NAME)}")
        control = _BY_NAME[name]
        part = "style" if control.field in _STYLE else "request"
        part = "proportions" if control.field in _PROPORTIONS else part
        parts[part][control.field] = _value(control, text)
    for name, known in choices(start).items():
        given = values.get(name)
        if given is not None and name in {"animal", "gait"} and given not in known:
            raise RequestError(f"unknown {name} {given[:40]!r}; use one of {', '.join(known)}")
    build = replace(start.proportions, **{**_all_own(_PROPORTIONS), **parts["proportions"]})  # type: ignore[arg-type]
    style = Style(**parts["style"])  # type: ignore[arg-type]
    changes = {**_all_own(_REQUEST), **parts["request"], "style": style, "proportions": build}
    return replace(start, **changes)  # type: ignore[arg-type]


def _all_own(names: set[str]) -> dict[str, object]:
    """Set back to gaitgen's own choice what the page has a control for; the rest stays as it started."""
    plain = {**vars(Request()), **vars(Proportions())}
    return {name: plain[name] for name in names & _FIELDS}


def _value(control: Control, text: str) -> object:
    if control.is_choice and control.field != "frame_rate_hz":
        return text
    try:
        return int(text) if control.is_whole else float(text)
    except ValueError:
        kind = "whole number" if control.is_whole else "number"
        message = f"{control.name} is {text[:40]!r}; give a {kind}"
        raise RequestError(message) from None


def values_of(request: Request) -> dict[str, str]:
    """Return the values with which the page starts: those that differ from gaitgen's own choice."""
    plain = Request()
    texts = {control.name: _text(_read(request, control)) for control in CONTROLS}
    own = {control.name: _text(_read(plain, control)) for control in CONTROLS}
    return {name: text for name, text in texts.items() if text is not None and text != own[name]}


def _text(value: object) -> str | None:
    if isinstance(value, Animal):
        return value.name
    return None if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)


def _read(request: Request, control: Control) -> object:
    holder: object = request
    if control.field in _STYLE:
        holder = request.style
    elif control.field in _PROPORTIONS:
        holder = request.proportions
    return getattr(holder, control.field)


def choices(start: Request) -> dict[str, tuple[str, ...]]:
    """List what each choice offers: what comes with gaitgen, and what the page starts with."""
    animal = start.animal if isinstance(start.animal, str) else start.animal.name
    rates = sorted({*FRAME_RATES_HZ, start.frame_rate_hz})
    return {
        "gait": tuple(dict.fromkeys((*gait_names(), start.gait))),
        "animal": tuple(dict.fromkeys((*animal_names(), animal))),
        "start": LIMBS,
        "fps": tuple(f"{rate:.10g}" for rate in rates),
    }


def table(start: Request) -> list[dict[str, object]]:
    """Return the controls as the page reads them, in order."""
    plain, offered = Request(), choices(start)
    rows: list[dict[str, object]] = []
    for control in CONTROLS:
        row: dict[str, object] = {
            "name": control.name,
            "label": control.label,
            "group": control.group,
            "hint": control.hint,
        }
        if control.is_choice:
            row["choices"] = list(offered[control.name])
        else:
            row |= {"least": control.least, "greatest": control.greatest, "step": control.step}
            row["unit"] = control.unit
        row["own"] = _text(_read(plain, control))
        rows.append(row)
    return rows
