"""What a hand changed in a cycle: joint by joint, the body's place, and where feet stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.spatial.transform import Rotation

from gaitgen.edits.phase import Phases, Timing, timing_of
from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.rotations import matrix_from_quaternion

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Edit:
    """The difference of two cycles of one length, one row a frame, without the last that repeats the first.

    Attributes
    ----------
    joint_names
        The joints that both have.
    turn_rad
        (frames, joints, 3) rotation of each joint from the one clip to the other, in the joint's own frame,
        as axis times angle. [rad]
    moved_m
        (frames, 3) how far the root was moved; forward, left, up. [m]
    toe_m
        (frames, 4, 3) how far the ground point of each toe was moved, in LIMBS order; while the foot is
        planted one place on the ground. [m]
    sole_rad
        (frames, 4, 3) how far each foot was turned in the world, as axis times angle; while it is planted one
        turn about the upright. [rad]
    hip_height_m
        Of the animal: lengths go with it. [m]
    timing
        Of the clip that was edited.
    """

    joint_names: tuple[str, ...]
    turn_rad: Array
    moved_m: Array
    toe_m: Array
    sole_rad: Array
    hip_height_m: float
    timing: Timing

    @property
    def print_m(self) -> Array:
        """How far each planted foot was moved on the ground, (stances, 3). [m]"""
        return _at_contact(self.toe_m, self.timing)

    @property
    def heading_rad(self) -> Array:
        """How far each planted foot was turned to the left, (stances,). [rad]"""
        return np.asarray(_at_contact(self.sole_rad, self.timing)[:, 2])

    def of_joints(self, at: Phases, limb_of: dict[str, int]) -> dict[str, Array]:
        """Take the turns of the joints at the moments of another cycle.

        Parameters
        ----------
        at
            The moments.
        limb_of
            Joints of limbs, and the row of LIMBS whose phase they go by; others go by that of the trunk.

        Returns
        -------
        Name of each joint to its rotation, (rows, 3). [rad]
        """
        turns = _looped(self.turn_rad)
        played = [turns(moment) for moment in (at.trunk, *at.limbs.T)]  # (rows, joints, 3) each
        return {name: played[1 + limb_of.get(name, -1)][:, k] for k, name in enumerate(self.joint_names)}

    def of_root_m(self, at: Phases) -> Array:
        """Take the move of the root at the moments of another cycle, (rows, 3). [m]"""
        return np.asarray(_looped(self.moved_m)(at.trunk))

    def of_feet(self, at: Phases) -> tuple[Array, Array]:
        """Take moves [m] and turns [rad] of the feet at the moments of another cycle, (rows, 4, 3) each."""
        frames = self.timing.frames
        row = np.arange(-frames, 2 * frames + 1)
        found = []
        for values in (self.toe_m, self.sole_rad):
            curve = PchipInterpolator(row, values[row % frames])
            found.append(np.stack([curve(at.limbs[:, k])[:, k] for k in range(len(LIMBS))], axis=1))
        return found[0], found[1]

    def on_prints(self, moved_m: Array, turned_rad: Array, timing: Timing) -> tuple[Array, Array]:
        """Hold moves [m] and turns [rad] of feet, (rows, 4, 3) each, where these stand in another cycle."""
        planted, stance = timing.planted()[..., None], timing.stance_at()
        heading = self.heading_rad[stance][..., None] * np.array([0.0, 0.0, 1.0])
        return np.where(planted, self.print_m[stance], moved_m), np.where(planted, heading, turned_rad)


def _at_contact(values: Array, timing: Timing) -> Array:
    """Values of each foot in the first row in which it is down, (stances, ...)."""
    row = np.ceil(np.array(timing.contact) - 1e-6).astype(np.int64) % timing.frames
    return np.asarray(values[row, np.arange(len(row)) % len(LIMBS)])


def _looped(values: Array) -> CubicSpline:
    closed = np.concatenate([values, values[:1]])
    return CubicSpline(np.arange(len(closed)), closed, bc_type="periodic")


def difference(original: Motion, refined: Motion) -> Edit:
    """Find what turns one cycle into another.

    Parameters
    ----------
    original, refined
        One stride each, in place, of one length. Contacts are those of the original.

    Raises
    ------
    RequestError
        If they have other lengths or no joint in common.
    """
    timing = timing_of(original)
    frames = timing.frames
    refuse_other_length(frames, refined.frames - 1)
    names = tuple(name for name in original.animal.joint_names if name in refined.animal.index)
    rows = [[clip.animal.joint(name) for name in names] for clip in (original, refined)]
    local = [
        matrix_from_quaternion(clip.rotations[:frames, joints])
        for clip, joints in zip((original, refined), rows, strict=True)
    ]
    turned = np.swapaxes(local[0], -1, -2) @ local[1]
    turn = Rotation.from_matrix(turned.reshape(-1, 3, 3)).as_rotvec().reshape(frames, len(names), 3)
    moved = refined.root_path_m[:frames] - original.root_path_m[:frames]
    toes, soles = _moved_feet(original, refined, timing)
    return Edit(names, turn, moved, toes, soles, original.animal.hip_height_m, timing)


def planted_m(original: Motion, refined: Motion) -> Array:
    """Return how much higher planted toes are in one clip than in another, one for each frame of each. [m]"""
    timing = timing_of(original)
    heights = []
    for clip in (original, refined):
        rows = slice(timing.frames)
        places, world = world_frames(clip.animal, clip.root_path_m[rows], clip.rotations[rows])
        heights.append(sole_points_m(clip.animal, places, world)[0][..., 2])
    return np.asarray((heights[1] - heights[0])[timing.planted()])


def _moved_feet(original: Motion, refined: Motion, timing: Timing) -> tuple[Array, Array]:
    """How far toes were moved [m] and feet turned [rad], (frames, 4, 3) each.

    A planted foot has one place and one heading, the middle of those that it was given; from one stance to
    the next, what that takes off goes over smoothly.
    """
    frames = timing.frames
    toes, soles = [], []
    for clip in (original, refined):
        places, world = world_frames(clip.animal, clip.root_path_m[:frames], clip.rotations[:frames])
        toes.append(sole_points_m(clip.animal, places, world)[0])
        soles.append(world[:, [limb.foot_joint for limb in clip.animal.limbs]])
    return held_feet(toes[1] - toes[0], soles[0], soles[1], timing)


def refuse_other_length(before: int, after: int) -> None:
    """Refuse strides of two lengths. [frames]

    Raises
    ------
    RequestError
        If they are of two lengths.
    """
    if before != after:
        raise RequestError(
            f"the clip that it started from has a stride of {before} frames and the refined one of "
            f"{after}; give two clips of one length"
        )


def held_feet(moved: Array, before: Array, after: Array, timing: Timing) -> tuple[Array, Array]:
    """Give each planted foot one place and one heading.

    Parameters
    ----------
    moved
        (frames, 4, 3) how far toes were moved. [m]
    before, after
        (frames, 4, 3, 3) how feet are turned in the world.
    timing
        Of the original.

    Returns
    -------
    How far toes were moved [m] and feet turned [rad], (frames, 4, 3) each.
    """
    frames, moved = timing.frames, moved.copy()
    turned = after @ np.swapaxes(before, -1, -2)
    turn = Rotation.from_matrix(turned.reshape(-1, 3, 3)).as_rotvec().reshape(frames, len(LIMBS), 3)
    own, stance = timing.planted(), timing.stance_at()
    for limb in range(len(LIMBS)):
        places, headings = np.zeros((2, frames, 3))
        for each in range(limb, len(timing.contact), len(LIMBS)):  # over stances
            at = stance[:, limb] == each
            rows = own[:, limb] & at
            if rows.any():
                places[at, :2] = np.median(moved[rows, limb, :2], axis=0)
                headings[at, 2] = np.median(turn[rows, limb, 2])
        moved[:, limb] = _held(moved[:, limb], own[:, limb], places)
        turn[:, limb] = _held(turn[:, limb], own[:, limb], headings)
    return moved, turn


def _held(values: Array, is_held: npt.NDArray[np.bool_], at: Array) -> Array:
    """Give a periodic curve (rows, 3) other values where it is held, and lead it smoothly over the gaps."""
    count, row = len(values), np.arange(len(values))
    held = np.flatnonzero(is_held)
    if held.size == 0:
        return values
    place = np.searchsorted(held, row, side="right")
    last, following = held[place - 1], held[place % held.size]
    since, until = (row - last) % count, (following - row) % count
    share = ramp(since / np.maximum(since + until, 1))[:, None]
    ends = at[last] - values[last], at[following] - values[following]
    led = values + (1.0 - share) * ends[0] + share * ends[1]
    return np.asarray(np.where(is_held[:, None], at, led))
