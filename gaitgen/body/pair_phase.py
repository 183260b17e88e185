"""Where each pair of feet is between one mid-stance and the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import Steps
from gaitgen.errors import GaitError

Array = npt.NDArray[np.float64]

_PAIR_LIMBS = {"fore": (0, 1), "hind": (2, 3)}
EVEN_STEPS_TOLERANCE = 1e-9


@dataclass(frozen=True, eq=False)
class PairPhase:
    """One pair of feet over time.

    Attributes
    ----------
    turns
        (samples,) 0 at a right mid-stance, 0.5 at a left one, 1 at the next right one, ...; C2 in time.
    step_share
        (samples,) the same between two mid-stances: 0 at one, 1 at the next.
    step_s
        (samples, 3) length of the step before, of this one and of the next, mid-stance to mid-stance. [s]
    """

    turns: Array
    step_share: Array
    step_s: Array

    @property
    def side(self) -> Array:
        """(samples,) +1 with the weight on the left foot, -1 on the right."""
        return -np.cos(2.0 * np.pi * self.turns)

    @property
    def spread(self) -> Array:
        """(samples,) +1 when one foot is as far ahead as the other is behind, -1 at mid-stance."""
        return -np.cos(4.0 * np.pi * self.turns)

    @property
    def right_ahead(self) -> Array:
        """(samples,) +1 when the right foot is farthest ahead of the left one, -1 the other way round."""
        return -np.sin(2.0 * np.pi * self.turns)


def pair_phase(footfalls: Steps, pair: str, time_s: Array) -> PairPhase:
    """Follow one pair, ``fore`` or ``hind``, over the moments ``time_s`` (samples,). [s]

    Between mid-stances that come evenly the phase is straight; otherwise it is a cubic spline through
    them, so that nothing has a corner.

    Raises
    ------
    GaitError
        If the two feet of a pair do not take turns.
    """
    left, right = _PAIR_LIMBS[pair]
    margin = 0.0 if footfalls.period_s is None else 3.0 * footfalls.period_s
    steps = footfalls.unrolled(float(time_s.min()) - margin, float(time_s.max()) + margin)
    mine = np.flatnonzero((steps.limb == left) | (steps.limb == right))
    middle = (steps.touchdown_s[mine] + steps.liftoff_s[mine]) / 2.0
    order = np.argsort(middle, kind="stable")
    middle, is_left = middle[order], steps.limb[mine][order] == left
    if np.any(is_left[1:] == is_left[:-1]):
        raise GaitError(
            f"the {pair} feet do not take turns; give left and right contacts one after the other"
        )
    knots = np.arange(middle.size) / 2.0 + (0.5 if is_left[0] else 0.0)
    row = np.clip(np.searchsorted(middle, time_s, side="right") - 1, 0, middle.size - 2)
    since, until = time_s - middle[row], middle[row + 1] - time_s
    share = since / (since + until)
    gaps = np.diff(middle)
    if np.ptp(gaps) <= EVEN_STEPS_TOLERANCE * gaps.mean():
        turns = knots[row] + share / 2.0
    else:
        from scipy.interpolate import CubicSpline

        turns = CubicSpline(middle, knots)(time_s)
    around = np.clip(row[:, None] + np.array([-1, 0, 1]), 0, gaps.size - 1)
    return PairPhase(turns=turns, step_share=share, step_s=gaps[around])
