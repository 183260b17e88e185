"""What the numbers of a gait with a lead become as an animal goes slower in it: [gait.NAME.slow]."""

from __future__ import annotations

from dataclasses import dataclass, replace

Beats = tuple[float, float, float, float]


@dataclass(frozen=True)
class SlowGait:
    """Numbers of a gait with a lead at a low Froude number; up to a higher one they go over to the usual.

    Attributes
    ----------
    froude
        Where they hold, and below. [v^2 / (g h)]
    until_froude
        From where on the usual numbers hold. [v^2 / (g h)]
    beats, duty_factor_range, fore_duty_more, most_rise
        As in Gait. [shares of a stride; hip heights]
    """

    froude: float
    until_froude: float
    beats: Beats
    duty_factor_range: tuple[float, float]
    fore_duty_more: float
    most_rise: float

    def mixed(self, froude: float, usual: SlowGait) -> SlowGait:
        """Return the numbers at a Froude number [v^2 / (g h)], between these and ``usual`` ones."""
        share = (self.until_froude - froude) / (self.until_froude - self.froude)
        share = min(1.0, max(0.0, share))

        def between(here: float, there: float) -> float:
            return there + share * (here - there)

        hind, later_hind, fore, later_fore = map(between, self.beats, usual.beats)
        least, greatest = map(between, self.duty_factor_range, usual.duty_factor_range)
        return replace(
            self,
            beats=(hind, later_hind, fore, later_fore),
            duty_factor_range=(least, greatest),
            fore_duty_more=between(self.fore_duty_more, usual.fore_duty_more),
            most_rise=between(self.most_rise, usual.most_rise),
        )
