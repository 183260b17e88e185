"""Carrying an edit from, to or along somebody's rig, from files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked, place
from gaitgen.edits.original import candidates, unlikely
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.edits.rig_edit import RigEdit, local_changes, rig_difference, tracked
from gaitgen.errors import FileFormatError, Notice, RequestError
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.numerics.runs import runs
from gaitgen.numerics.turns import turn_between_rad
from gaitgen.reading.read import frame_rate_hz
from gaitgen.reading.stride import Stride, find_stride
from gaitgen.rigs.cycle import LoadedRig, RigClip
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

SAME_DEG = 0.05  # strides that differ by less are alike


@dataclass(frozen=True, eq=False)
class RefinedOnRig:
    """A clip on a rig that was refined by hand.

    Attributes
    ----------
    path, motion, stride
        The file, what is in it, and the timing that was found.
    """

    path: Path
    motion: Tracked
    stride: Stride

    @property
    def timing(self) -> Timing:
        """Of its first stride."""
        contact, down = ([float(v) for v in values] for values in (self.stride.contact, self.stride.down))
        return Timing(self.stride.frames, tuple(contact), tuple(down))  # type: ignore[arg-type]

    @property
    def is_closed(self) -> bool:
        """Whether the last frame of its first stride is as its first."""
        frames = self.stride.frames
        if self.motion.frames <= frames:
            return True
        return bool(_apart_deg(self.motion, np.array([frames]), np.array([0])).max() < SAME_DEG)


def is_on(path: Path, rig: Rig) -> bool:
    """Whether a clip is on the joints of a rig."""
    file = read_bvh(read_bvh_bytes(path, "clip"), str(path))
    return file.joint_names == rig.file.joint_names and np.array_equal(file.parents, rig.file.parents)


def refined_on(path: Path, rig: Rig) -> RefinedOnRig:
    """Read a clip on a rig, and find its stride.

    Raises
    ------
    GaitgenError
        If it is on other joints, has no stride, or its strides are not alike.
    """
    where = str(path)
    file = read_bvh(read_bvh_bytes(path, "clip"), where)
    if file.joint_names != rig.file.joint_names or not np.array_equal(file.parents, rig.file.parents):
        raise FileFormatError(f"{where} does not have the joints of {rig.name}, which the map is for")
    file = replace(file, frame_time_s=1.0 / frame_rate_hz(file.frame_time_s))
    motion = place(file, rig.map, path.name, rig.rest)
    stride = find_stride(motion, where)
    rows = np.arange(stride.frames, stride.frames * stride.strides)
    apart = _apart_deg(motion, rows, rows % stride.frames)
    if apart.size and apart.max() > SAME_DEG:
        found = ", ".join(
            f"{stride.frames + a + 1} to {stride.frames + b + 1}" for a, b in runs(apart > SAME_DEG)
        )
        raise RequestError(
            f"{where}: its {stride.strides} strides are not alike, they differ in frames {found}; cut the "
            "clip to the stride to carry"
        )
    return RefinedOnRig(path, motion, stride)


def _apart_deg(
    motion: Tracked, rows: npt.NDArray[np.int64], other: npt.NDArray[np.int64]
) -> npt.NDArray[np.float64]:
    """Greatest angle of a joint between some frames and others, (rows,). [degrees]"""
    local = local_changes(motion.file.parents, motion.changes)
    if not rows.size:
        return np.zeros(0)
    return np.asarray(np.degrees(turn_between_rad(local[rows], local[other])).max(axis=1))


def started_on(refined: RefinedOnRig, loaded: LoadedRig, style: Style) -> tuple[Request, RigClip]:
    """Make the cycle that a clip on a rig started from again, from what the clip shows.

    Raises
    ------
    RequestError
        If no gait that gaitgen knows has these contacts.
    """
    timing, parents = refined.timing, loaded.rig.file.parents
    local = local_changes(parents, refined.motion.changes[: timing.frames])
    tried = []
    for request, made in candidates(
        timing,
        float(np.linalg.norm(refined.stride.steps.travel_m_s)),
        refined.motion.frame_rate_hz,
        Request(animal=loaded.animal, style=style, in_place=refined.stride.in_place),
        loaded.cycle,
        lambda made: made.clip,
    ):
        own = local_changes(parents, made.motion.changes[: timing.frames])
        apart = float(np.abs(own - local).max(axis=(1, 2, 3)).mean())
        tried.append((unlikely(apart, request), request, made))
    if not tried:
        raise RequestError(
            "no gait of gaitgen's has the contacts of this clip; name the clip before with --from"
        )
    _, request, made = min(tried, key=lambda each: each[0])
    return request, made


def edit_on(refined: RefinedOnRig, before: RigClip, original: Tracked | None = None) -> RigEdit:
    """Find what was changed, against a cycle or the file that the clip started from."""
    timing, start = timing_of(before.clip), original or tracked(before)
    if refined.timing.frames != timing.frames:
        raise RequestError(
            f"the clip that it started from has a stride of {timing.frames} frames and the refined one of "
            f"{refined.timing.frames}; give two clips of one length"
        )
    both = timing.planted() & refined.timing.planted()
    return rig_difference(before.rig, before.clip.animal, start, refined.motion, timing, both)


def raised_m(refined: RefinedOnRig, before: RigClip, original: Tracked | None = None) -> float:
    """Return how much higher planted feet stand than in the clip that was changed. [m]"""
    timing, start = timing_of(before.clip), original or tracked(before)
    both = timing.planted() & refined.timing.planted()
    rows = slice(timing.frames)
    return float(np.median((refined.motion.toes_m[rows] - start.toes_m[rows])[both][:, 2]))


def seam_notice(refined: RefinedOnRig, text: str) -> tuple[Notice, ...]:
    """Say that the last frame of a stride is not as its first, if it is so."""
    return () if refined.is_closed else (Notice("seam", text),)
