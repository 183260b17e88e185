"""The marks of a plot of strides against size: one for each change of gait, and each usual stride."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.gait.scaling import Change, Pace, Scaled


@dataclass(frozen=True, eq=False)
class Point:
    """One mark.

    Attributes
    ----------
    kind
        ``walk``, ``run``, ``lead`` or ``other``.
    mass_kg, hip_m
        Body mass and height of the hip joint of its animal. [kg], [m]
    speed_m_s, frequency_hz, length_m, froude
        The stride. [m/s], [Hz], [m]
    number
        Place of the animal among all, by mass, from 1.
    """

    kind: str
    mass_kg: float
    hip_m: float
    speed_m_s: float
    frequency_hz: float
    length_m: float
    froude: float
    number: int

    def at(self, x: str, y: str) -> tuple[float, float]:
        """Return its place on axes with the words of a `ScalingLine`."""
        across = {"mass": self.mass_kg, "hip height": self.hip_m, "froude": self.froude}
        up = {
            "speed": self.speed_m_s,
            "frequency": self.frequency_hz,
            "length": self.length_m,
            "relative length": self.length_m / self.hip_m,
        }
        return across[x], up[y]


def kind_of_change(change: Change) -> str:
    """Say which mark a change of gait gets: ``run``, ``lead`` or ``other``; none between gallops."""
    if change.slower.walks:
        return "run" if change.to_run and not change.to_lead else "other"
    return "lead" if change.to_lead else ""


def change_points(each: Scaled, number: int) -> list[Point]:
    """Return the marks of the changes of gait of one animal."""
    kinds = [(kind_of_change(change), change.pace) for change in each.changes]
    return [_point(kind, each, pace, number) for kind, pace in kinds if kind]


def usual_points(each: Scaled, number: int) -> list[Point]:
    """Return the marks of the usual strides of one animal."""
    kinds = [("walk" if p.gait.walks else "lead" if p.gait.has_lead else "run", p) for p in each.usual]
    return [_point(kind, each, pace, number) for kind, pace in kinds]


def _point(kind: str, each: Scaled, pace: Pace, number: int) -> Point:
    return Point(
        kind=kind,
        mass_kg=each.animal.body_mass_kg,
        hip_m=each.animal.hip_height_m,
        speed_m_s=pace.speed_m_s,
        frequency_hz=pace.frequency_hz,
        length_m=pace.stride_length_m,
        froude=pace.froude,
        number=number,
    )
