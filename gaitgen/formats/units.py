"""Units of length that files are written and read in."""

from __future__ import annotations

from collections.abc import Mapping

# The inch is 0.0254 m exactly (international yard and pound agreement, 1959).
METRES_PER_UNIT: Mapping[str, float] = {"cm": 0.01, "m": 1.0, "in": 0.0254, "mm": 0.001}
UNIT_WORDS: Mapping[str, str] = {"cm": "cm", "m": "m", "in": "inches", "ft": "feet", "mm": "mm"}
# Rigs are built in two more; the foot is 0.3048 m exactly (the same agreement).
RIG_UNITS_M: Mapping[str, float] = {**METRES_PER_UNIT, "dm": 0.1, "ft": 0.3048}
# A rig may have been scaled by tens since it was built in one of these: a unit of another length is "100 m".
SCALED_UNITS = tuple(f"{10.0**k:g} m" for k in (1, 2))
LEAST_UNIT_M, MOST_UNIT_M = 1e-6, 1e6


def unit_m(unit: str) -> float:
    """Return the length of a unit of rigs. [m]

    Raises
    ------
    ValueError
        If it is none.
    """
    if unit in RIG_UNITS_M:
        return RIG_UNITS_M[unit]
    number, space, word = unit.partition(" ")
    length = float(number)
    if (space, word) != (" ", "m") or not LEAST_UNIT_M <= length <= MOST_UNIT_M:
        raise ValueError(unit)
    return length
