"""What an animal does its own way in a gait: [gait.NAME] in its file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaitgen.animal.slow_gait import SlowGait
from gaitgen.animal.toml_table import Table, nearest

LAG_LIMITS = (0.0, 1.0)
DUTY_LIMITS = (0.1, 0.9)
FORE_MORE_LIMITS = (-0.2, 0.2)
LONGER_LIMITS = (0.8, 1.5)
FROUDE_LIMITS = (0.0, 100.0)
RISE_LIMITS = (0.0, 0.2)
LONGEST_LIMITS = (1.0, 4.0)
# The four beats of a gait with a lead: each pair has a foot that lands first and one that leads.
BEATS = ("trailing_hind", "leading_hind", "trailing_fore", "leading_fore")
# Tables of the animal's file that a gait may have its own values of.
OVERLAID = ("back", "tempo", "limbs", "hanging")


@dataclass(frozen=True)
class OwnGait:
    """Numbers of one gait that this animal has its own way; None leaves the gait's.

    Attributes
    ----------
    lag
        Share of a stride by which a fore foot lands after the hind foot of its side.
    beats
        Share of a stride at which each foot of BEATS lands.
    duty_factor_range
        Least and greatest share of the stride a foot is down.
    fore_duty_more
        By how much more of the stride a fore foot is down than a hind foot.
    leading_longer
        How many times as long the leading fore foot is down as the one that lands first.
    froude_range
        Froude numbers between which the animal goes in this gait.
    usual_froude
        Froude number at which it goes if nothing is asked.
    longest_strides
        How many times as long as usual a stride may take, at the most.
    most_rise
        How much higher than it stands the body may be carried where its legs have room, in hip heights.
    slow
        What becomes of these as it goes slower.
    """

    lag: float | None = None
    beats: tuple[float, float, float, float] | None = None
    duty_factor_range: tuple[float, float] | None = None
    fore_duty_more: float | None = None
    leading_longer: float | None = None
    froude_range: tuple[float, float] | None = None
    usual_froude: float | None = None
    longest_strides: float | None = None
    most_rise: float | None = None
    slow: SlowGait | None = None


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

    def span(key: str, limits: tuple[float, float]) -> tuple[float, float] | None:
        return table.limits(key, *limits) if table.has(key) else None

    own = OwnGait(
        lag=number("lag", LAG_LIMITS),
        beats=read_beats(table.table("beats")) if table.has("beats") else None,
        duty_factor_range=span("duty_factor_range", DUTY_LIMITS),
        fore_duty_more=number("fore_duty_more", FORE_MORE_LIMITS),
        leading_longer=number("leading_longer", LONGER_LIMITS),
        froude_range=span("froude_range", FROUDE_LIMITS),
        usual_froude=number("usual_froude", FROUDE_LIMITS),
        longest_strides=number("longest_strides", LONGEST_LIMITS),
        most_rise=number("most_rise", RISE_LIMITS),
        slow=_slow(table.table("slow")) if table.has("slow") else None,
    )
    table.text("source")
    table.no_more(
        {"lag_source", "duty_factor_source", "froude_source", "longest_source", "rise_source", *OVERLAID}
    )
    return own


def read_beats(table: Table) -> tuple[float, float, float, float]:
    """Read when each foot of BEATS lands, as shares of a stride.

    Raises
    ------
    AnimalError
        If one is missing or no share.
    """
    beats = tuple(table.number(name, 0.0, 0.999) for name in BEATS)
    table.no_more({"source"})
    return beats  # type: ignore[return-value]


def _slow(table: Table) -> SlowGait:
    found = SlowGait(
        froude=table.number("froude", *FROUDE_LIMITS),
        until_froude=table.number("until_froude", *FROUDE_LIMITS),
        beats=read_beats(table.table("beats")),
        duty_factor_range=table.limits("duty_factor_range", *DUTY_LIMITS),
        fore_duty_more=table.number("fore_duty_more", *FORE_MORE_LIMITS),
        most_rise=table.number("most_rise", *RISE_LIMITS),
    )
    if found.until_froude <= found.froude:
        raise table.fail(f"until_froude is not above froude, {found.froude:g}; make it larger")
    table.text("source")
    table.no_more(set())
    return found


def overlays(top: Table) -> Mapping[str, Table]:
    """Lay what an animal has its own way in a gait over its file: name of the gait to the whole file.

    Only the tables OVERLAID may be laid over; gaits that change none of them are left out.
    """
    if not top.has("gait"):
        return {}
    found = {}
    for table in top.tables("gait"):
        own = {key: table.content[key] for key in OVERLAID if key in table.content}
        if own:
            where = f"{top.where} with [{table.name}]"
            found[table.name.removeprefix("gait.")] = Table(where, top.name, _laid_over(top.content, own))
    return found


def _laid_over(under: Mapping[str, object], over: Mapping[str, object]) -> dict[str, object]:
    """Put values over others, table in table."""
    both = dict(under)
    for key, value in over.items():
        below = both.get(key)
        both[key] = _laid_over(below, value) if isinstance(below, dict) and isinstance(value, dict) else value
    return both
