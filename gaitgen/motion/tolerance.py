"""How far the splines through the keys may be from the motion."""

from __future__ import annotations

from dataclasses import dataclass, field

from gaitgen.option import option, options_of, refuse_outside_limits


@dataclass(frozen=True)
class Tolerance:
    """How far the splines may be from the motion at any frame, for angles, lengths and plain curves.

    Attributes
    ----------
    share
        For curves without a unit that run from 0 to 1.
    """

    angle_deg: float = field(
        default=0.5,
        metadata=option(
            "How far the splines through the keys may deviate in degrees",
            name="tolerance_deg",
            label="tolerance in degrees",
            limits=(0.001, 45.0),
        ),
    )
    length_mm: float = field(
        default=3.0,
        metadata=option(
            "How far the splines through the keys may deviate in mm",
            name="tolerance_mm",
            label="tolerance in mm",
            limits=(0.001, 1000.0),
        ),
    )
    share: float = field(
        default=0.01,
        metadata=option(
            "How far the splines through the keys of breath, toe roll and planted may deviate",
            label="tolerance of shares",
            limits=(1e-6, 0.5),
            is_offered=False,
        ),
    )

    def __post_init__(self) -> None:
        """Refuse what is no tolerance.

        Raises
        ------
        RequestError
            For a number that is not finite or outside its limits.
        """
        refuse_outside_limits(options_of(type(self)), vars(self))
