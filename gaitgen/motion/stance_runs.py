"""Runs of frames in which a foot stands: first by its speed and height, then to the frame where it can be."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.motion.belt import Run, belt_of
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.numerics.middle import middle
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

# A step of a toe against the belt counts as standing below the first share of the fastest swing; a stance
# begins and ends where it is below the second (chosen so that both hold from 8 to 96 frames a stride).
STILL, STILL_AT_ENDS = 0.10, 0.02
FASTEST_QUANTILE = 0.97  # of the steps of a toe is its fastest swing: a frame that is out sets nothing
# What may be noise, or the unrest of feet that roll, is no swing: so many times the speed that noise makes,
# at first and at the ends; of the speed of feet that stand; of the noise of a height (chosen with them).
NOISE_SPEEDS, NOISE_SPEEDS_AT_ENDS, UNRESTS, NOISES = 3.5, 2.5, 3.0, 3.0
# Where noise passes for so much of the fastest swing, toes are looked at in the mean over some frames, at the
# most over so many: of feet so slow swings and stances are long (estimates; a walk of a horse with 0.2 deg on
# each joint comes to 0.5 at strides of up to 48 frames, and to 0.9 at 96, where most walks lost a foot).
DROWNED, MOST_AVERAGED = 0.6, 9
# Of the usual one: a shorter gap between stances is no swing, and a shorter stance is none (chosen so).
LEAST_GAP, LEAST_STANCE = 0.4, 0.25
# Hip heights: a foot that rises by so much in a gap, and stands so far from where it stood, has made a step,
# however short; one that slides stays down, one that pops comes back (estimate: a first step out of a halt
# rises by three times as much, and goes ten times as far).
STEP_RISE, STEP_WAY = 0.01, 0.05
STEP_NOISES = 6.0  # and so many deviations of the noise more
LOW_SHARE = 0.05  # of the hip height: how high a foot that carries may float, to be found as one at all
EDGE_HEIGHT_SHARE = 0.0032  # of the hip height: how far from its own level a stance begins or ends
MOST_TRIMMED, TRIMMED_PART = 4, 10
LEAST_ROWS = 2  # from first to last frame of a stance
EASES = (1.0, 2.0, 3.0)
# Of the hip height: a toe that keeps to its place on the belt within the first is one that no hand has moved
# and no noise; it has left the ground where it is off by the second.
EXACT_SHARE, LEFT_SHARE = 1.6e-4, 0.8e-4
MOST_MOVED = 4  # frames by which an end of such a stance is corrected


def calmed(paths: FootPaths) -> FootPaths:
    """Average toes over as few frames as tell slow feet from noise; leave them where that needs none."""
    if not paths.noise_m.any():
        return paths
    for frames in range(1, MOST_AVERAGED + 1, 2):
        mean = paths.over(frames) if frames > 1 else paths
        steps = np.diff(mean.toes_m[..., :2], axis=0)  # (steps, feet, 2)
        way = np.linalg.norm(steps - middle(steps.reshape(-1, 2)), axis=2) / paths.frame_time_s
        fastest = float(middle(np.quantile(way, FASTEST_QUANTILE, axis=0)))
        if NOISE_SPEEDS * mean.slow_m_s <= DROWNED * fastest:
            return mean
    return paths


def stance_runs(paths: FootPaths, belt: Array) -> list[Run]:
    """Find the frames in which each foot is slow against the belt and low.

    Parameters
    ----------
    paths
        The feet, their heights from about the ground.
    belt
        (2,) velocity of the ground. [m/s]
    """
    fixed = paths.against(belt)
    against = np.linalg.norm(np.diff(fixed[..., :2], axis=0), axis=2) / paths.frame_time_s  # (steps, feet)
    found: list[Run] = []
    for ease in EASES:  # real feet slip and roll: look more kindly until every foot stands somewhere
        found = _eased_runs(paths, fixed, against, ease)
        if len({foot for foot, _, _ in found}) == paths.feet:
            break
    return found


def _eased_runs(paths: FootPaths, fixed: Array, against: Array, ease: float) -> list[Run]:
    height, slow = paths.toes_m[..., 2], paths.slow_m_s
    swing = float(middle(np.quantile(against, FASTEST_QUANTILE, axis=0)))
    low = height < ease * LOW_SHARE * paths.hip_height_m + NOISES * paths.noise_m[:, 2]
    still = (against < max(ease * STILL * swing, NOISE_SPEEDS * slow)) & low[1:] & low[:-1]
    planted = np.zeros(low.shape, dtype=bool)
    planted[1:] |= still
    planted[:-1] |= still
    unrest = float(middle(against[still])) if still.any() else 0.0
    strict = against < max(STILL_AT_ENDS * swing, NOISE_SPEEDS_AT_ENDS * slow, UNRESTS * unrest)
    edge = EDGE_HEIGHT_SHARE * paths.hip_height_m
    found: list[Run] = []
    for foot in range(paths.feet):
        tolerance = max(ease * edge, NOISES * float(paths.noise_m[foot, 2]))
        least_m = np.array([STEP_WAY, STEP_RISE]) * paths.hip_height_m
        least_m += STEP_NOISES * np.array([np.hypot(*paths.noise_m[foot, :2]), paths.noise_m[foot, 2]])
        for first, last in _long_runs(planted[:, foot], fixed[:, foot], least_m):
            start, end = _trimmed(first, last, strict[:, foot], height[:, foot], tolerance)
            if end - start >= LEAST_ROWS:
                found.append((foot, start, end))
    return found


def _long_runs(planted: Bools, path: Array, least_m: Array) -> list[tuple[int, int]]:
    """Return runs of planted frames; gaps far shorter than the usual one are closed, short runs left out.

    Not a gap in which the foot makes a step: along its path (frames, 3) against the ground it goes farther
    and higher than the two of ``least_m``.
    """
    edges = np.array(runs(planted), dtype=np.int64).reshape(-1, 2)
    if not len(edges):
        return []
    gaps = edges[1:, 0] - edges[:-1, 1] - 1
    usual = float(middle(gaps[gaps >= middle(gaps)])) if gaps.size else 0.0
    apart = (gaps > LEAST_GAP * usual) | _steps_over(edges, path, least_m)
    firsts = edges[np.concatenate([[True], apart]), 0]
    lasts = edges[np.concatenate([apart, [True]]), 1]
    length = lasts - firsts
    enough = length >= max(float(LEAST_ROWS), LEAST_STANCE * float(middle(length)))
    return [(int(a), int(b)) for a, b in zip(firsts[enough], lasts[enough], strict=True)]


def _steps_over(edges: IntArray, path: Array, least_m: Array) -> Bools:
    """Tell in which gaps between runs, (runs, 2), a foot rises and comes to stand elsewhere, (runs - 1,)."""
    stands = np.array([middle(path[first : last + 1]) for first, last in edges.tolist()])  # (runs, 3)
    way = np.linalg.norm(np.diff(stands[:, :2], axis=0), axis=1)
    top = np.array([path[a : b + 1, 2].max() for a, b in zip(edges[:-1, 1], edges[1:, 0], strict=True)])
    rise = top - np.maximum(stands[1:, 2], stands[:-1, 2])
    long = (edges[:, 1] - edges[:, 0]) >= LEAST_ROWS
    return np.asarray((way > least_m[0]) & (rise > least_m[1]) & long[1:] & long[:-1])


def _trimmed(first: int, last: int, slow: Bools, height: Array, tolerance: float) -> tuple[int, int]:
    """Take a few frames off both ends that are still moving or off the stance's own level.

    At the ends of a clip too: it may begin with a foot that is about to land.
    """
    level = float(middle(height[first : last + 1]))
    away = np.abs(height[first : last + 1] - level) > tolerance
    room = min(max(MOST_TRIMMED, (last - first) // TRIMMED_PART), (last - first) // 4)
    start, end = first, last
    while start - first < room and (away[start - first] or not slow[start]):
        start += 1
    while last - end < room and (away[end - first] or not slow[end - 1]):
        end -= 1
    return start, end


def to_the_frame(paths: FootPaths, found: list[Run], belt: Array) -> tuple[list[Run], Array, bool]:
    """Correct the ends of stances whose toes keep exactly to the belt; leave the others.

    In a clip that seems noisy all of them must: what moves fast passes for noise where frames are few, and
    noise for a toe that keeps its place.

    Returns
    -------
    found
        As many as before, in the same order.
    belt
        (2,) that of the exact stances where there are any. [m/s]
    is_exact
        Whether all keep to it.
    """
    inner = [(foot, first + 1, last - 1) for foot, first, last in found if last - first > LEAST_ROWS]
    if not inner:
        return found, belt, False
    exact_belt = belt_of(paths, inner, belt)
    fixed = paths.against(exact_belt)
    exact = [_exact(fixed, run, paths) for run in found]
    is_exact = None not in exact
    if paths.noise_m.any() and not is_exact:
        return found, belt, False
    kept = [own or run for own, run in zip(exact, found, strict=True)]
    return (kept, exact_belt, is_exact) if kept != found else (found, belt, is_exact)


def _exact(fixed: Array, run: Run, paths: FootPaths) -> Run | None:
    """Take the rows around a stance in which the toe keeps its place; None if it keeps none.

    A stance of few rows, which tells nothing, is left as it is.
    """
    foot, first, last = run
    if last - first <= LEAST_ROWS:
        return run
    start = max(0, first - MOST_MOVED)
    path = fixed[start : last + MOST_MOVED + 1, foot]
    inner = slice(first + 1 - start, last - start)
    away = np.linalg.norm(path - middle(path[inner]), axis=1)
    if away[inner].max() > max(EXACT_SHARE * paths.hip_height_m, paths.rounded_m):
        return None
    left = np.flatnonzero(away > max(LEFT_SHARE * paths.hip_height_m, paths.rounded_m)) + start
    before, after = left[left <= first], left[left >= last]
    return (
        foot,
        int(before[-1]) + 1 if before.size else start,
        int(after[0]) - 1 if after.size else start + len(path) - 1,
    )
