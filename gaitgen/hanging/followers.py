"""Whatever hangs on the body follows it as damped oscillators, so that it drags and overshoots."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.hanging_part import HangingPart
from gaitgen.body.trunk import Trunk
from gaitgen.errors import Notice
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import pitch_roll_yaw_matrix, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]

# Each joint of a part that lags feels the one above it through a spring of this damping.
LAG_DAMPING = 0.7
# It is so many times as quick up and down, where twice as many waves pass, as it is sideways (estimate).
QUICKER_UP = 2.0
# How late the turn of the base is felt by what keeps steady, in natural periods of the part (estimate).
LATE_DAMPING = 0.9
LEAST_ROD_M = 1e-3  # nothing is taken to be shorter


@dataclass(frozen=True, eq=False)
class Hung:
    """What follows the trunk.

    Attributes
    ----------
    turns_rad
        Joint to (samples, 3): pitch, roll and yaw from standing in the parent's frame. [rad]
    weighed, centres_m
        Joints whose swing the body feels, and (samples, joints, 3) the centres of their mass, as the body
        sees them: all but those of pairs and those that breathe, which are light and go their own ways. [m]
    breath
        (samples,) 0 breathed out, 1 breathed in.
    notices
        What had to be held back.
    """

    turns_rad: dict[int, Array]
    weighed: tuple[int, ...]
    centres_m: Array
    breath: Array
    notices: tuple[Notice, ...]

    def local(self, rows: npt.NDArray[np.int64]) -> dict[int, Array]:
        """Return the rotation of every joint that hangs in its parent's frame, at some samples."""
        joints = list(self.turns_rad)
        if not joints:
            return {}
        turns = np.stack([self.turns_rad[joint][rows] for joint in joints], axis=1)
        made = pitch_roll_yaw_matrix(turns[..., 0], turns[..., 1], turns[..., 2])
        return {joint: made[:, k] for k, joint in enumerate(joints)}


def hang(
    animal: Animal,
    trunk: Trunk,
    grid: Grid,
    breath_turns: Array,
    *,
    nod: float = 1.0,
    overlap: float = 1.0,
    weighed_only: bool = False,
) -> Hung:
    """Swing neck, head, ears, jaw, tail and whatever else hangs after the trunk.

    Each part is a row of rods on a moving, turning base: driven above its own frequency it goes against the
    base, below with it.

    Parameters
    ----------
    animal, trunk, grid
        The animal; its trunk as the body sees it; evenly spaced moments.
    breath_turns
        (samples,) breaths taken since the start.
    nod, overlap
        Style factors on the parts of each kind.
    weighed_only
        Leave out what the body does not feel.
    """
    breath = 0.5 - 0.5 * np.cos(2.0 * np.pi * breath_turns)
    bases = {
        animal.spine[0]: (trunk.root_m, pitch_roll_yaw_rad(trunk.pelvis)),
        animal.chest: (trunk.chest_joint_m, pitch_roll_yaw_rad(trunk.chest)),
    }
    turns: dict[int, Array] = {}
    notices: list[Notice] = []
    for part in _weighed(animal)[1] if weighed_only else animal.hanging:
        base = int(animal.parents[part.joints[0]])
        if base not in bases:
            _carry(animal, base, bases)
        place, turned = bases[base]
        place = place + _turned(animal.offsets_m[part.joints[0]], turned)
        factor = nod if part.kind == "nod" else overlap
        swing = _swing(animal, part, grid, place, turned, factor, notices)
        swing[:, 0] += part.rest_rad + part.breath_rad * breath
        turns |= _shared_out(animal, part, grid, place, turned, swing, bases)
    weighed, _ = _weighed(animal)
    return Hung(turns, weighed, _centres_m(animal, weighed, bases, grid), breath, tuple(notices))


@lru_cache(maxsize=32)
def _weighed(animal: Animal) -> tuple[tuple[int, ...], tuple[HangingPart, ...]]:
    """Find the joints whose swing the body feels, and their parts with all that these hang on."""
    weighed: list[int] = []
    parts: list[HangingPart] = []
    carriers: set[int] = set()
    for part in reversed(animal.hanging):  # bases come before what hangs on them
        is_weighed = not part.name.endswith(("_L", "_R")) and part.breath_rad == 0.0
        if is_weighed:
            weighed = [*part.joints, *weighed]
        if is_weighed or carriers.intersection(part.joints):
            parts = [part, *parts]
            above = int(animal.parents[part.joints[0]])
            while above >= 0:
                carriers.add(above)
                above = int(animal.parents[above])
    return tuple(weighed), tuple(parts)


def _centres_m(
    animal: Animal, joints: tuple[int, ...], bases: dict[int, tuple[Array, Array]], grid: Grid
) -> Array:
    """Follow the centres of mass of some joints that hang: (samples, joints, 3). [m]"""
    if not joints:
        return np.zeros((grid.count, 0, 3))
    place = np.stack([bases[joint][0] for joint in joints], axis=1)
    turned = np.stack([bases[joint][1] for joint in joints], axis=1)
    made = pitch_roll_yaw_matrix(turned[..., 0], turned[..., 1], turned[..., 2])
    return np.asarray(place + (made @ animal.mass_centres_m[list(joints)][..., None])[..., 0])


def _carry(animal: Animal, joint: int, bases: dict[int, tuple[Array, Array]]) -> None:
    """Add a base that does not move against the nearest one above it."""
    above = joint
    path = np.zeros(3)
    while above not in bases:
        path = path + animal.offsets_m[above]
        above = int(animal.parents[above])
    place, turned = bases[above]
    bases[joint] = place + _turned(path, turned), turned


def _turned(vector_m: Array, turned_rad: Array) -> Array:
    """Turn one vector (3,) by pitch, roll and yaw (samples, 3): (samples, 3)."""
    made = pitch_roll_yaw_matrix(turned_rad[:, 0], turned_rad[:, 1], turned_rad[:, 2])
    return np.asarray(made @ vector_m)


@lru_cache(maxsize=256)
def _rod(animal: Animal, part: HangingPart) -> tuple[float, float, tuple[float, float, float]]:
    """Lay the part out as one rod, standing: its length [m], its direction [rad], its axis of swing aside."""
    x, y, z = (animal.offsets_m[list(part.joints[1:])].sum(axis=0) + animal.tips_m[part.joints[-1]]).tolist()
    length_m = max(math.sqrt(x * x + y * y + z * z), LEAST_ROD_M)
    return length_m, math.atan2(z, x), (-z / length_m, 0.0, x / length_m)


def _swing(
    animal: Animal,
    part: HangingPart,
    grid: Grid,
    place_m: Array,
    turned_rad: Array,
    factor: float,
    notices: list[Notice],
) -> Array:
    """Pitch, roll and yaw of a part in space, less those of its base: (samples, 3). [rad]

    a'' + 2 z w (a' - f b') + w^2 (a - f b) = -(3 / 2 L) drive x push, with b the pitch of the base, f the
    share of it that the part is sprung to, and push the acceleration of the base across the rod: a uniform
    rod hinged at its end.
    """
    length_m, direction_rad, side_axis = _rod(animal, part)
    base = grid.without_mean(turned_rad)
    sprung, pushed = np.zeros((2, grid.count, 2))  # up and down, sideways
    sprung[:, 0] = (1.0 - part.upright) * base[:, 0]
    pushed[:, 0] = part.drive * math.cos(direction_rad) * place_m[:, 2]
    pushed[:, 0] -= part.surge_drive * math.sin(direction_rad) * place_m[:, 0]
    pushed[:, 1] = part.side_drive * place_m[:, 1]
    swing = grid.followed(sprung, -1.5 / length_m * pushed, part.frequency_hz, part.damping_ratio)
    swing[:, 0] = grid.without_mean(swing[:, 0] - base[:, 0])
    held = _held(part, factor * swing, notices)
    # What hangs from its base by gravity does not turn with it.
    swing = -part.upright * base
    swing[:, 0] = held[:, 0]
    swing[:, 1] += side_axis[0] * held[:, 1]
    swing[:, 2] += side_axis[2] * held[:, 1]
    if part.steady:
        swing[:, 1:] -= part.steady * grid.smoothed(base[:, 1:], max(part.frequency_hz, 1.0), LATE_DAMPING)
    return swing


def _held(part: HangingPart, swing_rad: Array, notices: list[Notice]) -> Array:
    """Make whole curves smaller where their largest swing would leave the joints' range, and say so."""
    held = swing_rad.copy()
    for axis, largest in enumerate(np.abs(swing_rad).max(axis=0).tolist()):
        if largest > part.most_rad:
            name = part.name.removesuffix("_L").removesuffix("_R")
            text = (
                f"the swing of the {name} is held to {np.degrees(part.most_rad):.1f} degrees, all that its "
                f"joints allow; free it would be {np.degrees(largest):.1f}."
            )
            notices.append(Notice("overlap", text))
            held[:, axis] *= part.most_rad / largest
    return held


def _shared_out(
    animal: Animal,
    part: HangingPart,
    grid: Grid,
    place_m: Array,
    turned_rad: Array,
    swing_rad: Array,
    bases: dict[int, tuple[Array, Array]],
) -> dict[int, Array]:
    """Give each joint its gain of the swing, one after the other; what it is in space becomes a base."""
    turns: dict[int, Array] = {}
    above, place = np.zeros_like(swing_rad), place_m
    # What hangs upright swings in space, what is sprung to its base against it.
    free = part.upright * grid.without_mean(turned_rad)
    swing = swing_rad + free
    for k, (joint, gain) in enumerate(zip(part.joints, part.gains, strict=True)):
        if part.lag_hz > 0.0:
            up_hz, aside_hz = QUICKER_UP * part.lag_hz, part.lag_hz
            swing = grid.smoothed(swing, (up_hz, aside_hz, aside_hz), LAG_DAMPING)
        here = gain * swing - free
        turns[joint] = here - above
        if k:
            place = place + _turned(animal.offsets_m[joint], turned_rad + above)
        bases[joint] = place, turned_rad + here
        above = here
    return turns
