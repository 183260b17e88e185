"""How the ground moves under a clip: the velocity that planted toes have in common."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.motion.foot_paths import FootPaths
from gaitgen.numerics.middle import middle

Array = npt.NDArray[np.float64]

SAME_BELT = 0.1  # of the swing's speed: feet that move together
LOW_PART = 0.3  # of the heights of a toe, from its floor up, in which it may stand (estimate)
# What a few rows that are out may not set: the floor of a toe, and the speed of a swing.
FLOOR_QUANTILE, SPEED_QUANTILE = 0.05, 0.95
NOISES = 2.0  # of the height of a toe by which a low one may be higher

Run = tuple[int, int, int]  # foot, first and last row


def first_belts(paths: FootPaths) -> tuple[Array, Array]:
    """Most common velocity (2,) of low toes, and of all toes. [m/s]

    Feet that stand are low, and keep to one velocity. Where swings go lower than they, as on curves that are
    smoothed too much, low toes are those that swing, and the second is the ground's.
    """
    velocity = np.diff(paths.toes_m[..., :2], axis=0) / paths.frame_time_s  # (steps, feet, 2)
    both = np.maximum(paths.toes_m[1:, :, 2], paths.toes_m[:-1, :, 2])  # (steps, feet)
    floor, top = np.quantile(both, FLOOR_QUANTILE, axis=0), both.max(axis=0)
    low = both < floor + LOW_PART * (top - floor) + NOISES * paths.noise_m[:, 2]
    every = velocity.reshape(-1, 2)
    found = velocity[low] if low.any() else every
    speed = float(np.quantile(np.linalg.norm(velocity - middle(found), axis=2), SPEED_QUANTILE))
    return _common(found, speed, paths.slow_m_s), _common(every, speed, paths.slow_m_s)


def _common(found: Array, speed_m_s: float, slow_m_s: float) -> Array:
    """Most common of velocities (n, 2), of feet that swing at some speed. [m/s]"""
    centre = np.array([_mode(found[:, 0]), 0.0])
    near = np.abs(found[:, 0] - centre[0]) < SAME_BELT * speed_m_s + 3.0 * slow_m_s
    centre[1] = _mode(found[near, 1])
    for _ in range(3):
        near = np.linalg.norm(found - centre, axis=1) < SAME_BELT / 2.0 * speed_m_s + 3.0 * slow_m_s
        if near.any():
            centre = middle(found[near])
    return np.asarray(centre)


def _mode(values: Array) -> float:
    """Half-sample mode: the middle of the narrowest half of the narrowest half and so on."""
    values = np.sort(values)
    while values.size > 8:
        half = (values.size + 1) // 2
        widths = values[half - 1 :] - values[: values.size - half + 1]
        start = int(np.argmin(widths))
        values = values[start : start + half]
    return float(middle(values)) if values.size else 0.0


def belt_of(paths: FootPaths, runs: list[Run], otherwise: Array) -> Array:
    """Take the middle of the lines through the paths of toes in runs of rows; else another belt. [m/s]"""
    lines = []
    for foot, first, last in runs:
        time = np.arange(last - first + 1) * paths.frame_time_s
        time -= np.add.reduce(time) / time.size
        path = paths.toes_m[first : last + 1, foot, :2]
        if last > first:
            off = path - np.add.reduce(path) / time.size
            lines.append(np.add.reduce(time[:, None] * off) / np.add.reduce(time**2))
    return middle(lines) if lines else otherwise
