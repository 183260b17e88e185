"""Strides of one clip that are not alike, as after an edit of one of them, and cutting one out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

# Less is the rounding of files, and of times where a stride is no whole number of frames.
SAME_DEG, SAME_MM = 0.05, 0.5
TRIED = 8  # strides that the others are compared with; the one that most frames agree with is the usual
GOES_SHARE = 0.7  # of what joints turn in the liveliest stride: in one with less the body stands, or nearly
SHOWN = 4  # runs of frames in a message


@dataclass(frozen=True, eq=False)
class Unlike:
    """Where the strides of a clip differ from what most of them do.

    Attributes
    ----------
    frames, strides
        Length of a stride [frames], and how many whole ones there are.
    differs
        (rows,) whether a frame differs; of all strides, where no half of them are alike.
    """

    frames: int
    strides: int
    differs: npt.NDArray[np.bool_]

    @property
    def odd(self) -> tuple[int, ...]:
        """The strides that differ, from 0; the last frame of the clip counts for the last of them."""
        rows = np.flatnonzero(self.differs)
        return tuple(np.unique(np.minimum(rows // self.frames, self.strides - 1)).tolist())

    @property
    def only(self) -> int | None:
        """The one stride, from 0, that differs from the others; None if there is no such one."""
        whole = self.frames * self.strides
        inside = self.differs[:whole].any() and not self.differs[whole + 1 :].any()
        return self.odd[0] if inside and self.strides > 2 and len(self.odd) == 1 else None

    def span(self, stride: int) -> str:
        """Write first and last frame of a stride, from 1, the last one being the first of the next."""
        return f"{stride * self.frames + 1} to {(stride + 1) * self.frames + 1}"

    def where(self) -> str:
        """Write the frames that differ, from 1."""
        found = [f"{a + 1}" if a == b else f"{a + 1} to {b + 1}" for a, b in runs(self.differs)]
        more = f" and {len(found) - SHOWN} more" if len(found) > SHOWN else ""
        few = found[:SHOWN]
        return ", ".join(few) + more if more or len(few) < 2 else f"{', '.join(few[:-1])} and {few[-1]}"


def unlike_strides(clip: Motion) -> Unlike | None:
    """Compare the strides of a clip with each other.

    Parameters
    ----------
    clip
        A clip with facts and a period.

    Returns
    -------
    Unlike
        None if there is one stride only, or all are alike up to rounding.
    """
    frames = clip.facts.frames
    strides = (clip.frames - 1) // frames
    if strides < 2:
        return None
    place = np.arange(clip.frames) % frames
    path = over_origin(clip).root_path_m
    found = [_apart(clip.rotations, path, k * frames + place) for k in range(min(strides, TRIED))]
    differs = min(found, key=np.count_nonzero)
    unlike = Unlike(frames, strides, differs)
    if 2 * len(unlike.odd) >= strides:  # too few are alike to be the usual ones
        unlike = replace(unlike, differs=np.isin(place, place[differs]))
    return unlike if differs.any() else None


def even_stride(clip: Motion, unlike: Unlike) -> int:
    """Choose of the strides that differ one that can be carried: it goes on, and ends as it began.

    The last of those that are nearest to that, from 0.
    """
    odd = np.array(unlike.odd)
    turns = clip.rotations[unlike.frames * odd[:, None] + np.arange(unlike.frames + 1)]
    goes = np.linalg.norm(np.diff(turns, axis=1), axis=(2, 3)).sum(axis=1)
    opens = np.linalg.norm(turns[:, -1] - turns[:, 0], axis=(1, 2))
    stands = goes < GOES_SHARE * goes.max()
    return int(odd[::-1][np.argmin(np.round(opens + 1e3 * stands, 4)[::-1])])


def is_closed(stride: Motion) -> bool:
    """Whether the last frame of one stride, in place, is as its first up to rounding; so if it has none."""
    last, first = np.array([stride.facts.frames]), np.array([0])
    if stride.frames <= last[0]:
        return True
    ends = stride.rotations[np.concatenate([first, last])]
    path = stride.root_path_m[np.concatenate([first, last])]
    return not _apart(ends, path, np.array([0, 0])).any()


def _apart(rotations: Array, path_m: Array, other: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Whether each frame (rows,) differs from another, ``other`` being the rows of those."""
    there = rotations[other]
    sign = np.where((rotations * there).sum(axis=-1, keepdims=True) < 0.0, -1.0, 1.0)  # q and -q are one
    chord = np.linalg.norm(rotations - sign * there, axis=-1).max(axis=1)  # 2 sin of a quarter of the angle
    angle_deg = np.degrees(4.0 * np.arcsin(np.minimum(chord / 2.0, 1.0)))
    moved_mm = 1000.0 * np.linalg.norm(path_m - path_m[other], axis=1)
    return np.asarray((angle_deg > SAME_DEG) | (moved_mm > SAME_MM))


def one_stride(clip: Motion, stride: int = 0) -> Motion:
    """Cut a clip to one of its strides, from 0, in place."""
    start = stride * clip.facts.frames
    rows = np.arange(start, min(start + clip.facts.frames + 1, clip.frames))
    still = over_origin(clip)
    return replace(
        still,
        root_path_m=still.root_path_m[rows],
        rotations=clip.rotations[rows],
        belt_m_s=clip.belt_m_s if clip.is_in_place else clip.steps.travel_m_s.copy(),
        plan=clip.plan.at(rows),
        facts=replace(clip.facts, strides=1),
    )
