"""Style factors of single legs: how one of them departs from the others."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields

from gaitgen.errors import RequestError

FEET = ("LF", "RF", "LH", "RH")
PerLeg = tuple[float, float, float, float]
EVEN: PerLeg = (1.0, 1.0, 1.0, 1.0)
GROUPS = {
    **{foot: (row,) for row, foot in enumerate(FEET)},
    "fore": (0, 1),
    "hind": (2, 3),
    "left": (0, 2),
    "right": (1, 3),
}
LIMITS = {"lift": (0.3, 3.0), "weight": (0.0, 3.0), "reach": (0.5, 1.5), "load": (0.5, 1.5)}
EXAMPLE = "'LF: lift=1.3 reach=0.9, hind: weight=1.2'"
_PART = re.compile(r"\s*([A-Za-z]+)\s*:\s*(.*)")


@dataclass(frozen=True)
class LegFactors:
    """Factors on single legs in the order of FEET, beside those of a style; 1 is as the others.

    Attributes
    ----------
    lift
        On the lift and fold of the swinging leg.
    weight
        On how far its fetlock sinks under load.
    reach
        On the ground that its foot covers in stance, which at an even speed is how long it is down.
    load
        On its share of what its pair carries: the other leg of the pair takes the rest.
    """

    lift: PerLeg = EVEN
    weight: PerLeg = EVEN
    reach: PerLeg = EVEN
    load: PerLeg = EVEN

    def __post_init__(self) -> None:
        """Refuse factors that are no factor.

        Raises
        ------
        RequestError
            For a factor that is not a finite number inside its limits.
        """
        for label, value in self.named().items():
            factor = label.split()[1]
            least, most = LIMITS[factor]
            if not least <= value <= most:
                raise RequestError(f"factor {label} is {value:g}; give a number from {least:g} to {most:g}")

    def named(self) -> dict[str, float]:
        """Return every factor by the leg and its name, such as ``LF lift``."""
        return {
            f"{foot} {item.name}": getattr(self, item.name)[row]
            for item in fields(self)
            for row, foot in enumerate(FEET)
        }

    @staticmethod
    def of(named: dict[str, float]) -> LegFactors:
        """Make factors from what `named` returns; what is not there is 1."""
        rows = {name: tuple(named.get(f"{foot} {name}", 1.0) for foot in FEET) for name in LIMITS}
        return LegFactors(**rows)  # type: ignore[arg-type]

    def times(self, other: LegFactors, strength: float = 1.0) -> LegFactors:
        """Multiply by other factors, to the power of a strength, inside the limits."""
        own, more = self.named(), other.named()
        made = {}
        for label, value in own.items():
            least, most = LIMITS[label.split()[1]]
            made[label] = min(max(value * more[label] ** strength, least), most)
        return LegFactors.of(made)


def parse_legs(text: str) -> LegFactors:
    """Read factors of single legs, such as ``LF: lift=1.3 reach=0.9, hind: weight=1.2``.

    Raises
    ------
    RequestError
        If a leg, a factor or a number cannot be read.
    """
    made = LegFactors()
    for part in text.split(","):
        found = _PART.fullmatch(part)
        group = found and next((name for name in GROUPS if name.lower() == found[1].lower()), None)
        if not found or not group or not found[2].strip():
            raise RequestError(
                f"cannot read {part.strip()!r} in the factors of legs; write them like {EXAMPLE}, for "
                f"{', '.join(GROUPS)}"
            )
        for word in found[2].split():
            made = made.times(_one(group, word))
    return made


def _one(group: str, word: str) -> LegFactors:
    """Read one factor of a group of legs."""
    name, _, value = word.partition("=")
    if name not in LIMITS:
        raise RequestError(
            f"cannot read {word!r} of {group}; write FACTOR=NUMBER, with {', '.join(LIMITS)}, like {EXAMPLE}"
        )
    try:
        number = float(value)
    except ValueError:
        raise RequestError(f"{value!r} of {group} is no number; write {name}=<number>") from None
    rows = GROUPS[group]
    if name == "load" and len(rows) > 1 and rows in {(0, 1), (2, 3)}:
        raise RequestError(
            f"load of {group} says nothing: it is shared between the two legs of a pair; name one of them"
        )
    return LegFactors.of({f"{FEET[row]} {name}": number for row in rows})
