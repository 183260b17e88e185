"""Style factors: how far the motion departs from the neutral, physical one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaitgen.errors import RequestError
from gaitgen.option import Option, Slider, in_digits, option, options_of, outside_limits


def _factor(thing: str, least: float = 0.0, label: str = "") -> Mapping[str, Option]:
    slider = Slider("Style", step=0.05, label=label)
    return option(f"Factor on {thing}", limits=(least, 3.0), slider=slider)


@dataclass(frozen=True)
class Style:
    """Factors, 1 = the physical motion; each scales the one thing that its option says."""

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
