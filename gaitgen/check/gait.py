"""The gait of a clip in the science's terms, from the stances that were found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course import steps
from gaitgen.course.named_gait import GaitSummary, summarise
from gaitgen.course.steps import Steps
from gaitgen.course.support import support_shares, support_summary
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import Feet
from gaitgen.motion.loop import Loop

Array = npt.NDArray[np.float64]

TOO_SHORT = "the clip is shorter than a stride and does not loop"
NO_STANCE = "no whole stance"


@dataclass(frozen=True, eq=False)
class Gait:
    """One stride, the mean of those in the clip.

    Attributes
    ----------
    period
        Length of a stride. [frames]
    strides
        How many there are.
    contact
        (4,) frame of contact of each foot in its stride, from 0.
    summary
        Duty factors, lags and name.
    support, support_kinds
        Shares of the stride by set of feet and by kind.
    order
        Feet in the order of contact from the left hind on.
    """

    period: float
    strides: float
    contact: Array
    summary: GaitSummary
    support: dict[str, float]
    support_kinds: dict[str, float]
    order: tuple[str, ...]

    @property
    def walks(self) -> bool:
        """Whether feet are down for more than half of the stride."""
        return float(np.mean(self.summary.duty_factor)) > 0.5

    @property
    def symmetrical(self) -> bool:
        """Whether left and right take turns about evenly."""
        return max(abs(self.summary.hind_step - 0.5), abs(self.summary.fore_step - 0.5)) < 0.15


def find_gait(loop: Loop, feet: Feet, animal: Animal) -> tuple[Gait | None, str]:
    """Sum up the stances, named as of an animal; None and the reason where they make no gait."""
    counts = [len(feet.of(limb)) for limb in range(4)]
    if feet.planted.all() or min(counts) == 0:
        missing = ", ".join(LIMBS[k] for k, count in enumerate(counts) if count == 0)
        return None, f"no stance of {missing} was found" if missing else "no foot leaves the ground"
    period = _period(loop, feet, counts)
    if period is None:
        return None, TOO_SHORT
    contact, duty = _averages(feet, period)
    if np.isnan(contact + duty).any():
        return None, f"{NO_STANCE} of {LIMBS[int(np.isnan(contact + duty).argmax())]} is in the clip"
    if duty.max() >= 1.0:
        return None, f"{LIMBS[int(duty.argmax())]} does not leave the ground"
    contact = np.where(contact > period - 1e-6, 0.0, contact)
    try:
        falls = Steps(
            limb=np.arange(4),
            touchdown_s=contact / period,
            liftoff_s=contact / period + duty,
            place_m=np.zeros((4, 2)),
            heading_rad=np.zeros(4),
            loop=steps.Loop(1.0),
        )
        summary, support = summarise(falls, animal), support_shares(falls)
    except GaitError as fault:
        return None, str(fault)
    after = (contact - contact[2]) % period
    after = np.where(after > period - 1e-6, 0.0, after)
    order = tuple(LIMBS[k] for k in sorted(range(4), key=lambda k: (float(after[k]), k != 2)))
    return (
        Gait(period, loop.frames / period, contact, summary, support, support_summary(support), order),
        "",
    )


def _averages(feet: Feet, period: float) -> tuple[Array, Array]:
    """Mean contact frame and duty factor of each foot, (4,); nan for one without a whole stance."""
    contact, duty = np.full(4, np.nan), np.full(4, np.nan)
    for limb in range(4):
        own = feet.of(limb)
        landings = np.array([s.first for s in own if s.begins], dtype=np.float64)
        lengths = np.array([s.last - s.first for s in own if s.whole], dtype=np.float64)
        if landings.size and lengths.size:
            turn = np.exp(2j * np.pi * landings / period).mean()
            contact[limb] = (np.angle(turn) / (2.0 * np.pi) % 1.0) * period
            duty[limb] = float(np.median(lengths)) / period
    return contact, duty


def _period(loop: Loop, feet: Feet, counts: list[int]) -> float | None:
    if loop.closes:
        return loop.frames / max(1, round(float(np.median(counts))))
    between = [np.diff([s.first for s in feet.of(limb) if s.begins]) for limb in range(4)] + [
        np.diff([s.last for s in feet.of(limb) if s.ends]) for limb in range(4)
    ]
    found = np.concatenate(between)
    return float(np.median(found)) if found.size else None
