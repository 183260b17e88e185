"""Whatever hangs on the body follows it as damped oscillators, so that it drags and overshoots."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.hanging_part import HangingPart
from gaitgen.animal.standing import standing_positions_m
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
    spared_n: Array | None = None,
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
    spared_n
        (samples,) what the forelegs are spared of their load; None for nothing. [N]
    """
    breath = 0.5 - 0.5 * np.cos(2.0 * np.pi * breath_turns)
    bases = {
        animal.spine[0]: (trunk.root_m, pitch_roll_yaw_rad(trunk.pelvis)),
        animal.chest: (trunk.chest_joint_m, pitch_roll_yaw_rad(trunk.chest)),
    }
    turns: dict[int, Array] = {}
    notices: list[Notice] = []
    for part in animal.hanging:
        base = int(animal.parents[part.joints[0]])
        if base not in bases:
            _carry(animal, base, bases)
        place, turned = bases[base]
        place = place + _turned(animal.offsets_m[part.joints[0]], turned)
        factor = nod if part.kind == "nod" else overlap
        spared = None if spared_n is None or not part.spares else part.spares * spared_n
        swing = _swing(animal, part, grid, place, turned, factor, spared, notices)
        swing = swing + np.stack(
            [part.rest_rad + part.breath_rad * breath, *np.zeros((2, grid.count))], axis=1
        )
        turns |= _shared_out(animal, part, grid, place, turned, swing, bases)
    weighed = tuple(
        joint
        for part in animal.hanging
        if not part.name.endswith(("_L", "_R")) and part.breath_rad == 0.0
        for joint in part.joints
    )
    return Hung(turns, weighed, _centres_m(animal, weighed, bases, grid), breath, tuple(notices))


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


def _rod_m(animal: Animal, part: HangingPart) -> Array:
    """Lay the part out as one rod, standing, (3,). [m]"""
    rod = np.zeros(3)
    for joint in part.joints[1:]:
        rod = rod + animal.offsets_m[joint]
    return np.asarray(rod + animal.tips_m[part.joints[-1]])


def _first_moment_kg_m(animal: Animal, part: HangingPart) -> float:
    """Mass of a part and of what it carries, times how far it is ahead of its base. [kg m]"""
    carried = set(part.joints)
    for joint, parent in enumerate(animal.parents):
        if int(parent) in carried:
            carried.add(joint)
    joints = sorted(carried)
    ahead = standing_positions_m(animal)[joints, 0] + animal.mass_centres_m[joints, 0]
    ahead = ahead - standing_positions_m(animal)[part.joints[0], 0]
    return max(float(animal.mass_shares[joints] @ ahead) * animal.body_mass_kg, 1e-6)


def _swing(
    animal: Animal,
    part: HangingPart,
    grid: Grid,
    place_m: Array,
    turned_rad: Array,
    factor: float,
    spared_n: Array | None,
    notices: list[Notice],
) -> Array:
    """Pitch, roll and yaw of a part in space, less those of its base: (samples, 3). [rad]

    a'' + 2 z w (a' - f b') + w^2 (a - f b) = -(3 / 2 L) drive x push, with b the pitch of the base, f the
    share of it that the part is sprung to, and push the acceleration of the base across the rod: a uniform
    rod hinged at its end.
    """
    rod = _rod_m(animal, part)
    length_m = max(float(np.linalg.norm(rod)), 1e-3)
    direction = float(np.arctan2(rod[2], rod[0]))
    push = grid.derivative(place_m, 2)
    across = part.drive * push[:, 2] * np.cos(direction) - part.surge_drive * push[:, 0] * np.sin(direction)
    base = grid.without_mean(turned_rad)
    omega = 2.0 * np.pi * part.frequency_hz
    sprung = (1.0 - part.upright) * base[:, 0]
    drive = 2.0 * part.damping_ratio * omega * grid.derivative(sprung) + omega**2 * sprung
    drive = drive - 1.5 / length_m * across
    if spared_n is not None:  # muscles let the part fall while a lame leg carries, and so carry less there
        drive = drive - spared_n / _first_moment_kg_m(animal, part)
    sideways = -1.5 / length_m * part.side_drive * push[:, 1]
    pitch, aside = grid.oscillated(
        np.stack([drive, sideways], axis=1), part.frequency_hz, part.damping_ratio
    ).T
    relative = pitch - base[:, 0]
    relative = factor * grid.without_mean(relative)
    late = (
        grid.smoothed(base[:, 1:], max(part.frequency_hz, 1.0), LATE_DAMPING) if part.steady else base[:, 1:]
    )
    held = _held(part, grid, np.stack([relative, factor * aside], axis=1), notices)
    axis = np.cross(rod / length_m, [0.0, 1.0, 0.0])
    # What hangs from its base by gravity does not turn with it.
    roll = -part.steady * late[:, 0] + axis[0] * held[:, 1] - part.upright * base[:, 1]
    yaw = -part.steady * late[:, 1] + axis[2] * held[:, 1] - part.upright * base[:, 2]
    return np.stack([held[:, 0], roll, yaw], axis=1)


def _held(part: HangingPart, grid: Grid, swing_rad: Array, notices: list[Notice]) -> Array:
    """Make whole curves smaller where their largest swing would leave the joints' range, and say so."""
    held = []
    for curve in swing_rad.T:
        largest = grid.largest(np.abs(curve))
        if largest.max() > part.most_rad:
            name = part.name.removesuffix("_L").removesuffix("_R")
            text = (
                f"the swing of the {name} is held to {np.degrees(part.most_rad):.1f} degrees, all that its "
                f"joints allow; free it would be {np.degrees(float(largest.max())):.1f}."
            )
            notices.append(Notice("overlap", text))
        held.append(curve * np.minimum(1.0, part.most_rad / np.maximum(largest, 1e-12)))
    return np.stack(held, axis=1)


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
            up = grid.smoothed(swing[:, :1], QUICKER_UP * part.lag_hz, LAG_DAMPING)
            aside = grid.smoothed(swing[:, 1:], part.lag_hz, LAG_DAMPING)
            swing = np.concatenate([up, aside], axis=1)
        here = gain * swing - free
        turns[joint] = here - above
        if k:
            place = place + _turned(animal.offsets_m[joint], turned_rad + above)
        bases[joint] = place, turned_rad + here
        above = here
    return turns
