"""Everything that was seen in a clip, and the limits it is held against."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.gait import Gait
from gaitgen.check.limits import Limits
from gaitgen.check.meant import NOTHING, Meant
from gaitgen.check.noise import Noise
from gaitgen.check.shot.found import Shot
from gaitgen.check.shot.strides import Stretch
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import Wave
from gaitgen.motion.contacts import Feet
from gaitgen.motion.loop import Loop

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

UNSURE_SHARE = 0.05  # of a stride
STANDS_OUT = 5.0  # deviations of the clip's own noise
ROUNDED = 1e-9  # a share of whole frames is at its limit though its last digits are not
UNDER_FEET = ("of the shot", "under each foot", "under the feet")  # grounds that are not level
# Frames a second under which much falls between them: contacts, and the turns of joints about these. A clip
# on twos at 24 or 30 that is checked with one frame a pose has 12 or 15.
COARSE_BELOW_HZ = 16.0
LEAST_SPEED = 0.02  # of a body that goes at all, in hip heights a second


@dataclass(frozen=True, eq=False)
class Seen:
    """What the findings are made from.

    Attributes
    ----------
    motion, loop, noise, feet, limits
        The clip, how it closes, how noisy it is, what the feet do, what is let through in its gait.
    gait, no_gait
        One stride in the science's terms, or the reason why there is none.
    plane_m
        Height of the ground plane of the file, which the soles should stand on. [m]
    plane_from
        Where that height is taken from, in words.
    meant
        What is as it should be although it is unusual.
    waves
        Height of ``hips``, ``chest`` and ``head``, over whole strides; empty without a gait.
    shot
        What a clip without a period is; None for a cycle, or a row of strides that are alike.
    parts
        Its stretches, each seen by itself from the frame that goes along its way.
    first_row
        Where a stretch begins in its clip.
    usual_period
        Length of a stride where there is no gait; of the whole clip if 0. [frames]
    """

    motion: Tracked
    loop: Loop
    noise: Noise
    feet: Feet
    limits: Limits
    gait: Gait | None
    no_gait: str
    plane_m: float = 0.0
    plane_from: str = "zero"
    meant: Meant = NOTHING
    waves: dict[str, Wave] = field(default_factory=dict)
    shot: Shot | None = None
    parts: tuple[Part, ...] = ()
    first_row: int = 0
    usual_period: float = 0.0

    @property
    def period(self) -> float:
        """Length of a stride, or what comes nearest to it. [frames]"""
        if self.gait is not None:
            return self.gait.period
        return self.usual_period or float(self.motion.frames)

    @property
    def unsure_frames(self) -> int:
        """Frames by which a noisy clip's contacts and lift-offs are unsure."""
        if self.noise.angle_deg <= 0.0:
            return 0
        return max(2, round(UNSURE_SHARE * self.period))

    @property
    def coarseness(self) -> float:
        """How many times longer a frame lasts than one that is short enough; 1 where it is."""
        return max(1.0, COARSE_BELOW_HZ / self.motion.frame_rate_hz)

    @property
    def is_coarse(self) -> bool:
        """Whether frames are so long that contacts fall between them."""
        return self.coarseness > 1.0

    @property
    def is_levelled(self) -> bool:
        """Whether heights of feet are over a ground that is not level, each over what is under it."""
        return self.plane_from in UNDER_FEET

    @property
    def is_backward(self) -> bool:
        """Whether the body goes the other way than it faces; in a shot, along its way."""
        motion = self.motion if self.shot is None else self.shot.straight  # which its velocity is along
        heading = np.exp(1j * motion.heading_rad).mean()
        along = float(self.feet.body_m_s[0] * heading.real + self.feet.body_m_s[1] * heading.imag)
        return along < -LEAST_SPEED * self.motion.hip_height_m

    def frame(self, row: int) -> int:
        """Return the frame, from 1, of a row; a loop goes round."""
        if self.loop.closes and row >= self.motion.frames:
            row %= self.loop.frames
        return int(row) + 1 + self.first_row

    def finding(
        self,
        kind: str,
        limb: str,
        frames: tuple[int, int],
        amount: float,
        do: str,
        *,
        below: bool = False,
        noise: float = 0.0,
        limit_name: str = "",
        joint: str = "",
    ) -> list[Finding]:
        """Return a finding if an amount is past its limit and stands out of the noise, else nothing.

        Parameters
        ----------
        kind, limb, frames, amount, do
            As in Finding; frames are rows from 0.
        below
            Whether the lower side of the limit holds.
        noise
            Standard deviation of the amount from the clip's noise.
        limit_name
            Name of the limit where it is not the kind; without such a limit there is nothing to find.
        joint
            As in Finding.
        """
        name = limit_name or kind.replace(" ", "_")
        if name not in self.limits:
            return []
        limit = self.limits[name]
        room = STANDS_OUT * noise
        edge = limit.bottom - room if below else limit.top + room
        if (amount >= edge - ROUNDED) if below else (amount <= edge + ROUNDED):
            return []
        span = _span(limit.least, limit.most)
        excess = 1.0 + abs(amount - edge) / span
        return [
            Finding(
                kind,
                limb,
                self.frame(frames[0]),
                self.frame(frames[1]),
                amount,
                limit.unit,
                edge,
                excess,
                f"{limit.why}; {room:.2g} {limit.unit} wider for the noise of the clip"
                if room
                else limit.why,
                do,
                joint,
            )
        ]


@dataclass(frozen=True, eq=False)
class Part:
    """A stretch of a clip without a period.

    Attributes
    ----------
    stretch
        What the animal does in it.
    seen
        It alone, and a few rows on either side.
    """

    stretch: Stretch
    seen: Seen


def _span(least: float | None, most: float | None) -> float:
    if least is not None and most is not None:
        return max((most - least) / 2.0, 1e-6)
    return max(abs(most if most is not None else least or 0.0), 1.0)
