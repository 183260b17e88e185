"""Joints of a rig whose names say another side than the one on which they stand."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile

from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.rig_map import RigMap

# In what the names of two joints of a pair differ, left and right: one letter (also of "lt" and "rt"), or
# "left" and "right", which end in the same letter.
SIDES = (("l", "r"), ("lef", "righ"))
PAIRS = (("LF", "RF"), ("LH", "RH"))


def sides_doubts(found: RigMap) -> tuple[Doubt, ...]:
    """Doubt the sides of a rig most of whose limbs' joints have names of the other side; else nothing."""
    names = list(_named(found))
    odd = [(left, right) for left, right, is_as_named in names if not is_as_named]
    if 2 * len(odd) <= len(names):
        return ()
    left, right = odd[0]
    x, y, z = (round(value, 2) + 0.0 for value in found.forward)
    text = (
        f"names say another side than the one that joints are on: facing ({x:g}, {y:g}, {z:g}), {found.up} "
        f"up, {left} is on the left and {right} on the right. Either the rig faces the other way: then turn "
        "forward in the map round, and swap left and right there. Or the file was written for left-handed "
        "axes and shows the rig mirrored: then write it for right-handed ones, or what is asked for on one "
        "side, a lead or a lame leg, is on the other where the motion is used."
    )
    return (Doubt("sides", text),)


def _named(found: RigMap) -> Iterator[tuple[str, str, bool]]:
    """List joints of left and right limbs whose names differ in a side: and whether it is theirs."""
    for left, right in PAIRS:
        for one, other in zip(found.limbs[left].joints, found.limbs[right].joints, strict=False):
            differ = _differ(one.lower(), other.lower())
            if differ in SIDES or differ[::-1] in SIDES:
                yield one, other, differ in SIDES


def _differ(one: str, other: str) -> tuple[str, str]:
    """Return what is between the beginning and the end that two names have in common."""
    first = _same(one, other)
    last = _same(one[first:][::-1], other[first:][::-1])
    return one[first : len(one) - last], other[first : len(other) - last]


def _same(one: str, other: str) -> int:
    """Count the letters with which two words begin alike."""
    return len(list(takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False))))
