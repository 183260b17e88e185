"""Carrying an edit from, to or along somebody's rig, from files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked
from gaitgen.edits.difference import refuse_other_length
from gaitgen.edits.moved_steps import with_moved_legs, with_moved_steps
from gaitgen.edits.moves import Moves
from gaitgen.edits.original import Maker
from gaitgen.edits.own_name import Varied
from gaitgen.edits.phase import Timing, timing_of
from gaitgen.edits.refined import STAYS_SHARE, stride_length, without_held
from gaitgen.edits.rig_edit import RigEdit, limb_rows, local_changes, rig_difference, tracked
from gaitgen.edits.rig_legs import with_late_legs
from gaitgen.edits.seen import Seen
from gaitgen.errors import Notice, RequestError
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.numerics.runs import runs
from gaitgen.numerics.turns import turn_between_rad
from gaitgen.reading.on_rig import tracked_on
from gaitgen.reading.stride import Stride
from gaitgen.rigs.cycle import LoadedRig, RigClip
from gaitgen.rigs.pose import Placed
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

SAME_DEG = 0.05  # strides that differ by less are alike


@dataclass(frozen=True, eq=False)
class RefinedOnRig:
    """A clip on a rig that was refined by hand.

    Attributes
    ----------
    path, motion
        The file, and what is in it.
    held
        What is said of frames that hold still.
    stride
        The timing that was found; None if there is none to be found.
    frames
        Length of a stride. [frames]
    travel_m
        (3,) how far the body goes over the ground in a stride; nothing for one in place. [m]
    """

    path: Path
    motion: Tracked
    held: tuple[Notice, ...]
    stride: Stride | None
    frames: int
    travel_m: Array

    @property
    def timing(self) -> Timing | None:
        """Contacts of its first stride, as far as they were found."""
        if self.stride is None or self.stride.frames != self.frames:
            return None
        contact, down = ([float(v) for v in values] for values in (self.stride.contact, self.stride.down))
        return Timing(self.frames, tuple(contact), tuple(down))

    @property
    def is_in_place(self) -> bool:
        """Whether the ground moves rather than the body."""
        return not self.travel_m.any()

    @property
    def strides(self) -> int:
        """How many whole strides are in the file."""
        return max(1, (self.motion.frames - 1) // self.frames)

    @property
    def is_closed(self) -> bool:
        """Whether the last frame of its first stride is as its first."""
        if self.motion.frames <= self.frames:
            return True
        return bool(_apart_deg(self.motion, np.array([self.frames]), np.array([0])).max() < SAME_DEG)

    def seen(self, rig: Rig) -> Seen:
        """Look at its first stride."""
        rows = slice(self.frames)
        motion, going = self.motion, self.travel_m / self.frames
        if self.is_in_place and self.stride is not None:  # over the ground it goes as its feet say
            over = self.stride.steps.travel_m_s[:2] / motion.frame_rate_hz
        else:
            over = going[:2]
        placed = motion.places_m[rows], motion.changes[rows], motion.toes_m[rows]
        return seen_on_rig(rig, *placed, going, motion.frame_rate_hz, self.timing, over)


def seen_on_rig(
    rig: Rig,
    places_m: Array,
    changes: Array,
    toes_m: Array,
    going_m: Array,
    rate_hz: float,
    timing: Timing | None,
    over_m: Array,
) -> Seen:
    """Look at one stride on a rig.

    Parameters
    ----------
    rig
        The rig.
    places_m, changes, toes_m
        (frames, joints, 3) places, (frames, joints, 3, 3) changes from standing, and (frames, 4, 3) toes.
    going_m
        (3,) how far the body goes in the file in a frame. [m]
    rate_hz, timing
        Frames per second [Hz], and contacts as far as they are known.
    over_m
        (2,) how far it goes over the ground in a frame. [m]
    """
    tops = [int(rig.file.parents[limb.joints[0]]) for limb in rig.limbs]
    gone = (np.arange(len(changes))[:, None] * going_m)[:, None]
    rows = limb_rows(rig)
    return Seen(
        local=local_changes(rig.file.parents, changes),
        limbs=tuple(joint for limb in rig.limbs for joint in limb.joints),
        legs=tuple(
            tuple(joint for joint, of in rows.items() if of == limb) for limb in range(len(rig.limbs))
        ),
        toes_m=toes_m - gone,
        tops_m=places_m[:, tops] - gone,
        tops=changes[:, tops],
        hip_height_m=float(np.mean([rig.places_m[limb.joints[0], 2] for limb in rig.limbs[2:]])),
        frame_rate_hz=rate_hz,
        timing=timing,
        travel_m=over_m,
        names=rig.file.joint_names,
    )


def _seen_in(made: RigClip) -> Seen:
    """Look at the first stride of a cycle on a rig."""
    clip, motion, timing = made.clip, made.motion, timing_of(made.clip)
    rows = slice(timing.frames)
    over = clip.steps.travel_m_s[:2] / clip.frame_rate_hz
    going = np.zeros(3) if clip.is_in_place else np.append(over, 0.0)
    moved = {joint: path[rows] for joint, path in motion.moved_m.items()}
    places = Placed(motion.root_m[rows], moved).paths_m(made.rig, motion.changes[rows])
    placed = places, motion.changes[rows], motion.toes_m[rows]
    return seen_on_rig(made.rig, *placed, going, clip.frame_rate_hz, timing, over)


def is_on(path: Path, rig: Rig) -> bool:
    """Whether a clip is on the joints of a rig."""
    file = read_bvh(read_bvh_bytes(path, "clip"), str(path))
    return file.joint_names == rig.file.joint_names and np.array_equal(file.parents, rig.file.parents)


def refined_on(path: Path, rig: Rig, varied: Varied | None = None) -> RefinedOnRig:
    """Read a clip on a rig, and find its stride; of strides that may differ, all of them.

    Raises
    ------
    GaitgenError
        If it is on other joints, has no stride, or its strides are not alike.
    """
    where = str(path)
    motion = tracked_on(path, rig)
    motion, held = without_held(motion)
    held = (*motion.notices, *held)
    limbs = [joint for limb in rig.limbs for joint in limb.joints]
    local = local_changes(rig.file.parents, motion.changes)[:, limbs]
    whole = None if varied is None else varied.loop_frames(motion)
    stride, frames = stride_length(motion, local, where) if whole is None else (None, whole)
    travel = np.zeros(3)
    if motion.frames > frames:
        travel[:2] = (motion.root_m[frames] - motion.root_m[0])[:2]
    if float(np.linalg.norm(travel)) < STAYS_SHARE * motion.hip_height_m:
        travel = np.zeros(3)
    found = RefinedOnRig(path, motion, held, stride, frames, travel)
    rows = np.arange(frames, frames * found.strides)
    apart = _apart_deg(motion, rows, rows % frames)
    if apart.size and apart.max() > SAME_DEG:
        said = ", ".join(f"{frames + a + 1} to {frames + b + 1}" for a, b in runs(apart > SAME_DEG))
        raise RequestError(
            f"{where}: its {found.strides} strides are not alike, they differ in frames {said}; cut the "
            "clip to the stride to carry"
        )
    return found


def _apart_deg(
    motion: Tracked, rows: npt.NDArray[np.int64], other: npt.NDArray[np.int64]
) -> npt.NDArray[np.float64]:
    """Greatest angle of a joint between some frames and others, (rows,). [degrees]"""
    local = local_changes(motion.file.parents, motion.changes)
    if not rows.size:
        return np.zeros(0)
    return np.asarray(np.degrees(turn_between_rad(local[rows], local[other])).max(axis=1))


def rig_maker(loaded: LoadedRig) -> Maker[RigClip]:
    """Make cycles on a rig, look at them and move their steps."""

    def move(made: RigClip, moves: Moves) -> tuple[RigClip, Moves]:
        clip, moves = with_moved_legs(made.clip, moves)
        return with_late_legs(made, loaded.carry(clip), moves), moves

    def plant(made: RigClip, moves: Moves) -> tuple[RigClip, Moves]:
        clip, moves = with_moved_steps(made.clip, moves)
        return loaded.carry(clip), moves

    return Maker(loaded.cycle, _seen_in, move, plant)


def edit_on(refined: RefinedOnRig, before: RigClip, original: Tracked | None = None) -> RigEdit:
    """Find what was changed, against a cycle or the file that the clip started from."""
    timing, start = timing_of(before.clip), original or tracked(before)
    refuse_other_length(timing.frames, refined.frames)
    return rig_difference(before.rig, before.clip.animal, start, refined.motion, timing)


def raised_on(refined: RefinedOnRig, before: RigClip, original: Tracked | None = None) -> Array:
    """Return how much higher planted toes are than in the clip that was changed, one for each of them. [m]"""
    timing, start = timing_of(before.clip), original or tracked(before)
    rows = slice(timing.frames)
    return np.asarray((refined.motion.toes_m[rows] - start.toes_m[rows])[timing.planted()][:, 2])


def seam_notice(refined: RefinedOnRig, text: str) -> tuple[Notice, ...]:
    """Say that the last frame of a stride is not as its first, if it is so, and which frames hold still."""
    return refined.held if refined.is_closed else (*refined.held, Notice("seam", text))
