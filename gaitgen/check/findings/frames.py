"""Frames that are missing, or have changed places."""

from __future__ import annotations

from gaitgen.check.finding import Finding
from gaitgen.check.findings.back_jitter import back
from gaitgen.check.findings.counted import surely_lost
from gaitgen.check.findings.jumps import lost
from gaitgen.check.findings.retimed import swaps
from gaitgen.check.seen import Seen


def missing(seen: Seen) -> list[Finding]:
    """Find places where frames have been cut out.

    A back that shakes takes the forelegs over the ground by jumps: then only those are told that another
    step has between the same two poses.
    """
    found: list[Finding] = []
    gone = lost(seen)
    if gone and back(seen):
        sure = surely_lost(seen)
        gone = tuple(each for each in gone if each[0] in sure)
    for row, least, most in gone:
        found += seen.finding(
            "frames missing",
            "whole body",
            (row, row + 1),
            float(least),
            f"put {_counted(least, most)} back between these two{_at_the_end(seen, row)}",
            limit_name="jump",
        )
    return found


def _at_the_end(seen: Seen, row: int) -> str:
    """Say that a loop is cut off before its end, where the frames are missing in its last step."""
    return (
        ", or after them: the clip is cut off before the end of its loop"
        if seen.loop.closes and row == seen.motion.frames - 2
        else ""
    )


def _counted(least: int, most: int) -> str:
    """Say how many frames, or between which counts it is where nothing tells."""
    if least < most:
        return (
            f"{least} {'or' if most == least + 1 else 'to'} {most} frames (the clip does not tell how many)"
        )
    return "1 frame" if least == 1 else f"{least} frames"


def swapped(seen: Seen) -> list[Finding]:
    """Find two frames that have changed places."""
    found: list[Finding] = []
    for swap in swaps(seen):
        first, second = seen.frame(swap.row), seen.frame(swap.row + swap.frames)
        found += seen.finding(
            "frames swapped",
            "whole body",
            (swap.row, swap.row + swap.frames),
            float(swap.frames + 1),
            f"put frame {first} and frame {second} into each other's place",
            limit_name="frames_swapped",
        )
    return found
