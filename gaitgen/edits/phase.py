"""Which moment of one cycle is which moment of another: contacts fall on contacts, lift-offs on lift-offs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cmp_to_key
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]

# Feet that land together: within a quarter of a frame, or so much of a stride, as the two of a trot's pair do
# on whole frames (estimates).
SAME_MOMENT, SAME_SHARE = 0.25, 0.04


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
    order = _order(to, from_)
    here, there = _same_frames(to.frames), _same_frames(from_.frames)
    knots = [_turned_back(to.contact[limb], to.frames) for limb in order]
    start = from_.contact[order[0]]
    others = [
        start + _turned_back((from_.contact[limb] - start) % from_.frames, from_.frames) for limb in order
    ]
    if others[-1] < start + there < max(others):
        others[-1] += from_.frames  # it lands with the first there, and before it here
    if any(after < before - there for before, after in pairwise(others)):
        said = [", ".join(LIMBS[limb] for limb in each.order()) for each in (from_, to)]
        raise RequestError(
            f"the feet land in the order {said[0]} there and {said[1]} here; an edit is carried between "
            "gaits with the same order of feet"
        )
    together = [
        later - now <= here or then - before <= there
        for (now, later), (before, then) in zip(pairwise(knots), pairwise(others), strict=True)
    ]
    turn = (to.frames, from_.frames) if others[-1] > others[0] + from_.frames - there else None
    knots, others = _as_one(np.array([knots, others]).T, together, turn)
    return Phases(np.stack(limbs, axis=1), _matched(row, knots, to, others, from_))


def _same_frames(frames: int) -> float:
    """Return within how many frames of a stride feet land together."""
    return max(SAME_MOMENT, SAME_SHARE * frames)


def _turned_back(moment: float, frames: int) -> float:
    """Take the end of a stride, or nearly that, for its beginning."""
    return moment - frames if moment > frames - _same_frames(frames) else moment


def _order(timing: Timing, like: Timing) -> list[int]:
    """Rows of LIMBS in the order of their contacts; of feet that land together, as in another cycle."""
    contact = [_turned_back(each, timing.frames) for each in timing.contact]

    def later(first: int, second: int) -> int:
        apart = contact[first] - contact[second]
        if abs(apart) <= _same_frames(timing.frames):
            half = like.frames / 2.0
            apart = (like.contact[first] - like.contact[second] + half) % like.frames - half
        return int(np.sign(apart))

    return sorted(range(len(LIMBS)), key=cmp_to_key(later))


def _as_one(
    moments: Array, together: list[bool], turn: tuple[int, int] | None
) -> tuple[list[float], list[float]]:
    """Take feet that land together, here or there, as one, half-way between their contacts.

    ``moments`` (feet, 2) are the contacts here and there in their order, ``together`` (feet - 1,) whether
    each lands with the one before, and ``turn`` a stride of both if the last lands with the first.
    """
    groups = np.split(moments, [k for k, same in enumerate(together, 1) if not same])
    if turn is not None and len(groups) > 1:
        groups[0] = np.concatenate([groups[0], groups.pop() - np.array(turn)])
    here, there = np.array([each.mean(axis=0) for each in groups]).T
    return here.tolist(), there.tolist()


def _stance(timing: Timing, limb: int) -> list[float]:
    return [timing.contact[limb], timing.contact[limb] + timing.down[limb]]


def _matched(row: Array, knots: list[float], to: Timing, others: list[float], from_: Timing) -> Array:
    """Run monotonously through pairs of moments that repeat with both periods: piecewise cubic, C1.

    Fritsch F.N. & Carlson R.E. 1980, SIAM J Numer Anal 17:238-246.
    """
    here, there = np.array(knots), np.array(others)
    turns = np.arange(-2, 4)[:, None]
    curve = PchipInterpolator((here + turns * to.frames).ravel(), (there + turns * from_.frames).ravel())
    return np.asarray(curve(row)) % from_.frames
