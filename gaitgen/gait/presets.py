"""Ready-made styles by name, which may be mixed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources

from gaitgen.animal.toml_table import Table, nearest, parse
from gaitgen.errors import RequestError
from gaitgen.gait.leg_factors import FEET, LIMITS, LegFactors
from gaitgen.gait.style import Style
from gaitgen.option import options_of

# How much of a style is applied at the least and at the most.
STRENGTHS = (0.0, 3.0)
# How many times as long a style may make a stride, at the least and at the most (estimates).
TIMES = (0.5, 2.0)


@dataclass(frozen=True)
class Preset:
    """One ready-made style.

    Attributes
    ----------
    name, says
        Its name, and what it looks like, in a sentence.
    style
        Its factors.
    of_leg, of_walking_leg, of_hind_leg, of_walking_hind_leg
        Its factors of the leg that is named with it, and those it has besides where the gait walks, if it is
        a hind leg, and if both is so; empty for a style of the whole animal.
    walk_time
        How many times as long a stride of a gait that walks takes, where nobody asks how long or how fast.
    """

    name: str
    says: str
    style: Style
    of_leg: tuple[tuple[str, float], ...] = ()
    of_walking_leg: tuple[tuple[str, float], ...] = ()
    of_hind_leg: tuple[tuple[str, float], ...] = ()
    of_walking_hind_leg: tuple[tuple[str, float], ...] = ()
    walk_time: float = 1.0

    def of(self, foot: str | None, *, walks: bool) -> Style:
        """Return its factors, those of a leg among them."""
        named: dict[str, float] = {}
        is_hind = foot in FEET[2:]
        for factors in (
            self.of_leg,
            self.of_walking_leg if walks else (),
            self.of_hind_leg if is_hind else (),
            self.of_walking_hind_leg if walks and is_hind else (),
        ):
            for name, value in factors:
                label = f"{foot} {name}"
                named[label] = named.get(label, 1.0) * value
        return replace(self.style, legs=LegFactors.of(named))


@lru_cache(maxsize=1)
def presets() -> tuple[Preset, ...]:
    """List the styles that come with gaitgen."""
    return styles_in(parse((resources.files("gaitgen") / "styles.toml").read_bytes(), "styles.toml"))


def styles_in(top: Table) -> tuple[Preset, ...]:
    """Read ready-made styles, one table each.

    Raises
    ------
    AnimalError
        If a table or a value of it is not usable.
    """
    found = []
    for name in top.content:
        table = top.table(name)
        says = table.text("says")
        given = {
            each.field: table.number(each.field, *(each.option.limits or (0.0, 3.0)))
            for each in options_of(Style)
            if table.has(each.field)
        }
        leg, walking, hind, walking_hind = _of_a_leg(table) or ((), (), (), ())
        walk_time = table.number_or(1.0, "walk_time", *TIMES)
        table.no_more()
        found.append(Preset(name, says, Style.of(given), leg, walking, hind, walking_hind, walk_time))
    return tuple(found)


def _of_a_leg(table: Table) -> tuple[tuple[tuple[str, float], ...], ...]:
    """Read the factors of a leg, and those besides where the gait walks, of a hind leg, and of both."""
    if not table.has("leg"):
        return ()
    leg = table.table("leg")
    walk, hind = (leg.table(name) if leg.has(name) else None for name in ("walk", "hind"))
    tables = [leg, walk, hind, hind.table("walk") if hind and hind.has("walk") else None]
    found = [
        tuple((key, one.number(key, *limits)) for key, limits in LIMITS.items() if one and one.has(key))
        for one in tables
    ]
    for one in reversed(tables):
        if one:
            one.no_more()
    return tuple(found)


def mixed(names: Sequence[str], beside: Style, *, walks: bool = True) -> Style:
    """Mix styles: their factors, and those beside, are multiplied, and stay inside their limits.

    Parameters
    ----------
    names
        Styles, each alone or with what it is of and how much of it: ``lame LF``, ``old 0.5``.
    beside
        Factors beside them.
    walks
        Whether it is for a gait that walks.

    Raises
    ------
    RequestError
        If there is no such style, a leg is missing or one too many, or a strength is no number.
    """
    made = beside
    for name in names:
        preset, foot, strength = _read(name)
        made = made.times(preset.of(foot, walks=walks), strength)
    return made


def walk_times(names: Sequence[str]) -> float:
    """Return how many times as long as plain ones strides of a walk take in a mix of styles.

    Raises
    ------
    RequestError
        As `mixed` does.
    """
    found = (_read(name) for name in names)
    return float(math.prod(preset.walk_time**strength for preset, _, strength in found))


def _read(text: str) -> tuple[Preset, str | None, float]:
    """Read one style, the leg that it is of, and how much of it."""
    name, *words = text.split()
    known = {preset.name: preset for preset in presets()}
    if name not in known:
        raise RequestError(f"unknown style {name!r}{nearest(name, known)}; use some of {', '.join(known)}")
    preset, foot, strength = known[name], None, 1.0
    if preset.of_leg:
        foot = words.pop(0).upper() if words else None
        if foot not in FEET:
            raise RequestError(
                f"the style {text!r} names no leg; write it like '{name} LF', with one of {', '.join(FEET)}"
            )
    if words:
        strength = _strength(text, words)
    return preset, foot, strength


def _strength(text: str, words: Sequence[str]) -> float:
    least, most = STRENGTHS
    try:
        (word,) = words
        strength = float(word)
    except ValueError:
        strength = -1.0
    if not least <= strength <= most:
        raise RequestError(
            f"cannot read {' '.join(words)!r} in the style {text!r}; after its name goes how much of it, a "
            f"number from {least:g} to {most:g}"
        )
    return strength


def parse_names(text: str) -> tuple[str, ...]:
    """Read names such as ``proud, heavy``."""
    return tuple(word.strip() for word in text.split(",") if word.strip())
