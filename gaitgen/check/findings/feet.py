"""Planted feet: slip, steady drift, under the ground, over the ground."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.jumps import jumps
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import Stance
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

LINEAR_SHARE, OFF_LINE_SHARE = 0.7, 0.2  # of a slip: a steady drift is so much of it, and so near a line
SLOPE_GAIN = 4.3  # rise of a line through a noisy stance, its middle of four, against noise over root rows
WIDE_GAIN = 1.6  # width of a noisy path against its noise
FAR = 0.15  # hip heights: no key of a root is that wrong
TOGETHER = 0.5  # spread over size: below it all feet drift alike


def slips(seen: Seen) -> list[Finding]:
    """Find planted feet that move over the ground, steadily (drift) or at once (slip)."""
    found: list[Finding] = []
    drifts: list[tuple[Stance, Array]] = []
    jumped = {row for row, _ in jumps(seen)}
    for stance in seen.feet.stances:
        if len(stance.path_m) < 4:
            continue
        by = min(seen.unsure_frames, len(stance.path_m) // 4)
        path = _without_jumps(stance.path_m[:, :2], stance, seen, jumped)[by : len(stance.path_m) - by]
        steady = _steady(path)
        sigma = 1000.0 * float(np.hypot(*seen.noise.toe_m[stance.limb, :2]))
        total = float(np.linalg.norm(steady))
        wide = float(np.hypot(*np.ptp(path, axis=0)))
        if (
            total > LINEAR_SHARE * wide
            and _off_line(path, steady) < OFF_LINE_SHARE * wide + 3.0 * sigma / 1000.0
        ):
            drifts.append((stance, steady))
            continue
        first, last = _moving(path)
        found += seen.finding(
            "slip",
            LIMBS[stance.limb],
            (stance.first + by + first, stance.first + by + last),
            1000.0 * wide,
            "hold the toe where it lands until lift-off, or take the whole leg along",
            noise=WIDE_GAIN * sigma,
        )
    return found + _drifts(seen, drifts)


def _without_jumps(path: Array, stance: Stance, seen: Seen, jumped: set[int]) -> Array:
    """Take out steps at which all planted feet jump: those are frames that are missing."""
    rows = np.arange(stance.first, stance.last)
    if seen.loop.closes:
        rows = rows % seen.loop.frames
    here = np.isin(rows, list(jumped))
    steps = np.diff(path, axis=0)
    steps[here] = 0.0
    return np.concatenate([path[:1], path[:1] + np.cumsum(steps, axis=0)])


def _steady(path: Array) -> Array:
    """Linear part of a path (frames, 2), from first to last frame. [m]"""
    time = np.linspace(-0.5, 0.5, len(path))
    return np.asarray((time[:, None] * (path - path.mean(axis=0))).sum(axis=0) / (time**2).sum())


def _off_line(path: Array, steady: Array) -> float:
    """Farthest of a path (frames, 2) from its line. [m]"""
    time = np.linspace(-0.5, 0.5, len(path))
    away = path - path.mean(axis=0) - time[:, None] * steady
    return float(np.linalg.norm(away, axis=1).max())


def _moving(path: Array) -> tuple[int, int]:
    """First and last row between which most of the movement is."""
    away = np.linalg.norm(path - np.median(path, axis=0), axis=1)
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    if not steps.max() > 0.0:
        return 0, len(path) - 1
    busy = np.flatnonzero(steps > 0.3 * steps.max())
    far = np.flatnonzero(away > 0.5 * away.max())
    return int(min(busy[0], far[0])), int(max(busy[-1] + 1, far[-1]))


def _drifts(seen: Seen, drifts: list[tuple[Stance, Array]]) -> list[Finding]:
    vectors = np.array([vector for _, vector in drifts]).reshape(-1, 2)
    feet = {stance.limb for stance, _ in drifts}
    sizes = np.linalg.norm(vectors, axis=1)
    if len(feet) == 4 and not seen.feet.in_place:
        belt = seen.feet.belt_m_s * seen.motion.file.frame_time_s
        lengths = np.array([len(stance.path_m) - 1 for stance, _ in drifts])
        vectors = vectors + lengths[:, None] * belt
        sizes = np.linalg.norm(vectors, axis=1)
    middle = np.median(vectors, axis=0) if len(vectors) else np.zeros(2)
    do = "hold the toe in one place for the whole stance; check that the body goes as fast as the feet"
    spread = float(np.abs(vectors - middle).max()) if len(vectors) else 0.0
    if len(feet) == 4 and spread < TOGETHER * float(np.linalg.norm(middle)):
        sigma = 1000.0 * float(seen.noise.toe_m[:, :2].max())
        return seen.finding(
            "drift",
            "all feet",
            (0, seen.motion.frames - 1),
            1000.0 * float(np.median(sizes)),
            do,
            noise=sigma,
        )
    found: list[Finding] = []
    for (stance, _), size in zip(drifts, sizes, strict=True):
        sigma = 1000.0 * float(np.hypot(*seen.noise.toe_m[stance.limb, :2]))
        found += seen.finding(
            "drift",
            LIMBS[stance.limb],
            (stance.first, stance.last),
            1000.0 * float(size),
            do,
            noise=sigma,
        )
    return found


def belt_drift(seen: Seen) -> list[Finding]:
    """Find a travelling body whose planted feet all slide: the ground seems to move a little."""
    if seen.feet.in_place or seen.gait is None:
        return []
    belt = float(np.linalg.norm(seen.feet.belt_m_s))
    duty = float(np.mean(seen.gait.summary.duty_factor))
    travelled = belt * duty * seen.gait.period * seen.motion.file.frame_time_s
    rows = max(4.0, duty * seen.gait.period)
    stances = max(1, len(seen.feet.stances))
    sigma = 1000.0 * float(seen.noise.toe_m[:, :2].max()) * SLOPE_GAIN / np.sqrt(rows * stances)
    return seen.finding(
        "drift",
        "all feet",
        (0, seen.motion.frames - 1),
        1000.0 * travelled,
        "make the root go exactly as far as the feet: stride length per stride",
        noise=sigma,
    )


def no_stance(seen: Seen) -> list[Finding]:
    """Find feet that stand nowhere, in a clip that is long enough to see them stand."""
    counts = [len(seen.feet.of(limb)) for limb in range(4)]
    missing = [LIMBS[limb] for limb, count in enumerate(counts) if count == 0]
    if not missing:
        return []
    frames = (0, seen.motion.frames - 1)
    if len(missing) == 4:
        return seen.finding(
            "no stance",
            "all feet",
            frames,
            4.0,
            "let the feet stand: none of them keeps to one place on the ground, so neither gait nor slip can "
            "be judged; a body that goes faster or slower than its feet does this too",
        )
    found: list[Finding] = []
    if not seen.loop.closes and max(counts) < 2:
        return found
    for foot in missing:
        found += seen.finding(
            "no stance",
            foot,
            frames,
            1.0,
            "let the foot stand in one place on the ground for its share of the stride",
        )
    return found


def is_far_off(seen: Seen) -> bool:
    """Whether the body is so far over or under the ground that hardly its own curve is the reason."""
    return abs(seen.feet.ground_m - seen.plane_m) > FAR * seen.motion.hip_height_m


def floor_m(seen: Seen) -> float:
    """Return the height that soles are held against: of the ground plane, where a pair of feet stands on it.

    Else of the soles themselves: then it is the whole body that is off.
    """
    if "body_off_ground" not in seen.limits or seen.shot is not None:
        return seen.feet.ground_m
    near = seen.limits["body_off_ground"].top / 1000.0
    off = seen.feet.ground_m - seen.plane_m
    on_it = set()
    for stance in seen.feet.stances:
        if abs(float(np.median(stance.path_m[:, 2])) + off) < near:
            on_it.add(stance.limb)
    return seen.plane_m if {0, 1} <= on_it or {2, 3} <= on_it else seen.feet.ground_m


def off_ground(seen: Seen) -> list[Finding]:
    """Find a whole body that walks over or under the ground plane of the file."""
    if not seen.feet.stances or floor_m(seen) == seen.plane_m:
        return []
    up = 1000.0 * (seen.feet.ground_m - seen.plane_m)
    sigma = 1000.0 * float(seen.noise.toe_m[:, 2].max()) / np.sqrt(max(1, len(seen.feet.stances)))
    word = "above" if up > 0.0 else "under"
    way = "down" if up > 0.0 else "up"
    do = f"bring the root {way} by {abs(up):.0f} mm, or say where the ground is with --ground"
    if is_far_off(seen):
        do += (
            "; so far off, look first whether the root's position channels are in the unit and the order of "
            "axes of the skeleton"
        )
    return seen.finding(
        f"body {word} the ground",
        "whole body",
        (0, seen.motion.frames - 1),
        abs(up),
        do,
        noise=sigma,
        limit_name="body_off_ground",
    )


def under_ground(seen: Seen) -> list[Finding]:
    """Find toes that go under the ground."""
    heights = seen.motion.toes_m[..., 2] - floor_m(seen)
    found: list[Finding] = []
    for limb, name in enumerate(LIMBS):
        sigma = float(seen.noise.toe_m[limb, 2])
        deep = -heights[:, limb]
        over = deep > 0.5 * (seen.limits["sole_under_ground"].top / 1000.0) + 4.0 * sigma
        for first, last in runs(over):
            found += seen.finding(
                "sole under ground",
                name,
                (first, last),
                1000.0 * float(deep[first : last + 1].max()),
                "raise the foot's path, or bend the leg more",
                noise=1000.0 * sigma,
                limit_name="sole_under_ground",
            )
    return found


def floating(seen: Seen) -> list[Finding]:
    """Find feet that go with the ground but are over it."""
    found: list[Finding] = []
    up = seen.feet.ground_m - floor_m(seen)
    for stance in seen.feet.stances:
        sigma = float(seen.noise.toe_m[stance.limb, 2])
        height = stance.path_m[:, 2] + up
        by = 1 + min(seen.unsure_frames, len(height) // 4)
        inner = height[by:-by]
        if not inner.size:
            continue
        over = inner > 0.5 * (seen.limits["sole_floating"].top / 1000.0) + 4.0 * sigma
        for first, last in runs(over):
            found += seen.finding(
                "sole floating",
                LIMBS[stance.limb],
                (stance.first + by + first, stance.first + by + last),
                1000.0 * float(inner[first : last + 1].max()),
                "lower the foot to the ground for the whole stance, or lift it for good",
                noise=1000.0 * sigma,
                limit_name="sole_floating",
            )
    return found
