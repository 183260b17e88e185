"""Whole frames of a clip that have a name: its key poses, stride after stride."""

from __future__ import annotations

import math

import numpy as np

from gaitgen.errors import Notice
from gaitgen.motion.motion import Motion


def stride_rows(clip: Motion) -> int | None:
    """Return the length of a stride in rows if the clip is whole strides of a cycle, else None."""
    if clip.steps.period_s is None:
        return None
    exact = clip.steps.period_s * clip.frame_rate_hz
    rows = round(exact)
    if rows < 1 or abs(exact - rows) > 1e-6 or clip.frames == 1 or (clip.frames - 1) % rows:
        return None
    return rows


def pose_frames(clip: Motion) -> list[tuple[float, str]]:
    """Return the named poses of all strides in order, as (frame from 1, name); frames may be fractions."""
    poses = [(pose.frame, pose.name) for pose in clip.key_poses if 1.0 <= pose.frame <= clip.frames]
    stride = stride_rows(clip)
    if stride is None:
        return sorted(poses)
    first = {round((frame - 1.0) % stride, 6): name for frame, name in reversed(poses)}
    turns = range((clip.frames - 1) // stride)
    repeated = [(turn * stride + place + 1.0, name) for turn in turns for place, name in first.items()]
    if 0.0 in first:
        repeated.append((float(clip.frames), first[0.0]))
    return sorted(repeated)


def named_frames(clip: Motion) -> tuple[dict[int, str], tuple[Notice, ...]]:
    """Put every named pose on a whole frame, half frames on the later one; say which ones were moved."""
    poses: dict[int, str] = {}
    moved = []
    for exact, name in pose_frames(clip):
        frame = min(math.floor(exact + 0.5 + 1e-9), clip.frames)
        poses[frame] = f"{poses[frame]}; {name}" if frame in poses else name
        if abs(exact - frame) > 1e-6:
            moved.append(f"{round(exact, 3):g} to {frame}")
    if not moved:
        return poses, ()
    shown = ", ".join(moved[:8]) + (f" and {len(moved) - 8} more" if len(moved) > 8 else "")
    advice = "; a stride of 8, 16, 24, ... frames avoids that" if _eighths_help(clip) else ""
    text = f"keys are on whole frames, so these poses move: frame {shown}{advice}."
    return poses, (Notice("keys", text),)


def _eighths_help(clip: Motion) -> bool:
    """Whether another length of the stride puts all poses on whole frames, as where contacts are even."""
    rows = stride_rows(clip)
    if rows is None or rows % 8 == 0:
        return False
    contact = np.sort((clip.steps.touchdown_s * clip.frame_rate_hz) % rows)
    even = rows * np.arange(contact.size) / 4.0
    return bool(contact.size == 4 and np.all(np.abs(contact - contact[0] - even) < 1.0))  # whole frames
