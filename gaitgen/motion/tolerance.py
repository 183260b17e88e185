"""How far the splines through the keys may be from the motion."""

from __future__ import annotations

from dataclasses import dataclass, field

from gaitgen.option import option, options_of, refuse_outside_limits

# So far a planted toe may drift, and hardly shows it; that of a small animal shows it sooner (estimate:
# both ways along its print it then slips by less than the hundredth of the hip height that passes for none,
# and a tenth is left for the ground point, which is another on a foot that rolls).
LENGTH_MM, OF_HIP_HEIGHT = 3.0, 0.0045


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
    length_mm: float | None = field(
        default=None,
        metadata=option(
            "How far the splines through the keys may deviate in mm",
            "3 if not given, or where that is less 0.45 % of the hip height",
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

    def length_m(self, hip_height_m: float) -> float:
        """Return the tolerance for lengths of an animal whose hips stand so high. [m]"""
        if self.length_mm is not None:
            return self.length_mm / 1000.0
        return min(LENGTH_MM / 1000.0, OF_HIP_HEIGHT * hip_height_m)
