"""Neck, head, ears, jaw and tail: they follow the trunk as damped oscillators, so they drag and overshoot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Follower
from gaitgen.body.body import TrunkMotion
from gaitgen.errors import Notice
from gaitgen.numerics.curves import derivative, oscillate
from gaitgen.numerics.rotations import pitch_roll_yaw_matrix, pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]

NECK_SHARES = {"neck_1": 0.55, "neck_2": 0.25, "neck_3": 0.20}
# Share of the chest's yaw and roll that the neck takes back, so that the head looks ahead (estimate; head
# stabilised in space at a walk: Dunbar et al. 2008, J Exp Biol 211:3889, abstract).
STEADY_SHARE = 0.85
# Share of the neck's swing that the head keeps in space; the poll takes back the rest (estimate).
HEAD_SHARE = 0.5
# The tail's segments from the dock down: share of the tail's swing, and how much stiffer than the whole
# tail each is coupled to the one above (estimates).
TAIL_GAIN = (0.45, 0.7, 0.9, 1.05, 1.15)
TAIL_STIFFNESS = 4.0
JAW_REST_RAD = np.radians(-2.0)
BREATH_JAW_RAD = np.radians(0.4)
MOST_NECK_RAD = np.radians(14.0)
MOST_EAR_RAD = np.radians(40.0)
MOST_TAIL_RAD = np.radians(24.0)
EAR_INCLINATION_RAD = np.radians(45.0)


@dataclass(frozen=True, eq=False)
class FollowerMotion:
    """What follows the trunk.

    Attributes
    ----------
    local
        Joint name to (samples, 3, 3) rotation from standing in the parent's frame.
    breath
        (samples,) 0 breathed out, 1 breathed in.
    notices
        What had to be held back.
    """

    local: dict[str, Array]
    breath: Array
    notices: tuple[Notice, ...]


def _held(angle_rad: Array, most_rad: float, part: str, notices: list[Notice]) -> Array:
    """Make a whole curve smaller where its largest swing would leave the joint's range, and say so."""
    largest = float(np.abs(angle_rad).max())
    if largest <= most_rad:
        return angle_rad
    notices.append(
        Notice(
            "overlap",
            f"the swing of the {part} is held to {np.degrees(most_rad):.1f} degrees, which the joints allow; "
            f"free it would be {np.degrees(largest):.1f}.",
        )
    )
    return angle_rad * (most_rad / largest)


@dataclass(frozen=True, eq=False)
class _Clock:
    """Moments of the curves, and the even travel under them."""

    time_s: Array
    travel_m_s: Array
    periodic: bool

    @property
    def step_s(self) -> float:
        return float(self.time_s[1] - self.time_s[0])

    def even_travel_removed(self, path_m: Array) -> Array:
        """Take out the even travel, so that a travelling cycle is periodic."""
        moved = path_m.copy()
        moved[:, :2] -= self.time_s[:, None] * self.travel_m_s
        return moved

    def acceleration(self, path_m: Array) -> Array:
        return derivative(path_m, self.step_s, 2, periodic=self.periodic)

    def rod(self, follower: Follower, length_m: float, push_m_s2: Array, base_rad: Array) -> Array:
        """Angle of a rod on a moving, turning base, sprung to the base: (samples,). [rad]

        a'' + 2 z w (a' - b') + w^2 (a - b) = -(3 / 2 L) drive x push, with b the angle of the base and
        push the acceleration of the base across the rod: a uniform rod hinged at its end.
        """
        omega = 2.0 * np.pi * follower.natural_frequency_hz
        damping = 2.0 * follower.damping_ratio * omega
        base_speed = derivative(base_rad, self.step_s, 1, periodic=self.periodic)
        drive = damping * base_speed + omega**2 * base_rad
        drive = drive - 1.5 / length_m * follower.drive * push_m_s2
        return oscillate(
            drive, follower.natural_frequency_hz, follower.damping_ratio, self.step_s, periodic=self.periodic
        )


def followers(
    skeleton: Animal,
    trunk: TrunkMotion,
    time_s: Array,
    breath_turns: Array,
    travel_m_s: Array,
    *,
    periodic: bool,
    nod: float = 1.0,
    overlap: float = 1.0,
) -> FollowerMotion:
    """Swing neck, head, ears, jaw and tail after the trunk.

    The neck is a rod slung from the withers, driven above its own frequency at a walk, so that the head
    goes against the chest; the ears are rods on the head; the tail is a pendulum on the pelvis whose
    segments follow one another.

    Parameters
    ----------
    skeleton, trunk
        The animal, and its trunk at evenly spaced moments, travelling at an even mean speed.
    time_s
        (samples,) the moments; whole periods if periodic. [s]
    breath_turns
        (samples,) breaths taken since the start.
    travel_m_s
        (2,) mean velocity of the body. [m/s]
    periodic
        Whether the motion repeats after the last sample.
    nod, overlap
        Style factors on neck and head, and on ears, jaw and tail.
    """
    clock = _Clock(time_s, travel_m_s, periodic)
    breath = 0.5 - 0.5 * np.cos(2.0 * np.pi * breath_turns)
    notices: list[Notice] = []
    local, head_path_m, head_pitch = _neck_and_head(skeleton, trunk, clock, nod, notices)
    local.update(_ears_and_jaw(skeleton, clock, head_path_m, head_pitch, breath, overlap, notices))
    local.update(_tail(skeleton, trunk, clock, overlap, notices))
    return FollowerMotion(local, breath, tuple(notices))


def _direction_rad(bone_m: Array) -> float:
    return float(np.arctan2(bone_m[2], bone_m[0]))


def _across(acceleration: Array, direction_rad: float) -> Array:
    """Acceleration (samples, 3) across a rod in the x-z plane. [m/s^2]"""
    across = acceleration[:, 2] * np.cos(direction_rad) - acceleration[:, 0] * np.sin(direction_rad)
    return np.asarray(across)


def _neck_and_head(
    skeleton: Animal, trunk: TrunkMotion, clock: _Clock, nod: float, notices: list[Notice]
) -> tuple[dict[str, Array], Array, Array]:
    neck = [skeleton.offsets_m[skeleton.joint(name)] for name in ("neck_2", "neck_3", "atlas", "head")]
    rod_m = np.sum(neck, axis=0)
    base = trunk.chest_joint_m + np.einsum(
        "sij,j->si", trunk.chest, skeleton.offsets_m[skeleton.joint("neck_1")]
    )
    base = clock.even_travel_removed(base)
    chest = pitch_roll_yaw_rad(trunk.chest)  # (samples, 3)
    push = _across(clock.acceleration(base), _direction_rad(rod_m))
    length_m = float(np.linalg.norm(rod_m)) + float(
        np.linalg.norm(skeleton.tips_m[skeleton.joint("head")]) / 2.0
    )
    swing = clock.rod(skeleton.followers["neck"], length_m, push, chest[:, 0] - chest[:, 0].mean())
    swing = _held(nod * (swing - swing.mean()), MOST_NECK_RAD, "neck", notices)
    relative = swing - nod * (chest[:, 0] - chest[:, 0].mean())
    local = {
        name: pitch_roll_yaw_matrix(
            share * relative, -STEADY_SHARE * share * chest[:, 1], -STEADY_SHARE * share * chest[:, 2]
        )
        for name, share in NECK_SHARES.items()
    }
    zeros = np.zeros_like(swing)
    local["atlas"] = pitch_roll_yaw_matrix(zeros, zeros, zeros)
    head_pitch = clock.rod(skeleton.followers["head"], 1.0, zeros, HEAD_SHARE * swing)
    local["head"] = pitch_roll_yaw_matrix(head_pitch - swing, zeros, zeros)
    head_path = base + _turned(rod_m, swing)
    return local, head_path, head_pitch


def _turned(vector_m: Array, pitch_rad: Array) -> Array:
    """Turn one vector (3,) of the x-z plane by pitch angles: (samples, 3)."""
    x, z = vector_m[0], vector_m[2]
    cos, sin = np.cos(pitch_rad), np.sin(pitch_rad)
    return np.stack([cos * x - sin * z, np.zeros_like(cos), sin * x + cos * z], axis=1)


def _ears_and_jaw(
    skeleton: Animal,
    clock: _Clock,
    head_path_m: Array,
    head_pitch_rad: Array,
    breath: Array,
    overlap: float,
    notices: list[Notice],
) -> dict[str, Array]:
    acceleration = clock.acceleration(head_path_m)
    zeros = np.zeros_like(head_pitch_rad)
    ear_m = float(np.linalg.norm(skeleton.tips_m[skeleton.joint("ear_L")]))
    push = acceleration[:, 2] * np.cos(EAR_INCLINATION_RAD)
    ear = clock.rod(skeleton.followers["ear"], 4.0 * ear_m, push, zeros)
    jaw_tip = skeleton.tips_m[skeleton.joint("jaw")]
    jaw_push = _across(acceleration, _direction_rad(jaw_tip))
    jaw = clock.rod(skeleton.followers["jaw"], float(np.linalg.norm(jaw_tip)), jaw_push, zeros)
    jaw = _held(overlap * jaw, -JAW_REST_RAD, "jaw", notices)
    jaw = jaw + JAW_REST_RAD - BREATH_JAW_RAD * breath
    ear = _held(overlap * ear, MOST_EAR_RAD, "ears", notices)
    ears = pitch_roll_yaw_matrix(ear, zeros, zeros)
    return {"ear_L": ears, "ear_R": ears, "jaw": pitch_roll_yaw_matrix(jaw, zeros, zeros)}


def tail_names(skeleton: Animal) -> tuple[str, ...]:
    """Return the joints of the tail from the dock outward."""
    return tuple(name for name in skeleton.joint_names if name.startswith("tail_"))


def _tail(
    skeleton: Animal, trunk: TrunkMotion, clock: _Clock, overlap: float, notices: list[Notice]
) -> dict[str, Array]:
    names = tail_names(skeleton)
    follower = skeleton.followers["tail"]
    bones = np.array([skeleton.tips_m[skeleton.joint(name)] for name in names])
    length_m = float(np.linalg.norm(bones, axis=1).sum())
    dock = np.einsum("sij,j->si", trunk.pelvis, skeleton.offsets_m[skeleton.joint(names[0])])
    path = clock.even_travel_removed(trunk.root_path_m + dock)
    acceleration = clock.acceleration(path)
    zeros = np.zeros(path.shape[0])
    pelvis = pitch_roll_yaw_rad(trunk.pelvis)
    along = bones.sum(axis=0)
    swing = clock.rod(follower, length_m, _across(acceleration, _direction_rad(along)), zeros)
    # Sideways: + is the tip to the left. Gravity brings the tail back, not the pelvis: no base to spring to.
    side = clock.rod(follower, length_m, acceleration[:, 1], zeros)
    swing = _held(overlap * swing, MOST_TAIL_RAD, "tail", notices)
    side = _held(overlap * side, MOST_TAIL_RAD, "tail", notices)
    stiff = Follower(TAIL_STIFFNESS * follower.natural_frequency_hz, 0.7, 1.0)
    local: dict[str, Array] = {}
    above = np.stack([pelvis[:, 0] - pelvis[:, 0].mean(), pelvis[:, 1], pelvis[:, 2]], axis=1)
    for k, name in enumerate(names):
        swing, side = (clock.rod(stiff, 1.0, zeros, angle) for angle in (swing, side))
        gain = TAIL_GAIN[min(k, len(TAIL_GAIN) - 1)]
        axis = np.cross(bones[k] / np.linalg.norm(bones[k]), [0.0, 1.0, 0.0])
        here = gain * np.stack([swing, axis[0] * side, axis[2] * side], axis=1)
        turn = here - above
        local[name] = pitch_roll_yaw_matrix(turn[:, 0], turn[:, 1], turn[:, 2])
        above = here
    return local
