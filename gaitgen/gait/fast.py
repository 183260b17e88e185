"""What a gait's numbers become as it goes faster than usually."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.animal.own_gait import DUTY_LIMITS, FORE_MORE_LIMITS, FROUDE_LIMITS, LAG_LIMITS
from gaitgen.animal.toml_table import Table


@dataclass(frozen=True)
class Fast:
    """Numbers of a symmetrical gait at a Froude number above its usual one; between the two they go evenly.

    Attributes
    ----------
    froude
        Where they hold, and from there on.
    lag, duty_factor_range, fore_duty_more
        As in Gait.
    """

    froude: float
    lag: float
    duty_factor_range: tuple[float, float]
    fore_duty_more: float


def read_fast(table: Table, usual_froude: float) -> Fast:
    """Read [fast].

    Raises
    ------
    AnimalError
        Where it does not hold from a Froude number above the usual one, or a number is not one.
    """
    found = Fast(
        froude=table.number("froude", *FROUDE_LIMITS),
        lag=table.number("lag", *LAG_LIMITS),
        duty_factor_range=table.limits("duty_factor_range", *DUTY_LIMITS),
        fore_duty_more=table.number("fore_duty_more", *FORE_MORE_LIMITS),
    )
    if found.froude <= usual_froude:
        raise table.fail(f"froude is not above the usual {usual_froude:g}; make it larger")
    table.no_more({"source"})
    return found
