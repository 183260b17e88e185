"""What a clip would be with some of its numbers read another way: the same body, with other turns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked
from gaitgen.formats.bvh_file import channel_columns, placed, rotation_letters
from gaitgen.gait.gait import LIMBS
from gaitgen.motion import contacts
from gaitgen.motion.contacts import find_feet
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.kinematics import forward, line_above
from gaitgen.motion.loop import find_loop
from gaitgen.numerics.rotations import matrix_from_euler
from gaitgen.rigs.rig import axes_of

Array = npt.NDArray[np.float64]

MIRROR = np.diag([1.0, -1.0, 1.0])
# Of the pace of a body: what is slower stands, or hardly goes. Frames of a short stance, and the share of the
# frames of a stride in which any foot of any gait is down.
GOES, STANCE_ROWS, STANDS = 0.3, 10.0, 0.15


@dataclass(frozen=True, eq=False)
class Body:
    """A clip taken apart, x forward, y left, z up.

    Attributes
    ----------
    motion
        The clip.
    turns
        (frames, joints, 3, 3) turn of each joint in its parent's, from standing.
    arms_m
        (frames, joints, 3) each joint from its parent, in the parent's frame. [m]
    toes_m
        (frames, 4, 3) toes from the last joints of the limbs, in their frames. [m]
    """

    motion: Tracked
    turns: Array
    arms_m: Array
    toes_m: Array

    @cached_property
    def stands(self) -> Array:
        """(joints, 3, 3) what turns rotations in the file into turns from standing, in every frame alike."""
        file = self.motion.file
        first = placed(replace(file, rows=file.rows[:1]))[1][0]
        return np.asarray(np.swapaxes(self.motion.changes[0], -1, -2) @ axes_of(self.motion.map) @ first)

    def toes(self, turns: Array) -> Array:
        """Return the toes (frames, 4, 3) with other turns. [m]"""
        lasts = [self.motion.limb_joints(limb)[-1] for limb in LIMBS]
        carriers, parents, rows = line_above(self.motion.file.parents, lasts)
        places, world = forward(parents, self.arms_m[:, carriers], turns[:, carriers], self.motion.root_m)
        return np.asarray(places[:, rows] + (world[:, rows] @ self.toes_m[..., None])[..., 0])

    def with_turns(self, turns: Array) -> Body:
        """Return the same clip with other turns (frames, joints, 3, 3)."""
        return Body(self.motion, turns, self.arms_m, self.toes_m)


def taken_apart(motion: Tracked) -> Body:
    """Take a clip apart."""
    parents, world = motion.file.parents, motion.changes
    above = np.where(parents < 0, 0, parents)
    carried = np.swapaxes(world[:, above], -1, -2)
    carried[:, 0] = np.eye(3)
    arms = (carried @ (motion.places_m - motion.places_m[:, above])[..., None])[..., 0]
    lasts = [motion.limb_joints(limb)[-1] for limb in LIMBS]
    toes = np.swapaxes(world[:, lasts], -1, -2) @ (motion.toes_m - motion.places_m[:, lasts])[..., None]
    return Body(motion, np.ascontiguousarray(carried @ world), arms, toes[..., 0])


def unrest(motion: Tracked, toes_m: Array) -> Array:
    """How far each planted foot moves and is off the ground, (4,): 0 where it stands. [hip heights]

    A foot that stands nowhere has 1.
    """
    points = np.concatenate([motion.root_m[:, None], toes_m], axis=1)
    paths = FootPaths(toes_m, motion.root_m, motion.file.frame_time_s, motion.hip_height_m)
    return contacts.unrest(find_feet(paths, find_loop(points)), motion.hip_height_m)


def unrest_in_the_world(motion: Tracked, toes_m: Array) -> Array:
    """How far each foot goes in the time of a short stance while it is at rest, (4,). [hip heights]

    Of a body that travels, at any pace: in the frames in which it goes, some of the steps of each foot are
    those of a foot that stands.
    """
    way = np.linalg.norm(np.diff(motion.root_m[:, :2], axis=0), axis=1)
    goes = way > GOES * float(np.quantile(way, 0.9))
    steps = np.linalg.norm(np.diff(toes_m, axis=0), axis=2)[goes]
    if not len(steps):
        return np.zeros(len(LIMBS))
    return np.asarray(STANCE_ROWS * np.quantile(steps, STANDS, axis=0) / motion.hip_height_m)


def in_another_order(body: Body, order: str, *, is_renamed: bool) -> Array | None:
    """Return turns (frames, joints, 3, 3) with all angles read in another order; None if orders are mixed.

    Parameters
    ----------
    body
        The clip.
    order
        Letters of the axes, such as ``"XYZ"``.
    is_renamed
        Whether the first number is taken for the first letter's angle, and so on; else each angle stays
        with its axis, and only the order in which they apply is another.
    """
    file = body.motion.file
    columns = channel_columns(file, "rotation")
    joints = [joint for joint, own in enumerate(columns) if len(own) == 3]
    letters = {rotation_letters(file, joint) for joint in joints}
    if len(letters) != 1 or order in letters or set(*letters) != set(order):
        return None
    (own_order,) = letters
    at = np.array([columns[joint] for joint in joints])
    if not is_renamed:
        at = at[:, [own_order.index(letter) for letter in order]]
    return _with_angles(body, joints, matrix_from_euler(np.radians(file.rows[:, at]), order))


def scaled(body: Body, joints: list[int], times: float) -> Array:
    """Return turns (frames, joints, 3, 3) with all angles of some joints so many times as large."""
    file, turns = body.motion.file, body.turns.copy()
    columns = channel_columns(file, "rotation")
    letters = {joint: rotation_letters(file, joint) for joint in joints}
    for order in sorted(set(letters.values()) - {""}):  # one or two in most files
        alike = [joint for joint in joints if letters[joint] == order]
        angles = np.radians(times * file.rows[:, np.array([columns[joint] for joint in alike])])
        turns[:, alike] = _with_angles(body, alike, matrix_from_euler(angles, order))[:, alike]
    return turns


def _with_angles(body: Body, joints: list[int], made: Array) -> Array:
    """Return turns in which some joints have other rotations (frames, joints, 3, 3) in the file."""
    stands = body.stands[joints]
    turns = body.turns.copy()
    by = np.swapaxes(body.motion.local[:, joints], -1, -2) @ made
    turns[:, joints] = turns[:, joints] @ stands @ by @ np.swapaxes(stands, -1, -2)
    return turns


def with_legs_swapped(
    body: Body, pair: tuple[str, str], *, is_mirrored: bool, first: int = 0
) -> Array | None:
    """Return turns with those of a pair of limbs exchanged, from some joint on; None if the two are unlike.

    As in a mirror, or as they are: numbers of one leg that were given to the other turn it aside the wrong
    way, too.
    """
    one, other = (body.motion.limb_joints(limb)[first:] for limb in pair)
    if len(one) != len(other):
        return None
    turns = body.turns.copy()
    by = MIRROR if is_mirrored else np.eye(3)
    turns[:, one] = by @ body.turns[:, other] @ by
    turns[:, other] = by @ body.turns[:, one] @ by
    return turns


def with_joints_mirrored(body: Body, joints: list[int]) -> Array:
    """Return turns with yaw and roll of some joints of the middle the other way."""
    turns = body.turns.copy()
    turns[:, joints] = MIRROR @ body.turns[:, joints] @ MIRROR
    return turns


def with_legs_later(body: Body, limb: str, rows: int, frames: int) -> Array:
    """Return turns with those of a limb so many rows later in a loop of so many frames."""
    joints = body.motion.limb_joints(limb)
    turns = body.turns.copy()
    turns[:, joints] = body.turns[(np.arange(len(turns)) - rows) % frames][:, joints]
    return turns
