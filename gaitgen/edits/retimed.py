"""Contacts and lift-offs that a hand moved by frames, told from edits that leave the footfalls alone.

Neither height nor speed of a foot tells them: a trunk that sinks by a few millimetres changes both. But an
edit is smooth over time, and where a foot comes down or leaves its path bends within a frame or two. So the
path of each toe is held against that of the clip it started from, run at other times; the times at which the
difference is least rough are those of the foot.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, PchipInterpolator

from gaitgen.edits.late_legs import late_legs
from gaitgen.edits.moves import Moves
from gaitgen.edits.phase import Timing
from gaitgen.edits.seen import Seen
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

MOST_SHARE = 0.125  # of a stride: a contact that is farther off was not moved, but is another gait's
MOST_FRAMES = 6
LEAST_STAY = 2  # frames that a foot stays down, or in the air
# How much less rough the difference has to be, and what roughness says nothing: in a frame squared, of the
# hip height (estimates).
FAR_LESS, LEAST_ROUGH = 0.5, 1e-3


def found_moves(before: Seen, after: Seen) -> Moves:
    """Find by how many frames contacts and lift-offs were moved.

    Parameters
    ----------
    before, after
        The clip that a hand started from, with its timing, and what came of it.

    Returns
    -------
    What was moved; a leg that was moved whole is told by its joints, others by their toes.
    """
    timing = before.timing
    found = np.zeros((len(LIMBS), 2))
    if timing is None:
        return Moves(found, np.zeros(len(LIMBS), dtype=np.bool_))
    late = late_legs(before, after)
    most = min(MOST_FRAMES, max(1, round(MOST_SHARE * timing.frames)))
    paths = after.toes_m, after.toes_on_m(before)
    for limb in np.flatnonzero(late == 0.0).tolist():
        own, curve = [path[:, limb] for path in paths], _closed(before.toes_m[:, limb])
        still = rough(before, curve, own, limb, 0, 0)
        if still < LEAST_ROUGH * before.hip_height_m:
            continue
        tried = {
            each: rough(before, curve, own, limb, *each)
            for each in product(range(-most, most + 1), repeat=2)
            if _stays(timing, limb, *each)
        }
        best = min(tried, key=lambda each: (tried[each], sum(map(abs, each))))
        if tried[best] < FAR_LESS * still:
            found[limb] = best
    return Moves(found + late[:, None], late != 0.0)


def rough(
    before: Seen, curve: CubicSpline, paths: list[Array], limb: int, contact: int, liftoff: int
) -> float:
    """Say how rough the difference of a toe's path from another is, run at other times. [m/frame2]

    Parameters
    ----------
    before, curve
        The stride with the other path, and the curve through that.
    paths
        (frames, 3) paths of the toe: as it is, and as it were on another trunk. The smoother counts.
    limb
        Row of LIMBS.
    contact, liftoff
        By how many frames the foot comes down and leaves later.
    """
    timing, base = before.timing, before.toes_m[:, limb]
    assert timing is not None  # noqa: S101
    if contact or liftoff:
        base = _on_curve(curve, other_moments(timing, limb, contact, liftoff), before.travel_m)
    off = [path - base for path in paths]
    bend = [np.roll(each, -1, axis=0) - 2.0 * each + np.roll(each, 1, axis=0) for each in off]
    return min(float(np.sqrt((each**2).sum(axis=1).mean())) for each in bend)


def other_moments(timing: Timing, limb: int, contact: float, liftoff: float) -> Array:
    """Say which moment of a foot's stride stands at each row, if it lands and leaves some frames later.

    Monotone and with a continuous slope: Fritsch F.N. & Carlson R.E. 1980, SIAM J Numer Anal 17:238-246.

    Returns
    -------
    (frames,) moments, which may lie before or after the stride. [frames]
    """
    there = np.array([timing.contact[limb], timing.contact[limb] + timing.down[limb]])
    turns = timing.frames * np.arange(-2, 4)[:, None]
    curve = PchipInterpolator((there + np.array([contact, liftoff]) + turns).ravel(), (there + turns).ravel())
    return np.asarray(curve(np.arange(timing.frames, dtype=np.float64)))


def played(path_m: Array, at: Array, going_m: Array) -> Array:
    """Play a foot's path (frames, 3) at other moments (frames,) of its stride, on ground that goes on. [m]"""
    return _on_curve(_closed(path_m), at, going_m)


def _closed(path_m: Array) -> CubicSpline:
    """Lay a curve through the path of a loop, (frames, 3), and on to its first frame."""
    return CubicSpline(np.arange(len(path_m) + 1), np.vstack([path_m, path_m[:1]]), bc_type="periodic")


def _on_curve(curve: CubicSpline, at: Array, going_m: Array) -> Array:
    """Do what `played` does with a path that there is a curve through."""
    frames = len(at)
    path = curve(at % frames)
    path[:, :2] -= (np.arange(frames) - at)[:, None] * going_m
    return np.asarray(path)


def moved(timing: Timing, by: Array) -> Timing:
    """Move contacts and lift-offs by frames, (4, 2)."""
    contact = tuple(
        (old + new[0]) % timing.frames for old, new in zip(timing.contact, by.tolist(), strict=True)
    )
    down = tuple(old + new[1] - new[0] for old, new in zip(timing.down, by.tolist(), strict=True))
    return Timing(timing.frames, contact, down)


def _stays(timing: Timing, limb: int, contact: int, liftoff: int) -> bool:
    down = timing.down[limb] + liftoff - contact
    return LEAST_STAY <= down <= timing.frames - LEAST_STAY
