"""Clips that are unusual on purpose: nothing is wrong with them, so the check must say nothing."""

import numpy as np
from damage import bump, columns, turned, with_rows


def _neck(start, degrees, axis="X"):
    """Turn the neck at its base by degrees (frames,) and the head back by half of it."""
    file = turned(start, start.map.neck[0], axis, degrees)
    rows = file.rows.copy()
    rows[:, columns(file, start.map.head)[axis]] -= degrees / 2.0
    return with_rows(file, rows)


def _wave(start, times, phase=0.0):
    return np.sin(2.0 * np.pi * times * np.arange(start.frames) / start.period + phase)


def head_high(start, rng):
    return _neck(start, np.full(start.frames, -float(rng.uniform(10, 30))))


def head_low(start, rng):
    return _neck(start, np.full(start.frames, float(rng.uniform(10, 35))))


def head_aside(start, rng):
    """Look to one side all the time."""
    return _neck(start, np.full(start.frames, float(rng.uniform(-40, 40))), "Y")


def head_turning(start, rng):
    """Look round once in the clip, and back."""
    times = start.seen.motion.frames / start.period
    return _neck(start, float(rng.uniform(10, 35)) * _wave(start, 1.0 / max(1, round(times))), "Y")


def big_tail(start, rng):
    """Swing the tail from side to side, each joint later than the one before."""
    file, rows = start.file, start.file.rows.copy()
    for k, name in enumerate(start.map.tail):
        rows[:, columns(file, name)["Y"]] += float(rng.uniform(6, 14)) * _wave(start, 1, -0.5 * k)
    return with_rows(file, rows)


def raised_tail(start, rng):
    return turned(start, start.map.tail[0], "X", np.full(start.frames, float(rng.uniform(15, 50))))


def ear_flick(start, rng):
    """One ear, to and fro in four to six frames; in two, a frame alone, it is a pop."""
    name = (start.map.ear_left, start.map.ear_right)[int(rng.integers(2))]
    row, half = int(rng.integers(3, start.frames - 4)), int(rng.integers(2, 4))
    flick = np.zeros(start.frames)
    flick[row] = 1.0
    flick[row - half + 1 : row + half] = np.maximum(flick[row - half + 1 : row + half], 0.7)
    return turned(start, name, "XYZ"[int(rng.integers(3))], float(rng.uniform(15, 45)) * flick)


def both_ears(start, rng):
    file = ear_flick(start, rng)
    name = start.map.ear_left
    rows = file.rows.copy()
    rows[:, columns(file, name)["Y"]] += 20.0 * bump(start.frames, 5, 12, start.period)
    return with_rows(file, rows)


def tail_flick(start, rng):
    """One flick of the tail, passed on from joint to joint."""
    rows, first = start.file.rows.copy(), int(rng.integers(2, start.period // 2))
    for k, name in enumerate(start.map.tail):
        wave = bump(start.frames, first + k, first + k + 8, start.period)
        rows[:, columns(start.file, name)["Y"]] += 18.0 * wave
    return with_rows(start.file, rows)


def open_mouth(start, rng):
    first = int(rng.integers(2, start.period - 10))
    return turned(start, start.map.jaw, "X", 12.0 * bump(start.frames, first, first + 9, start.period))


def elsewhere(start, rng):
    """The whole clip somewhere else on the ground, and facing another way."""
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")
    rows[:, at["X"]] += float(rng.uniform(-400, 400))
    rows[:, at["Z"]] += float(rng.uniform(-400, 400))
    return with_rows(start.file, rows)


STYLES = {
    "head high": head_high,
    "head low": head_low,
    "head aside": head_aside,
    "head turning": head_turning,
    "big tail": big_tail,
    "raised tail": raised_tail,
    "ear flick": ear_flick,
    "ears": both_ears,
    "tail flick": tail_flick,
    "open mouth": open_mouth,
    "elsewhere": elsewhere,
}
BASES = [
    ("riding_horse", 24, True),
    ("riding_horse", 32, False),
    ("draft_horse", 32, True),
    ("riding_horse", 48, True),
]
