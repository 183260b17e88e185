"""A mark that no speed of its passages meets: what is said, with the frame and the place that they could."""

from __future__ import annotations

import numpy as np

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import Path
from gaitgen.shot.asked import Mark
from gaitgen.shot.draft_layout import Laying
from gaitgen.shot.halting import rest_m, rest_row
from gaitgen.shot.timeline import Timeline


def told_beside(mark: Mark, aside_m: float, along_m: float, path: Path, *, turns: bool, is_left: bool) -> str:
    """Say how far beside the path a mark is, and what comes of it.

    Parameters
    ----------
    mark, aside_m
        The mark, and how far beside the path it is. [m]
    along_m, path
        How far along the path its nearest place is, and the way. [m]
    turns, is_left
        Whether the animal turns on the spot then, and whether the mark is too far off to count.
    """
    then = "the nearest place of the path counts for it"
    if turns:
        then = f"at frame {mark.frame} it turns on the spot"
    elif is_left:
        then = (
            f"so far off passages go as they were asked to; lead the path to it, or give {_at(path, along_m)}"
        )
    return f"is {aside_m:.2f} m beside the path; {then}"


def told_far(mark: Mark, target_m: float, asked: Timeline, nearest: Timeline, path: Path) -> str:
    """Say how far from a mark the body is, as it was asked to go, and which frame and place could be met.

    Parameters
    ----------
    mark, target_m
        The mark, and how far along the path it is. [m]
    asked, nearest
        The shot as it was asked for, and with its passages as fast or slow as they can be.
    path
        The way.
    """
    assert mark.frame is not None  # noqa: S101
    left = [_gone_m(each, mark.frame - 1.0) - target_m for each in (asked, nearest)]
    late = left[1] < 0.0
    could = _at(path, target_m + left[1])
    frame = _frame_at(nearest, target_m)
    if frame is not None:
        which = int(np.ceil(frame)) if late else int(np.floor(frame))
        could = f"frame = {which + 1} or {'later' if late else 'earlier'}, or {could}"
    short, fast = ("short of", "fastest") if late else ("beyond", "slowest")
    now = "short of" if left[0] < 0.0 else "beyond"
    return (
        f"is not met: the body is {abs(left[0]):.2f} m {now} it at frame {mark.frame}, and would be "
        f"{abs(left[1]):.2f} m {short} it at the {fast} that its passages can go, so they go as they were "
        f"asked to; give {could}, or another gait"
    )


def told_far_halt(
    target_m: float, layings: tuple[Laying, Laying], last: int, path: Path, *, passages: int
) -> str:
    """Say how far from its mark the body halts, as it was asked to go, and which place a halt could have.

    Parameters
    ----------
    target_m
        How far along the path the mark is. [m]
    layings
        The shot as it was asked for, and with its passages as near to it as they can be.
    last
        The passage after which it halts, by its number.
    path, passages
        The way, and how many passages are free for the mark.
    """
    asked, nearest = (rest_m(each, last) for each in layings)
    is_near = nearest > target_m
    side, most = ("beyond", "short and slow") if is_near else ("short of", "long and fast")
    now = "beyond" if asked > target_m else "short of"
    frame = rest_row(layings[1][1], last) + 1
    fewer = ", or leave out a passage" if passages > 1 and is_near else ""
    return (
        f"is not met: the body halts {abs(asked - target_m):.2f} m {now} it, and would do so "
        f"{abs(nearest - target_m):.2f} m {side} it, in frame {frame}, with passages as {most} as they can "
        f"be, so they go as they were asked to; give {_at(path, nearest)}{fewer}, or another gait"
    )


def told_far_foot(limb: int, far_m: float, place_m: tuple[float, float]) -> str:
    """Say how far from its spot a foot, as in LIMBS, would land, and where it could. [m]"""
    x, y = place_m
    return (
        f"is not met: {LIMBS[limb]} would land {far_m:.2f} m from it with passages as near to it as they can "
        "go, as far as it may step aside, so they go as they were asked to; put the spot at "
        f"[{x:.2f}, {y:.2f}], where it could land, or lead the path there"
    )


def told_unmet(
    mark: Mark, where_m: tuple[float, float], frame: int | None, path: Path, *, is_held: bool
) -> str:
    """Say that a body comes as near to a mark as its passages let it, and what would meet one.

    Parameters
    ----------
    mark, where_m
        The mark, how far along the path it is, and how far beyond it the body is. [m]
    frame
        When that is.
    path, is_held
        The way, and whether the mark before it holds its passage already.
    """
    target, off = where_m
    if is_held:
        why = "the mark before it holds its passage already"
        then = (
            "give another frame, or end the passage soon after that mark and begin another, with "
            "another speed, which takes two strides or three to come to it"
        )
    else:
        why, then = (
            "its passages can do no more",
            "give another frame, more or fewer strides, or another gait",
        )
        if mark.halts:
            then = f"give {_at(path, target + off)}, or another gait"
    side = "short of" if off < 0.0 else "beyond"
    when = "" if mark.frame is None else f" at frame {frame}"
    return f"is not met: the body is {abs(off):.2f} m {side} it{when}, as {why}; {then}"


def told_turns(mark: Mark, passage: str) -> str:
    """Say that a foot is to be on a spot while the animal turns on it, in a passage by its name."""
    return (
        f"{mark.where}: at frame {mark.frame} the animal turns on the spot ({passage}), where its feet step "
        "as the turn asks; take foot out, or give a frame before or after it"
    )


def told_swings(mark: Mark, limb: int, down: tuple[float, float]) -> str:
    """Say that a foot, as in LIMBS, swings when it is asked to be down, and when it is. [frames, from 0]"""
    return (
        f"is not met at frame {mark.frame}, when {LIMBS[limb]} swings; its step there is down from frame "
        f"{down[0] + 1:.0f} to {down[1] + 1:.0f}"
    )


def _at(path: Path, along_m: float) -> str:
    """Write a place on the way as a shot file has it."""
    x, y = path.at(np.array(along_m))[0]
    return f"at = [{x:.2f}, {y:.2f}]"


def _gone_m(timeline: Timeline, frame: float) -> float:
    """How far the body has gone at a frame, from 0. [m]"""
    return float(timeline.pace.distance_m(np.array(frame / timeline.frame_rate_hz)))


def _frame_at(timeline: Timeline, along_m: float) -> float | None:
    """When the body is so far along its way, from 0; None where it is not in this shot. [frames]"""
    gone = timeline.pace.distance_m(timeline.frame / timeline.frame_rate_hz)
    inside = (timeline.frame >= 0.0) & (timeline.frame <= timeline.frames)
    if not gone[inside][0] <= along_m < gone[inside][-1]:
        return None
    return float(np.interp(along_m, gone[inside], timeline.frame[inside]))
