"""Legs that a hand moved in time by their curves: all joints of a leg turn as they did, some frames later.

Such a foot does not come down on its own place on the ground, as one does whose contact was moved, but on the
same place under the body. It is told by its joints, all of one leg at once, and not by its toe.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from gaitgen.edits.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

MOST_SHARE = 0.2  # of a stride: a leg that is later by more is another gait's
STEP, LEAST = 0.25, 0.5  # frames: what is tried first, and what is too little to be told
WHOLE = 0.1  # frames: nearer to a whole frame, it was moved by that
# How much better it has to fit, and what is no difference, of a joint on average (estimates).
FAR_BETTER, LEAST_RAD = 0.6, np.radians(0.3)


def late_legs(before: Seen, after: Seen) -> Array:
    """Find by how many frames whole legs were moved.

    Parameters
    ----------
    before, after
        The clip that a hand started from, and what came of it.

    Returns
    -------
    (4,) frames by which all joints of a leg are later, in LIMBS order; nothing for others.
    """
    most = STEP * int(MOST_SHARE * before.frames / STEP)
    tried = np.arange(-most, most + STEP / 2.0, STEP)
    tried = tried[np.abs(tried) >= LEAST]
    found = np.zeros(len(LIMBS))
    for limb, joints in enumerate(before.legs):
        own, there = (each.local[:, list(joints)] for each in (before, after))
        still = float(turn_between_rad(own, there).mean())
        if not joints or not tried.size or still < LEAST_RAD:
            continue
        off = partial(_off_rad, _Turns(own), there)
        best = float(min(tried, key=lambda late: (off(late), abs(late))))
        best = float(minimize_scalar(off, bounds=(best - STEP, best + STEP), method="bounded").x)
        best = float(round(best)) if abs(best - round(best)) < WHOLE else best
        if abs(best) >= LEAST and off(best) < FAR_BETTER * still:
            found[limb] = best
    return found


def turned_later(local: Array, late: float) -> Array:
    """Turn joints (frames, joints, 3, 3) of a loop as they do, some frames later; whole frames exactly."""
    return _Turns(local).later(late)


@dataclass(frozen=True, eq=False)
class _Turns:
    """Turns of joints in a loop, (frames, joints, 3, 3), and the curve through them."""

    local: Array

    @cached_property
    def curve(self) -> CubicSpline:
        """Through all frames and on to the first."""
        closed = np.concatenate([self.local, self.local[:1]])
        return CubicSpline(np.arange(len(closed)), closed, bc_type="periodic")

    def later(self, late: float) -> Array:
        """Return them some frames later."""
        if late == round(late):
            return np.asarray(np.roll(self.local, round(late), axis=0))
        frames = len(self.local)
        turns = Rotation.from_matrix(self.curve((np.arange(frames) - late) % frames).reshape(-1, 3, 3))
        return np.asarray(turns.as_matrix().reshape(self.local.shape))


def _off_rad(turns: _Turns, there: Array, late: float) -> float:
    """How far joints are from others if they turn some frames later, on average. [rad]"""
    return float(turn_between_rad(turns.later(late), there).mean())
