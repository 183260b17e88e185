"""A root that runs straight, or stands still, between two far keys while the legs go on."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

MOST_DECIMALS = 6
STRAIGHT, CURVED = (
    2.5,
    40.0,
)  # last digits of the file: second differences that are none, and those that are some
LEAST_ROWS = 3  # second differences in a row that are none
MOST_STRAIGHT = 0.75  # of a root's rows: one that is hardly ever curved is meant to be so
LEGS_TURN = 0.8  # of these rows


def missing(seen: Seen) -> list[Finding]:
    """Find frames between which the root's height has no keys: it runs straight while the legs do not."""
    rows, columns = seen.motion.file.rows, channel_columns(seen.motion.file, "rotation")
    place = channel_columns(seen.motion.file, "position")[0]
    digit = _last_digit(rows[:, place])
    bend = np.abs(np.diff(seen.motion.root_m[:, 2], n=2)) / (digit * unit_m(seen.motion.map.unit))
    straight = bend < STRAIGHT
    spans = [(first, last) for first, last in runs(straight) if last - first + 1 >= LEAST_ROWS]
    if not spans or straight.mean() > MOST_STRAIGHT or np.median(bend[~straight]) < CURVED:
        return []
    legs = [k for limb in LIMBS for joint in seen.motion.limb_joints(limb) for k in columns[joint]]
    turning = np.abs(np.diff(rows[:, legs], n=2, axis=0)).max(axis=1) > CURVED * _last_digit(rows[:, legs])
    found: list[Finding] = []
    for first, last in spans:
        if turning[first : last + 1].mean() < LEGS_TURN:
            continue
        ends = (first, last + 2)
        path = seen.motion.root_m[ends[0] : ends[1] + 1]
        still = float(np.ptp(path, axis=0).max()) < digit * unit_m(seen.motion.map.unit)
        found += seen.finding(
            "root keys missing",
            seen.motion.file.joint_names[0],
            ends,
            float(last - first + 1),
            f"key the root again between frames {seen.frame(ends[0])} and {seen.frame(ends[1])}: it "
            f"{'stands still' if still else 'runs straight'} there while the legs go on",
        )
    return found


def _last_digit(values: Array) -> float:
    """Return what the last decimal counts in which numbers are written."""
    for decimals in range(MOST_DECIMALS):
        if np.abs(values - np.round(values, decimals)).max() < 10.0**-MOST_DECIMALS / 10.0:
            return float(10.0**-decimals)
    return float(10.0**-MOST_DECIMALS)
