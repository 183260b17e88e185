"""A mark that no speed of its passages meets: what is said, with the frame and the place that they could."""

from __future__ import annotations

import numpy as np

from gaitgen.course.path import Path
from gaitgen.shot.asked import Mark
from gaitgen.shot.timeline import Timeline


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
    place = path.at(np.array(target_m + left[1]))[0]
    could = f"at = [{place[0]:.2f}, {place[1]:.2f}]"
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
