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
    """A loop in frames from its first row: one stride, or several that differ.

    Attributes
    ----------
    frames
        Length of the loop. [frames]
    contact, down
        Contact of each foot, 0 up to ``frames``, and how long it is down; in LIMBS order, and of several
        strides one after the other, where what lands with the first frame may do so just before. [frames]
    """

    frames: int
    contact: tuple[float, ...]
    down: tuple[float, ...]

    @property
    def strides(self) -> int:
        """How many strides the loop has."""
        return len(self.contact) // len(LIMBS)

    @property
    def stride_frames(self) -> float:
        """Length of a stride, of several their mean. [frames]"""
        return self.frames / self.strides

    def mean_stride(self) -> Timing:
        """Take the mean of strides that differ; a contact of its first frame may be just before that."""
        starts = self.stride_frames * np.arange(self.strides)[:, None]
        contact = (np.array(self.contact).reshape(-1, len(LIMBS)) - starts).mean(axis=0)
        down = np.array(self.down).reshape(-1, len(LIMBS)).mean(axis=0)
        return Timing(round(self.stride_frames), tuple(contact.tolist()), tuple(down.tolist()))

    def order(self) -> list[int]:
        """Stances in the order of their contacts, from the one that lands first."""
        return sorted(range(len(self.contact)), key=lambda stance: (self.contact[stance], stance))

    def planted(self) -> npt.NDArray[np.bool_]:
        """Whether each foot is down at each row, both ends included, (frames, 4)."""
        since = self._since()
        ends = np.abs(since - self.frames) < 1e-6
        down = (since <= np.array(self.down) + 1e-6) | ends
        return np.asarray(down.reshape(self.frames, self.strides, len(LIMBS)).any(axis=1))

    def stance_at(self) -> npt.NDArray[np.int64]:
        """Say in or after which of its stances each foot is at each row, (frames, 4)."""
        since = self._since()
        since[since > self.frames - 1e-6] = 0.0
        latest = since.reshape(self.frames, self.strides, len(LIMBS)).argmin(axis=1)
        return np.asarray(latest * len(LIMBS) + np.arange(len(LIMBS)))

    def _since(self) -> Array:
        """How long ago each foot landed for each of its stances, (frames, stances). [frames]"""
        return np.asarray((np.arange(self.frames)[:, None] - np.array(self.contact)) % self.frames)


def timing_of(clip: Motion) -> Timing:
    """Return the timing of the first stride of a cycle, or of the row of strides that repeats.

    Raises
    ------
    RequestError
        If the clip does not repeat, or some feet stand more often than others.
    """
    steps, stances = clip.steps, stances_of(clip)
    frames = round((steps.period_s or 0.0) * clip.frame_rate_hz)
    contact, down = np.empty(stances.size), np.empty(stances.size)
    contact[stances] = _contacts(clip, frames)
    down[stances] = (steps.liftoff_s - steps.touchdown_s) * clip.frame_rate_hz
    return Timing(frames, tuple(contact.tolist()), tuple(down.tolist()))


def stances_of(clip: Motion) -> npt.NDArray[np.int64]:
    """Say which stance of its timing each step of a cycle is, (steps,).

    Raises
    ------
    RequestError
        If the clip does not repeat, or some feet stand more often than others.
    """
    steps = clip.steps
    often = np.bincount(steps.limb, minlength=len(LIMBS))
    if steps.period_s is None or steps.limb.size == 0 or np.ptp(often) > 0:
        raise RequestError(
            "an edit is carried from one cycle to another; give a clip that repeats its strides"
        )
    order = np.lexsort((_contacts(clip, round(steps.period_s * clip.frame_rate_hz)), steps.limb))
    found = np.empty(steps.limb.size, dtype=np.int64)
    found[order] = np.tile(np.arange(often[0]), len(LIMBS)) * len(LIMBS) + steps.limb[order]
    return found


def _contacts(clip: Motion, frames: int) -> Array:
    """Contact of each step of a loop; in one of several strides from just before its first frame. [frames]"""
    contact = (clip.steps.touchdown_s * clip.frame_rate_hz) % frames
    strides = contact.size // len(LIMBS)
    late = contact > frames - _same_frames(frames / strides)
    return np.asarray(np.where(late & (strides > 1), contact - frames, contact))


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
        If the feet do not land in the same order, or the one has more strides that differ than the other.
    """
    if from_.strides != to.strides:
        raise RequestError(
            f"the loop there has {from_.strides} strides and here {to.strides}; an edit of strides that "
            "differ is carried to as many"
        )
    row = np.arange(to.frames, dtype=np.float64)
    limbs = [_matched(row, _stances(to, k), to, _stances(from_, k), from_) for k in range(len(LIMBS))]
    order = _order(to, from_)
    here, there = _same_frames(to.stride_frames), _same_frames(from_.stride_frames)
    knots = [_turned_back(to.contact[each], to) for each in order]
    others = _one_after_another(from_, order)
    if any(after < before - there for before, after in pairwise(others)):
        said = [", ".join(LIMBS[stance % 4] for stance in each.order()) for each in (from_, to)]
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


def numbered_as(from_: Timing, to: Timing) -> Timing:
    """Give the stances of strides that differ numbers, each foot's, that go by those of another loop.

    Where feet land together in the one, one that lands before the end of a stride there may land in the next
    here.
    """
    if to.strides == 1 or from_.strides != to.strides:
        return from_
    one, other = from_.mean_stride(), to.mean_stride()
    order = _order(other, one)
    later = np.zeros(len(LIMBS), dtype=np.int64)
    for limb, there in zip(order, _one_after_another(one, order), strict=True):
        here = _turned_back(other.contact[limb], other)
        later[limb] = round((there - one.contact[limb]) / one.frames)
        later[limb] -= round((here - other.contact[limb]) / other.frames)
    later -= np.int64(np.median(later))
    turn, stride = np.divmod(np.arange(from_.strides)[:, None] + later, from_.strides)
    contact, down = (np.array(each).reshape(-1, len(LIMBS)) for each in (from_.contact, from_.down))
    contact = np.take_along_axis(contact, stride, axis=0) + turn * from_.frames
    down = np.take_along_axis(down, stride, axis=0)
    return Timing(from_.frames, tuple(contact.ravel().tolist()), tuple(down.ravel().tolist()))


def _same_frames(frames: float) -> float:
    """Return within how many frames of a stride feet land together."""
    return max(SAME_MOMENT, SAME_SHARE * frames)


def _turned_back(moment: float, timing: Timing) -> float:
    """Take the end of a loop, or nearly that, for its beginning."""
    frames = timing.frames
    return moment - frames if moment > frames - _same_frames(timing.stride_frames) else moment


def _order(timing: Timing, like: Timing) -> list[int]:
    """Stances in the order of their contacts; of feet that land together, as in another cycle."""
    contact = [_turned_back(each, timing) for each in timing.contact]

    def later(first: int, second: int) -> int:
        apart = contact[first] - contact[second]
        if abs(apart) <= _same_frames(timing.stride_frames):
            half = like.frames / 2.0
            apart = (like.contact[first] - like.contact[second] + half) % like.frames - half
        return int(np.sign(apart))

    return sorted(range(len(contact)), key=cmp_to_key(later))


def _one_after_another(timing: Timing, order: list[int]) -> list[float]:
    """Contacts of stances in some order, from the first on for one turn of the loop. [frames]"""
    start = timing.contact[order[0]]
    found = [start + _turned_back((timing.contact[each] - start) % timing.frames, timing) for each in order]
    if found[-1] < start + _same_frames(timing.stride_frames) < max(found):
        found[-1] += timing.frames  # it lands with the first there, and before it here
    return found


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


def _stances(timing: Timing, limb: int) -> list[float]:
    each = range(limb, len(timing.contact), len(LIMBS))
    return [moment for k in each for moment in (timing.contact[k], timing.contact[k] + timing.down[k])]


def _matched(row: Array, knots: list[float], to: Timing, others: list[float], from_: Timing) -> Array:
    """Run monotonously through pairs of moments that repeat with both periods: piecewise cubic, C1.

    Fritsch F.N. & Carlson R.E. 1980, SIAM J Numer Anal 17:238-246.
    """
    here, there = np.array(knots), np.array(others)
    turns = np.arange(-2, 4)[:, None]
    curve = PchipInterpolator((here + turns * to.frames).ravel(), (there + turns * from_.frames).ravel())
    return np.asarray(curve(row)) % from_.frames


def farthest_apart(one: Timing, other: Timing) -> float:
    """Return the greatest difference of a contact or lift-off of two strides of one length. [frames]"""
    contact = np.array(one.contact) - np.array(other.contact)
    contact -= one.frames * np.round(contact / one.frames)
    down = np.array(one.down) - np.array(other.down)
    return float(np.abs(np.concatenate([contact, contact + down])).max())
