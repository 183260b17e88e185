"""What an animal does its own way in a gait: [gait.NAME] in its file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaitgen.animal.toml_table import Table, nearest

LAG_LIMITS = (0.05, 0.45)
DUTY_LIMITS = (0.52, 0.9)
FORE_MORE_LIMITS = (-0.2, 0.2)
FROUDE_LIMITS = (0.01, 10.0)


@dataclass(frozen=True)
class OwnGait:
    """Numbers of one gait that this animal has its own way; None leaves the gait's.

    Attributes
    ----------
    lag
        Share of a stride by which a fore foot lands after the hind foot of its side.
    duty_factor_range
        Least and greatest share of the stride a foot is down.
    fore_duty_more
        By how much more of the stride a fore foot is down than a hind foot.
    froude_limit
        Froude number above which it would change gait.
    """

    lag: float | None = None
    duty_factor_range: tuple[float, float] | None = None
    fore_duty_more: float | None = None
    froude_limit: float | None = None


def read_own_gaits(top: Table, gaits: tuple[str, ...]) -> Mapping[str, OwnGait]:
    """Read every [gait.NAME]; none if there is no [gait].

    Raises
    ------
    AnimalError
        If a table is about a gait that the animal does not use, or a number is outside its limits.
    """
    if not top.has("gait"):
        return {}
    found = {}
    for table in top.tables("gait"):
        name = table.name.removeprefix("gait.")
        if name not in gaits:
            raise table.fail(f"is about a gait that is not in gaits{nearest(name, gaits)}; add it there")
        found[name] = _own(table)
    return found


def _own(table: Table) -> OwnGait:
    def number(key: str, limits: tuple[float, float]) -> float | None:
        return table.number(key, *limits) if table.has(key) else None

    duty = table.limits("duty_factor_range", *DUTY_LIMITS) if table.has("duty_factor_range") else None
    own = OwnGait(
        lag=number("lag", LAG_LIMITS),
        duty_factor_range=duty,
        fore_duty_more=number("fore_duty_more", FORE_MORE_LIMITS),
        froude_limit=number("froude_limit", FROUDE_LIMITS),
    )
    table.text("source")
    table.no_more({"lag_source", "duty_factor_source", "froude_source"})
    return own
