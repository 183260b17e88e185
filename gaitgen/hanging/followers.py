"""Whatever hangs on the body follows it as damped oscillators, so that it drags and overshoots."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

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
# What falls to spare a lame leg is moved by muscles, as on a spring of at most so many times the frequency of
# the strides: on a quicker one it would come late, or go down with the lame leg (estimate).
SPARING = 0.4
LEAST_SWING_RAD = 1e-12
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
        sees them: all but those of pairs and those that breathe, which are light and go their own ways.
        None of them where the whole was hung. [m]
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
    spared_n
        (samples,) what the forelegs are spared of their load; None for nothing. [N]
    weighed_only
        Leave out what the body does not feel, and say where the centres of the rest are.
    """
    breath = 0.5 - 0.5 * np.cos(2.0 * np.pi * breath_turns)
    bases = {
        animal.spine[0]: _Moving(trunk.root_m, pitch_roll_yaw_rad(trunk.pelvis), trunk.pelvis),
        animal.chest: _Moving(trunk.chest_joint_m, pitch_roll_yaw_rad(trunk.chest), trunk.chest),
    }
    turns: dict[int, Array] = {}
    notices: list[Notice] = []
    weighed, felt, carriers = _weighed(animal)
    for part in felt if weighed_only else animal.hanging:
        base = _base(animal, int(animal.parents[part.joints[0]]), bases)
        place = base.point_m(animal.offsets_m[part.joints[0]])
        factor = nod if part.kind == "nod" else overlap
        spared = None if spared_n is None or not part.spares else part.spares * spared_n
        swing = _swing(animal, part, grid, place, base.turned_rad, factor, spared, notices)
        swing[:, 0] += part.rest_rad + part.breath_rad * breath
        swung = _shared_out(part, grid, base.turned_rad, swing)
        turns |= {joint: swung[:, k] - (swung[:, k - 1] if k else 0.0) for k, joint in enumerate(part.joints)}
        if weighed_only or not carriers.isdisjoint(part.joints):
            bases |= _moved(animal, part, place, base.turned_rad[:, None] + swung)
    weighed = weighed if weighed_only else ()
    centres = [bases[joint].point_m(animal.mass_centres_m[joint]) for joint in weighed]
    carried = np.stack(centres, axis=1) if centres else np.zeros((grid.count, 0, 3))
    return Hung(turns, weighed, carried, breath, tuple(notices))


@dataclass(frozen=True, eq=False)
class _Moving:
    """A joint over time: (samples, 3) its place [m] and its pitch, roll and yaw [rad]; its matrix."""

    place_m: Array
    turned_rad: Array
    matrix: Array

    def point_m(self, arm_m: Array) -> Array:
        """Follow a point that is fixed to it, (3,) from the joint: (samples, 3). [m]"""
        return np.asarray(self.place_m + self.matrix @ arm_m)


def _base(animal: Animal, joint: int, bases: dict[int, _Moving]) -> _Moving:
    """Find what a part hangs on; a joint that does not move goes along with the nearest above that does."""
    path_m = np.zeros(3)
    while joint not in bases:
        path_m = path_m + animal.offsets_m[joint]
        joint = int(animal.parents[joint])
    base = bases[joint]
    return replace(base, place_m=base.point_m(path_m)) if path_m.any() else base


def _moved(animal: Animal, part: HangingPart, place_m: Array, turned_rad: Array) -> dict[int, _Moving]:
    """Follow the joints of a part from the place of the first, (samples, 3), and their turns in space.

    The turns are (samples, joints, 3) pitch, roll and yaw. [rad]
    """
    made = pitch_roll_yaw_matrix(turned_rad[..., 0], turned_rad[..., 1], turned_rad[..., 2])
    arms = (made[:, :-1] @ animal.offsets_m[list(part.joints[1:])][..., None])[..., 0]
    places = np.cumsum(np.concatenate([place_m[:, None], arms], axis=1), axis=1)
    return {joint: _Moving(places[:, k], turned_rad[:, k], made[:, k]) for k, joint in enumerate(part.joints)}


@lru_cache(maxsize=32)
def _weighed(animal: Animal) -> tuple[tuple[int, ...], tuple[HangingPart, ...], frozenset[int]]:
    """Find the joints whose swing the body feels, their parts with all that these hang on, and all carriers.

    Carriers are the joints on which any part hangs, however far below them.
    """
    weighed: list[int] = []
    parts: list[HangingPart] = []
    felt: set[int] = set()
    carriers: set[int] = set()
    for part in reversed(animal.hanging):  # bases come before what hangs on them
        is_weighed = not part.name.endswith(("_L", "_R")) and part.breath_rad == 0.0
        above = _above(animal, part.joints[0])
        if is_weighed:
            weighed = [*part.joints, *weighed]
        if is_weighed or felt.intersection(part.joints):
            parts = [part, *parts]
            felt.update(above)
        carriers.update(above)
    return tuple(weighed), tuple(parts), frozenset(carriers)


def _above(animal: Animal, joint: int) -> list[int]:
    """List the joints above one, up to the root."""
    above: list[int] = []
    while animal.parents[joint] >= 0:
        joint = int(animal.parents[joint])
        above.append(joint)
    return above


@lru_cache(maxsize=256)
def _rod(animal: Animal, part: HangingPart) -> tuple[float, float, tuple[float, float, float]]:
    """Lay the part out as one rod, standing: its length [m], its direction [rad], its axis of swing aside."""
    x, y, z = (animal.offsets_m[list(part.joints[1:])].sum(axis=0) + animal.tips_m[part.joints[-1]]).tolist()
    length_m = max(math.sqrt(x * x + y * y + z * z), LEAST_ROD_M)
    return length_m, math.atan2(z, x), (-z / length_m, 0.0, x / length_m)


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
    length_m, direction_rad, side_axis = _rod(animal, part)
    base = grid.without_mean(turned_rad)
    sprung, pushed = np.zeros((2, grid.count, 2))  # up and down, sideways
    sprung[:, 0] = (1.0 - part.upright) * base[:, 0]
    sprung[:, 1] = part.side_sprung * (side_axis[0] * base[:, 1] + side_axis[2] * base[:, 2])
    pushed[:, 0] = part.drive * math.cos(direction_rad) * place_m[:, 2]
    ahead = part.surge_drive * place_m[:, 0] + part.out_drive * place_m[:, 1]
    pushed[:, 0] -= math.sin(direction_rad) * ahead
    pushed[:, 1] = part.side_drive * place_m[:, 1]
    own_hz = part.frequency_hz, part.side_hz
    swing = grid.followed(sprung, -1.5 / length_m * pushed, own_hz, part.damping_ratio)
    if spared_n is not None:  # muscles let the part fall while a lame leg carries, and so carry less there
        falls = -spared_n / _first_moment_kg_m(animal, part)
        slow_hz = min(part.frequency_hz, SPARING * _main_hz(grid, falls))
        swing[:, 0] += grid.oscillated(falls, slow_hz, part.damping_ratio)
    swing[:, 0] = grid.without_mean(swing[:, 0] - base[:, 0])
    held = _held(part, grid, factor * swing, notices)
    # What hangs from its base by gravity does not turn with it.
    swing = -part.upright * base
    swing[:, 0] = held[:, 0]
    swing[:, 1] += side_axis[0] * held[:, 1]
    swing[:, 2] += side_axis[2] * held[:, 1]
    if part.steady:
        soon_hz = part.steady_hz or max(part.frequency_hz, 1.0)
        swing[:, 1:] -= part.steady * grid.smoothed(base[:, 1:], soon_hz, LATE_DAMPING)
    return swing


def _main_hz(grid: Grid, curve: Array) -> float:
    """Frequency of the largest wave of a curve, (samples,). [Hz]"""
    waves = np.abs(np.fft.rfft(curve - curve.mean()))
    return float(max(int(np.argmax(waves)), 1) / (grid.step_s * curve.size))


def _held(part: HangingPart, grid: Grid, swing_rad: Array, notices: list[Notice]) -> Array:
    """Make whole curves smaller where their largest swing would leave the joints' range, and say so."""
    most = grid.largest(np.abs(swing_rad))
    for largest in most.reshape(-1, swing_rad.shape[1]).max(axis=0).tolist():
        if largest > part.most_rad:
            name = part.name.removesuffix("_L").removesuffix("_R")
            text = (
                f"the swing of the {name} is held to {np.degrees(part.most_rad):.1f} degrees, all that its "
                f"joints allow; free it would be {np.degrees(largest):.1f}."
            )
            notices.append(Notice("overlap", text))
    return np.asarray(swing_rad * np.minimum(1.0, part.most_rad / np.maximum(most, LEAST_SWING_RAD)))


def _shared_out(part: HangingPart, grid: Grid, turned_rad: Array, swing_rad: Array) -> Array:
    """Give each joint its gain of the swing, one after the other, against the base: (samples, joints, 3)."""
    # What hangs upright swings in space, what is sprung to its base against it.
    free = part.upright * grid.without_mean(turned_rad)
    swing, gains = swing_rad + free, np.array(part.gains)[:, None]
    if part.lag_hz == 0.0:
        return np.asarray(gains * swing[:, None] - free[:, None])
    lag_hz = (QUICKER_UP * part.lag_hz, part.lag_hz, part.lag_hz)
    late = grid.smoothed_on(swing, lag_hz, LAG_DAMPING, len(part.gains))
    return np.asarray(gains * late - free[:, None])
