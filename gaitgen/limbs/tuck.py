"""Swinging feet that their legs do not reach, or only stretched, come up to them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.stance import StanceState
from gaitgen.numerics.curves import bump, largest_around, mean_around, ramp

Array = npt.NDArray[np.float64]

# Half-way through swing a foot has this room under the longest leg, in heights of the top of the limb; over
# these shares of swing at either end, and so softly, it goes over to that (estimates).
TUCK_ROOM = 0.045
TUCK_SHARE = 0.10
TUCK_SOFT_SHARE = 0.08


@dataclass(frozen=True, eq=False)
class Tuck:
    """How feet come up to their legs, whatever these miss.

    Attributes
    ----------
    window
        (samples, 4) how far a foot comes up, 0 to 1.
    room_m
        (samples, 4) left under the longest leg. [m]
    width
        How softly, in samples.
    is_periodic
        Whether the last moment is followed by the first.
    """

    window: Array
    room_m: Array
    width: int
    is_periodic: bool

    @classmethod
    def of(cls, state: StanceState, runs: Array, leg_m: Array, *, is_periodic: bool = True) -> Tuck:
        """Let feet come up instead of lowering the trunk, as far as one runs.

        Parameters
        ----------
        state
            The step of each foot.
        runs
            (samples, 4) 1 at a run, 0 at a walk.
        leg_m
            (4,) height of the tops of the limbs. [m]
        is_periodic
            Whether the last moment is followed by the first.
        """
        swing = state.swing_share
        window = runs * ramp(swing / TUCK_SHARE) * ramp((1.0 - swing) / TUCK_SHARE)
        in_swing = (swing > 0.0) & (swing < 1.0)
        swings = max(1, int(np.count_nonzero(np.diff(in_swing.astype(np.int8), axis=0, prepend=0) == 1)))
        width = max(3, round(TUCK_SOFT_SHARE * np.count_nonzero(in_swing) / swings))  # of the mean swing
        return cls(window, TUCK_ROOM * leg_m * bump(swing, 0.5), width, is_periodic)

    def raise_m(self, shortfall_m: Array) -> Array:
        """Say how far each foot comes up, (samples, 4), by how much higher it must be: a smooth curve. [m]"""
        over = self.window * np.maximum(np.nan_to_num(shortfall_m) + self.room_m, 0.0)
        over = largest_around(over, self.width, periodic=self.is_periodic)
        for _ in range(3):
            over = mean_around(over, self.width, periodic=self.is_periodic)
        return self.window * over
