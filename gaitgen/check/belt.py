"""How the ground moves under a clip: the velocity that planted toes have in common."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.noise import Noise

Array = npt.NDArray[np.float64]

SAME_BELT = 0.1  # of the swing's speed: feet that move together

Run = tuple[int, int, int]  # limb, first and last row


def first_belt(velocity: Array, height: Array, noise: Noise, slow: float) -> Array:
    """Most common velocity (2,) of low toes. [m/s]"""
    both = np.maximum(height[1:], height[:-1])  # (steps, 4)
    floor, top = np.quantile(both, 0.05, axis=0), both.max(axis=0)
    low = both < floor + 0.3 * (top - floor) + 2.0 * noise.toe_m[:, 2]
    found = velocity[low] if low.any() else velocity.reshape(-1, 2)
    speed = float(np.quantile(np.linalg.norm(velocity - np.median(found, axis=0), axis=2), 0.95))
    centre = np.array([_mode(found[:, 0]), 0.0])
    near = np.abs(found[:, 0] - centre[0]) < SAME_BELT * speed + 3.0 * slow
    centre[1] = _mode(found[near, 1])
    for _ in range(3):
        near = np.linalg.norm(found - centre, axis=1) < SAME_BELT / 2.0 * speed + 3.0 * slow
        if near.any():
            centre = np.median(found[near], axis=0)
    return np.asarray(centre)


def _mode(values: Array) -> float:
    """Half-sample mode: the middle of the narrowest half of the narrowest half and so on."""
    values = np.sort(values)
    while values.size > 8:
        half = (values.size + 1) // 2
        widths = values[half - 1 :] - values[: values.size - half + 1]
        start = int(np.argmin(widths))
        values = values[start : start + half]
    return float(np.median(values)) if values.size else 0.0


def refined_belt(belt: Array, toes: Array, runs: list[Run], step_s: float) -> Array:
    """Take the middle of the lines through the paths of all stances. [m/s]"""
    lines = []
    for limb, first, last in runs:
        time = np.arange(last - first + 1) * step_s
        time -= time.mean()
        path = toes[first : last + 1, limb, :2]
        lines.append((time[:, None] * (path - path.mean(axis=0))).sum(axis=0) / (time**2).sum())
    return np.median(lines, axis=0) if lines else belt
