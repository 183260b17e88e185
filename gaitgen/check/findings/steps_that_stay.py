"""A root that goes somewhere else from one frame to the next, and stays there."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.neighbours import off_line
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.units import unit_m
from gaitgen.rigs.rig import axes_of

Array = npt.NDArray[np.float64]

# Rows on either side of a step that tell what it is: as many as a cubic has numbers.
BESIDE = 4
# Of a step the rows before and after it are as far off the line of their neighbours, the other way, and the
# next ones a third as far; of a row that is off by itself both neighbours are, by two thirds.
AS_FAR, NEXT = 0.8, 0.5
MOST_ELSEWHERE = 0.3  # of it: a root that is as far off its line elsewhere is unsteady, and makes no step
STRIDES_NEAR = 2.0  # that are elsewhere: a trot before or after shakes a root more than a walk does


def or_stays(seen: Seen, popped: list[Finding], row: int) -> list[Finding]:
    """Return the pop of a root at a row, where it is farthest off its line; a step that stays if it is one.

    Told by the frames beside it alone: near the ends of a clip nobody knows.
    """
    path = seen.motion.root_m
    if not popped or not BESIDE <= row < len(path) - BESIDE:
        return popped
    every = off_line(path)  # of rows from 2 on
    before, here, after = every[row - 3 : row]
    size = float(here @ here)
    away = np.abs(np.arange(2, len(path) - 2) - row)
    elsewhere = (every[(away > BESIDE) & (away <= STRIDES_NEAR * seen.period)] ** 2).sum(axis=1)
    if elsewhere.max(initial=0.0) > MOST_ELSEWHERE**2 * size:
        return popped
    ahead, behind = -float(after @ here) / size, -float(before @ here) / size
    if max(ahead, behind) < AS_FAR or min(ahead, behind) > NEXT:
        return popped
    first = row if behind > ahead else row + 1  # the first row that is somewhere else
    step = _step_m(_in_the_file_m(seen, path), first)
    axis = int(np.abs(step).argmax())
    way = np.zeros(3)
    way[axis] = step[axis]
    size_mm = 1000.0 * float(np.linalg.norm(step))
    return seen.finding(
        "pop",
        seen.motion.file.joint_names[0],
        (first, first),
        size_mm,
        f"a step that stays: from here on the root is {abs(1000.0 * step[axis]):.0f} mm {_word(seen, way)} "
        "than before: move all its keys from this frame on back by that, or those before",
        noise=2.4 * 1000.0 * seen.noise.root_m,
        limit_name="root_pop",
    )


def _in_the_file_m(seen: Seen, path: Array) -> Array:
    """Return the path of a root (rows, 3) with the heights of the file: over no ground that is found. [m]"""
    file = seen.motion.file
    columns = channel_columns(file, "position")[0]
    at = {
        word[0]: k
        for k, word in zip(columns, (w for w in file.channels[0] if w.endswith("position")), strict=True)
    }
    if len(at) < 3:
        return path
    places = unit_m(seen.motion.map.unit) * file.rows[:, [at[letter] for letter in "XYZ"]]
    return np.concatenate([path[:, :2], places @ axes_of(seen.motion.map)[2:].T], axis=1)


def _step_m(path: Array, first: int) -> Array:
    """Return what a path jumps by before a row (3,), beyond what it goes on both sides. [m]"""
    before = path[first - 1] - path[first - 2]
    after = path[first + 1] - path[first]
    return np.asarray(path[first] - path[first - 1] - (before + after) / 2.0)


def _word(seen: Seen, way: Array) -> str:
    """Name the direction (3,) of a jump."""
    if way[2]:
        return "higher" if way[2] > 0.0 else "lower"
    in_file = axes_of(seen.motion.map).T @ way
    axis = int(np.abs(in_file).argmax())
    return f"along {'+' if in_file[axis] > 0.0 else '-'}{'XYZ'[axis]}"
