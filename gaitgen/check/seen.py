"""Everything that was seen in a clip, and the limits it is held against."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.gait import Gait, find_gait
from gaitgen.check.limits import Limits
from gaitgen.check.noise import Noise, find_noise
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import Wave, wave
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import Feet, find_feet
from gaitgen.motion.loop import Loop, find_loop

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

UNSURE_SHARE = 0.05  # of a stride
STANDS_OUT = 5.0  # deviations of the clip's own noise


@dataclass(frozen=True, eq=False)
class Seen:
    """What the findings are made from.

    Attributes
    ----------
    motion, loop, noise, feet, limits
        The clip, how it closes, how noisy it is, what the feet do, what is let through.
    gait, no_gait
        One stride in the science's terms, or the reason why there is none.
    waves
        Height of ``hips``, ``chest`` and ``head``, over whole strides; empty without a gait.
    """

    motion: Tracked
    loop: Loop
    noise: Noise
    feet: Feet
    limits: Limits
    gait: Gait | None
    no_gait: str
    waves: dict[str, Wave] = field(default_factory=dict)

    @property
    def unsure_frames(self) -> int:
        """Frames by which a noisy clip's contacts and lift-offs are unsure."""
        if self.noise.angle_deg <= 0.0:
            return 0
        period = float(self.motion.frames) if self.gait is None else self.gait.period
        return max(2, round(UNSURE_SHARE * period))

    def frame(self, row: int) -> int:
        """Return the frame, from 1, of a row; a loop goes round."""
        if self.loop.closes and row >= self.motion.frames:
            row %= self.loop.frames
        return int(row) + 1

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
            Name of the limit where it is not the kind.
        """
        limit = self.limits[limit_name or kind.replace(" ", "_")]
        room = STANDS_OUT * noise
        edge = limit.bottom - room if below else limit.top + room
        if (amount >= edge) if below else (amount <= edge):
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
                limit.bottom if below else limit.top,
                excess,
                limit.why,
                do,
            )
        ]


def _span(least: float | None, most: float | None) -> float:
    if least is not None and most is not None:
        return max((most - least) / 2.0, 1e-6)
    return max(abs(most if most is not None else least or 0.0), 1.0)


def see(motion: Tracked, limits: Limits) -> Seen:
    """Look at a clip."""
    loop, noise = find_loop(motion.points_m), find_noise(motion)
    feet = find_feet(motion.foot_paths(noise.toe_m), loop)
    gait, reason = find_gait(loop, feet)
    waves = {} if gait is None else _waves(motion, loop, gait)
    return Seen(motion, loop, noise, feet, limits.for_hip_height(motion.hip_height_m), gait, reason, waves)


def _waves(motion: Tracked, loop: Loop, gait: Gait) -> dict[str, Wave]:
    rows = loop.frames if loop.closes else int(int(motion.frames / gait.period) * gait.period)
    if rows < gait.period - 1e-9:
        return {}
    tops = [motion.top(limb) for limb in LIMBS]
    places = motion.places_m[:rows, :, 2]
    curves = {"hips": places[:, tops[2:]].mean(axis=1), "chest": places[:, tops[:2]].mean(axis=1)}
    if motion.map.head:
        curves["head"] = places[:, motion.joint(motion.map.head)]
    return {name: wave(values, gait.period, motion.file.frame_time_s) for name, values in curves.items()}
