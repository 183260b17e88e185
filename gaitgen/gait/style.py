"""Style factors: how far the motion departs from the neutral, physical one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from gaitgen.errors import RequestError
from gaitgen.gait.leg_factors import LIMITS, LegFactors
from gaitgen.option import Option, Slider, in_digits, option, options_of, outside_limits


def _factor(thing: str, least: float = 0.0, label: str = "") -> Mapping[str, Option]:
    slider = Slider("Style", step=0.05, label=label)
    return option(f"Factor on {thing}", limits=(least, 3.0), slider=slider)


@dataclass(frozen=True)
class Style:
    """Factors, 1 = the physical motion; each scales the one thing that its option says.

    Attributes
    ----------
    legs
        The same for single legs; no option of its own, as a request has it in words.
    """

    bounce: float = field(default=1.0, metadata=_factor("the rise and fall of hips and chest"))
    sway: float = field(default=1.0, metadata=_factor("sideways shift, roll and bend"))
    nod: float = field(default=1.0, metadata=_factor("the nod of neck and head"))
    lift: float = field(default=1.0, metadata=_factor("the lift and fold of the swinging legs", 0.3))
    overlap: float = field(
        default=1.0, metadata=_factor("how far ears, jaw and tail swing", label="Ear and tail swing")
    )
    weight: float = field(
        default=1.0, metadata=_factor("how far the fetlocks sink under load", label="Fetlock sink")
    )
    reach: float = field(default=1.0, metadata=_factor("the ground a foot covers in stance", 0.3))
    legs: LegFactors = field(default_factory=LegFactors)

    def __post_init__(self) -> None:
        """Refuse factors that are no factor.

        Raises
        ------
        RequestError
            For a factor that is not a finite number inside the limits of its option.
        """
        for found, value, (least, greatest) in outside_limits(options_of(type(self)), vars(self)):
            raise RequestError(
                f"style factor {found.field} is {in_digits(value)}; "
                f"give a number from {least:g} to {greatest:g}"
            )

    def named(self) -> dict[str, float]:
        """Return every factor by its name, those of single legs as ``LF lift``."""
        own = {found.field: float(getattr(self, found.field)) for found in options_of(type(self))}
        return own | self.legs.named()

    @staticmethod
    def of(named: Mapping[str, float]) -> Style:
        """Make a style from what `named` returns; what is not there is 1."""
        own = {found.field: named.get(found.field, 1.0) for found in options_of(Style)}
        return Style(**own, legs=LegFactors.of(dict(named)))

    def changed(self, name: str, value: float) -> Style:
        """Return the style with another value of one factor, by the name that `named` has for it."""
        return Style.of({**self.named(), name: value})

    def times(self, other: Style, strength: float = 1.0) -> Style:
        """Multiply by the factors of another style, to the power of a strength, inside the limits."""
        made = {}
        for found in options_of(Style):
            least, most = found.option.limits or (0.0, 3.0)
            value = getattr(self, found.field) * getattr(other, found.field) ** strength
            made[found.field] = min(max(value, least), most)
        return replace(self, **made, legs=self.legs.times(other.legs, strength))


def factor_limits(name: str) -> tuple[float, float]:
    """Return the least and the greatest value of a factor, by the name that `Style.named` has for it."""
    own = {found.field: found.option.limits for found in options_of(Style)}
    limits = own[name] if name in own else LIMITS[name.split()[1]]
    assert limits is not None  # noqa: S101
    return limits
