"""Which moments of a clip a strip shows."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.motion.key_poses import LIFT_OFF, OVER, TAKE_OFF, is_event
from gaitgen.motion.motion import Motion

# A moment between two events becomes a named pose that is this near, as a share of the way to its neighbours.
_NAMED_SHARE = 0.26
# In strides of so many frames a pose, moments in between would not show a flight of one frame (estimate).
FEW_FRAMES = 1.5
# A pose that is nearer than this to one of a jump, in lengths of a stretch of a strip, goes (estimate).
NEAR_STRETCHES = 0.5


def strip_rows(clip: Motion, poses: int) -> npt.NDArray[np.int64]:
    """Return the rows of the poses to draw, (poses,), whole frames of the first stride in order.

    The contacts and flights, and between them moments that are evenly apart, in named poses where these are
    near. Where there are too many events, those go that are nearest to their neighbours. A flight of which
    the lift-off is the only frame is shown if there is room for all events.
    """
    stride = clip.facts.frames
    count = min(poses, stride)
    names: dict[int, str] = {}
    for key in clip.key_poses:
        row = int(np.floor(key.frame + 0.25)) - 1
        if row < stride and not (row in names and is_event(names[row])):
            names[row] = key.name
    events = sorted(row for row, name in names.items() if is_event(name))
    rows = [row for row in events if names[row] != LIFT_OFF] or [0]
    if len(events) <= count and stride <= count * FEW_FRAMES:
        rows = events or rows
    while len(rows) > count:
        gaps = _gaps(rows, stride)
        rooms = np.roll(gaps, 1) + gaps
        del rows[int(np.argmin(rooms))]
    return _filled(rows, count - len(rows), stride, sorted(names))


def _filled(rows: list[int], more: int, stride: int, named: list[int]) -> npt.NDArray[np.int64]:
    """Put some more rows evenly into the gaps between rows, the wider a gap the more."""
    gaps = _gaps(rows, stride)
    counts = np.zeros(len(rows), dtype=np.int64)
    for _ in range(more):
        parts = np.where(gaps > counts + 1, gaps / (counts + 1), 0.0)
        widest = np.flatnonzero(parts > parts.max() - 1e-9)
        middles = np.array(rows) + gaps / 2.0
        away = np.abs(middles[widest, None] - middles[None, counts > 0])
        apart = np.minimum(away, stride - away).min(axis=1, initial=stride)
        counts[widest[np.argmax(apart)]] += 1
    found: list[int] = []
    for row, gap, n in zip(rows, gaps.tolist(), counts.tolist(), strict=True):
        inside = [(row + int(gap * (k + 1) / (n + 1))) % stride for k in range(n)]
        found += [row, *(_named(each, named, _NAMED_SHARE * gap / (n + 1)) for each in inside)]
    return np.array(sorted(found), dtype=np.int64)


def _named(row: int, named: list[int], reach: float) -> int:
    """Return a named row within reach, or the row itself."""
    return min((each for each in named if abs(each - row) <= reach), key=lambda n: abs(n - row), default=row)


def _gaps(rows: list[int], stride: int) -> npt.NDArray[np.int64]:
    """Return how far it is from each row to the next, the last to the first of the next stride."""
    return np.diff([*rows, rows[0] + stride])


def spread_rows(clip: Motion, poses: int) -> npt.NDArray[np.int64]:
    """Return rows of named poses from all over a clip, at most (poses,): the ends, and one of each stretch.

    Of the poses of a stretch that is taken whose name has been taken least often, so that a strip does not
    show one moment of the stride again and again. What no picture of a jump can do without is taken first,
    and nothing that is so near to it that it would show nearly the same.
    """
    names = {round(key.frame) - 1: key.name for key in clip.key_poses}
    keys = np.array(sorted(row for row in names if 0 < row < clip.frames - 1), dtype=np.int64)
    edges = np.linspace(0.0, clip.frames - 1.0, poses - 1)
    jumps = _jump_rows(names, keys.tolist())[: poses - 2]
    near = NEAR_STRETCHES * (clip.frames - 1.0) / (poses - 2)
    taken: dict[str, int] = {}
    rows = []
    for first, after in pairwise(edges.tolist()):
        here = keys[(keys >= first) & (keys < after)].tolist()
        if here and not any(first <= row < after for row in jumps):
            middle = (first + after) / 2.0
            row = min(here, key=lambda each: (taken.get(names[each], 0), abs(each - middle)))
            taken[names[row]] = taken.get(names[row], 0) + 1
            rows.append(row)
    if jumps:
        rows = [row for row in rows if min(abs(row - each) for each in jumps) >= near]
    while len(rows) > poses - 2 - len(jumps):  # those go that are nearest to others
        all_rows = np.array([0, *rows, *jumps, clip.frames - 1])
        apart = [np.partition(np.abs(all_rows - row), 2)[1:3].sum() for row in rows]
        del rows[int(np.argmin(apart))]
    return np.array(sorted({0, *rows, *jumps, clip.frames - 1}), dtype=np.int64)


def _jump_rows(names: dict[int, str], keys: list[int]) -> list[int]:
    """Return what shows a jump: over all of them, the take-offs, then where fore and hind feet land first."""
    found: list[list[int]] = [[], [], [], []]
    for row in (key for key in keys if names[key] == OVER):
        before = [key for key in keys if key < row and names[key] == TAKE_OFF]
        found[0].append(row)
        found[1] += before[-1:]
        for end, rank in (("F", 2), ("H", 3)):
            found[rank] += [key for key in keys if key > row and f"{end} " in names[key]][:1]
    return list(dict.fromkeys(row for each in found for row in each))
