"""Which moment of one cycle is which moment of another: contacts fall on contacts, lift-offs on lift-offs."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]

SAME_MOMENT = 0.25  # of a frame: feet that land together


@dataclass(frozen=True)
class Timing:
    """One stride in frames from its first row, in LIMBS order.

    Attributes
    ----------
    frames
        Length of the stride. [frames]
    contact, down
        Contact of each foot, 0 up to ``frames``, and how long it is down. [frames]
    """

    frames: int
    contact: tuple[float, float, float, float]
    down: tuple[float, float, float, float]

    def order(self) -> list[int]:
        """Rows of LIMBS in the order of their contacts, from the one that lands first."""
        return sorted(range(len(LIMBS)), key=lambda limb: (self.contact[limb], limb))

    def planted(self) -> npt.NDArray[np.bool_]:
        """Whether each foot is down at each row, both ends included, (frames, 4)."""
        since = (np.arange(self.frames)[:, None] - np.array(self.contact)) % self.frames
        ends = np.abs(since - self.frames) < 1e-6
        return np.asarray((since <= np.array(self.down) + 1e-6) | ends)


def timing_of(clip: Motion) -> Timing:
    """Return the timing of the first stride of a cycle.

    Raises
    ------
    RequestError
        If the clip does not repeat, or a foot stands more than once a stride.
    """
    steps = clip.steps
    if steps.period_s is None or steps.limb.size != len(LIMBS):
        raise RequestError(
            "an edit is carried from one cycle to another; give a clip that repeats its strides"
        )
    rate = clip.frame_rate_hz
    frames = round(steps.period_s * rate)
    contact, down = np.empty(len(LIMBS)), np.empty(len(LIMBS))
    contact[steps.limb] = (steps.touchdown_s * rate) % frames
    down[steps.limb] = (steps.liftoff_s - steps.touchdown_s) * rate
    return Timing(frames, tuple(contact.tolist()), tuple(down.tolist()))  # type: ignore[arg-type]


@dataclass(frozen=True, eq=False)
class Phases:
    """For each row of a cycle, the moment of another that it stands for.

    Attributes
    ----------
    limbs
        (rows, 4) by the contact and lift-off of each foot, 0 up to the length of the other. [frames]
    trunk
        (rows,) by the contacts of all feet. [frames]
    """

    limbs: Array
    trunk: Array


def phases(from_: Timing, to: Timing) -> Phases:
    """Lay one cycle out along another.

    Raises
    ------
    RequestError
        If the feet do not land in the same order.
    """
    row = np.arange(to.frames, dtype=np.float64)
    limbs = [
        _matched(row, [to.contact[k], to.contact[k] + to.down[k]], to, _stance(from_, k), from_)
        for k in range(len(LIMBS))
    ]
    order = to.order()
    knots = [to.contact[limb] for limb in order]
    start = from_.contact[order[0]]
    others = [start + (from_.contact[limb] - start) % from_.frames for limb in order]
    together = [from_.frames if value > start + from_.frames - SAME_MOMENT else 0 for value in others]
    others = [value - less for value, less in zip(others, together, strict=True)]
    if any(after < before - SAME_MOMENT for before, after in pairwise(others)):
        said = [", ".join(LIMBS[limb] for limb in each.order()) for each in (from_, to)]
        raise RequestError(
            f"the feet land in the order {said[0]} there and {said[1]} here; an edit is carried between "
            "gaits with the same order of feet"
        )
    return Phases(np.stack(limbs, axis=1), _matched(row, knots, to, others, from_))


def _stance(timing: Timing, limb: int) -> list[float]:
    return [timing.contact[limb], timing.contact[limb] + timing.down[limb]]


def _matched(row: Array, knots: list[float], to: Timing, others: list[float], from_: Timing) -> Array:
    """Run monotonously through pairs of moments that repeat with both periods: piecewise cubic, C1.

    Fritsch F.N. & Carlson R.E. 1980, SIAM J Numer Anal 17:238-246.
    """
    apart = [0, *(k for k in range(1, len(knots)) if knots[k] - knots[k - 1] > SAME_MOMENT)]
    here, there = np.array(knots)[apart], np.array(others)[apart]
    turns = np.arange(-2, 4)[:, None]
    curve = PchipInterpolator((here + turns * to.frames).ravel(), (there + turns * from_.frames).ravel())
    return np.asarray(curve(row)) % from_.frames
