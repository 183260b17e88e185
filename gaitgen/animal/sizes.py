"""The proportions of an animal that can be asked for."""

from __future__ import annotations

from dataclasses import dataclass, field

from gaitgen.errors import AnimalError
from gaitgen.option import Slider, in_digits, option, options_of, outside_limits

_OWN = "the animal's own if not given"
_TIMES = "times the animal's own"


@dataclass(frozen=True)
class Proportions:
    """What to change in an animal; None leaves it as it is.

    With another cannon bone (carpus to fetlock) the hind cannon changes by the same factor, and forearm and
    arm, gaskin and thigh, make up for it. With longer legs at the same height the trunk is smaller.
    """

    withers_height_m: float | None = field(
        default=None,
        metadata=option(
            "Height at the withers in m",
            f"scales the whole animal; {_OWN}",
            name="withers_height",
            limits=(0.05, 5.0),
            unit="metres",
            slider=Slider("Animal", step=0.01, unit=" m", ends=(0.5, 2.5)),
        ),
    )
    body_mass_kg: float | None = field(
        default=None,
        metadata=option(
            "Body mass in kg",
            "follows the height if not given",
            name="body_mass",
            limits=(0.05, 20000.0),
            unit="kilograms",
        ),
    )
    cannon_ratio: float | None = field(
        default=None,
        metadata=option(
            "Length of the fore cannon bone over withers height",
            _OWN,
            limits=(0.08, 0.28),
            unit="of the withers height",
            slider=Slider("Animal", step=0.002),
        ),
    )
    leg_factor: float | None = field(
        default=None,
        metadata=option(
            "Length of the legs, times its own",
            "1 if not given; the height stays, so the trunk changes against it",
            limits=(0.7, 1.4),
            unit=_TIMES,
            slider=Slider("Animal", step=0.02, label="Legs"),
        ),
    )
    neck_factor: float | None = field(
        default=None,
        metadata=option(
            "Length of the neck, times its own",
            "1 if not given",
            limits=(0.5, 2.0),
            unit=_TIMES,
            slider=Slider("Animal", step=0.02, label="Neck"),
        ),
    )
    back_factor: float | None = field(
        default=None,
        metadata=option(
            "Length of the back, times its own",
            "1 if not given",
            limits=(0.7, 1.4),
            unit=_TIMES,
            slider=Slider("Animal", step=0.02, label="Back"),
        ),
    )
    head_factor: float | None = field(
        default=None,
        metadata=option(
            "Size of the head, times its own",
            "1 if not given",
            limits=(0.5, 1.6),
            unit=_TIMES,
            slider=Slider("Animal", step=0.02, label="Head"),
        ),
    )

    def __post_init__(self) -> None:
        """Refuse numbers that are no size of an animal.

        Raises
        ------
        AnimalError
            For a number that is not finite or outside the limits of its option.
        """
        for found, value, (least, greatest) in outside_limits(options_of(type(self)), vars(self)):
            raise AnimalError(
                f"{found.field} is {in_digits(value)}; give a number from {least:g} to {greatest:g} "
                f"({found.option.unit})"
            )
