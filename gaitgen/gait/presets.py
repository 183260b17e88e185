"""Ready-made styles by name, which may be mixed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from gaitgen.animal.toml_table import nearest, parse
from gaitgen.errors import RequestError
from gaitgen.gait.style import Style
from gaitgen.option import options_of


@dataclass(frozen=True)
class Preset:
    """One ready-made style.

    Attributes
    ----------
    name, says
        Its name, and what it looks like, in a sentence.
    style
        Its factors.
    """

    name: str
    says: str
    style: Style


@lru_cache(maxsize=1)
def presets() -> tuple[Preset, ...]:
    """List the styles that come with gaitgen."""
    top = parse((resources.files("gaitgen") / "styles.toml").read_bytes(), "styles.toml")
    found = []
    for name in top.content:
        table = top.table(name)
        says = table.text("says")
        given = {
            each.field: table.number(each.field, *(each.option.limits or (0.0, 3.0)))
            for each in options_of(Style)
            if table.has(each.field)
        }
        table.no_more()
        found.append(Preset(name, says, Style(**given)))
    return tuple(found)


def mixed(names: Sequence[str], beside: Style) -> Style:
    """Mix styles: their factors, and those beside, are multiplied, and stay inside their limits.

    Raises
    ------
    RequestError
        If there is no such style.
    """
    known = {preset.name: preset.style for preset in presets()}
    factors = dict(vars(beside))
    for name in names:
        if name not in known:
            raise RequestError(
                f"unknown style {name!r}{nearest(name, known)}; use some of {', '.join(known)}"
            )
        factors = {key: value * getattr(known[name], key) for key, value in factors.items()}
    for each in options_of(Style):
        least, most = each.option.limits or (0.0, 3.0)
        factors[each.field] = min(max(factors[each.field], least), most)
    return Style(**factors)


def parse_names(text: str) -> tuple[str, ...]:
    """Read names such as ``proud, heavy``."""
    return tuple(word.strip() for word in text.split(",") if word.strip())
