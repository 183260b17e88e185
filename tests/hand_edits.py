"""Edits of a cycle as a hand makes them, and contacts that a hand moves by frames."""

from dataclasses import replace

import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.spatial.transform import Rotation, Slerp

from gaitgen.edits.phase import timing_of
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.planting import reach
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix

PITCH, ROLL = (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)


def phase(clip):
    return 2.0 * np.pi * np.arange(clip.frames) / (clip.frames - 1)


def turned(clip, joint, angle_rad, axis=PITCH):
    """Turn one joint by angles (frames,) about an axis of its own."""
    local = matrix_from_quaternion(clip.rotations).copy()
    k = clip.animal.joint(joint) if isinstance(joint, str) else joint
    local[:, k] = local[:, k] @ Rotation.from_rotvec(np.outer(angle_rad, axis)).as_matrix()
    return replace(clip, rotations=continuous_sign(quaternion_from_matrix(local)))


def moved(clip, curve_m, axis):
    return replace(clip, root_path_m=clip.root_path_m + np.outer(curve_m, axis))


def dip(millimetres):
    """The root sinks once in a stride, legs and all."""
    return lambda clip: moved(clip, -millimetres / 2000.0 * (1.0 - np.cos(phase(clip))), (0.0, 0.0, 1.0))


def short_dip(millimetres):
    """The root sinks for an eighth of a stride."""
    return lambda clip: moved(
        clip, -millimetres / 1000.0 * np.exp(-(((phase(clip) - 2.5) / 0.75) ** 2)), (0.0, 0.0, 1.0)
    )


def sway(millimetres):
    return lambda clip: moved(clip, millimetres / 1000.0 * np.sin(phase(clip)), (0.0, 1.0, 0.0))


def surge(millimetres):
    return lambda clip: moved(clip, millimetres / 1000.0 * np.sin(phase(clip) + 1.0), (1.0, 0.0, 0.0))


def tilt(degrees, axis=PITCH):
    """The pelvis, and all that hangs on it, tilts to and fro."""
    return lambda clip: turned(clip, 0, np.radians(degrees) * np.sin(phase(clip) + 0.5), axis)


def held_tilt(degrees):
    return lambda clip: turned(clip, 0, np.full(clip.frames, np.radians(degrees)))


def nod(degrees):
    return lambda clip: turned(clip, clip.animal.head, np.radians(degrees) * np.sin(2.0 * phase(clip)))


def lift(limb, degrees):
    """One leg is lifted higher as it swings."""

    def edit(clip):
        timing, legs = timing_of(clip), clip.animal.limbs[limb]
        since = (np.arange(clip.frames) - timing.contact[limb] - timing.down[limb]) % timing.frames
        share = np.minimum(since / (timing.frames - timing.down[limb]), 1.0)
        up = np.radians(degrees) * np.sin(np.pi * share) ** 2
        clip = turned(clip, legs.joints[legs.pointing], -up)
        return turned(clip, legs.joints[min(legs.pointing + 1, len(legs.joints) - 2)], 1.5 * up)

    return edit


def toe_roll(limb, degrees):
    """One foot rolls over its toe for longer as it leaves."""

    def edit(clip):
        timing = timing_of(clip)
        since = (np.arange(clip.frames) - timing.contact[limb]) % timing.frames
        at = (since - timing.down[limb]) / (0.15 * timing.frames)
        return turned(clip, clip.animal.limbs[limb].foot_joint, np.radians(degrees) * np.exp(-(at**2)))

    return edit


def waves(rng, frames, shape, amount):
    """Random periodic curves of three harmonics, the last frame as the first."""
    at = 2.0 * np.pi * np.arange(frames + 1) / frames
    curves = np.zeros((frames + 1, *shape))
    for k in range(4):
        a, b = rng.normal(size=(2, *shape)) / (1 + k) ** 2
        curves += np.multiply.outer(np.cos(k * at), a) + np.multiply.outer(np.sin(k * at), b)
    return amount * curves


def smooth(seed, degrees, millimetres):
    """A random smooth refinement of every joint, less in the spine, and of the body's place."""

    def edit(clip):
        rng = np.random.default_rng(seed)
        spine = set(clip.animal.spine)
        share = np.array([0.2 if joint in spine else 1.0 for joint in range(len(clip.animal.joint_names))])
        turns = waves(rng, clip.frames - 1, (share.size, 3), np.radians(degrees) / 2.0) * share[:, None]
        changed = Rotation.from_rotvec(turns.reshape(-1, 3)).as_matrix().reshape(*turns.shape, 3)
        local = matrix_from_quaternion(clip.rotations) @ changed
        path = waves(rng, clip.frames - 1, (3,), millimetres / 2000.0) * [1.0, 1.0, 0.5]
        return replace(
            clip,
            rotations=continuous_sign(quaternion_from_matrix(local)),
            root_path_m=clip.root_path_m + path,
        )

    return edit


class OutOfReachError(Exception):
    """A leg that is too short for the step."""


def step_moved(limb, contact, liftoff=0):
    """A foot is put down, or leaves, some frames later, on its own place, under a trunk that stays."""

    def edit(clip):
        timing, animal, frames = timing_of(clip), clip.animal, clip.frames - 1
        there = np.array([timing.contact[limb], timing.contact[limb] + timing.down[limb]])
        here, turns = there + np.array([contact, liftoff]), frames * np.arange(-2, 4)[:, None]
        at = PchipInterpolator((here + turns).ravel(), (there + turns).ravel())(np.arange(frames))
        rows = slice(frames)
        places, world = world_frames(animal, clip.root_path_m[rows], clip.rotations[rows])
        feet = [each.foot_joint for each in animal.limbs]
        joints, soles = places[:, feet].copy(), world[:, feet].copy()
        path = joints[:, limb]
        path = CubicSpline(np.arange(frames + 1), np.vstack([path, path[:1]]), bc_type="periodic")(
            at % frames
        )
        path[:, :2] -= (np.arange(frames) - at)[:, None] * clip.steps.travel_m_s[:2] / clip.frame_rate_hz
        joints[:, limb] = path
        turn = Rotation.from_matrix(np.concatenate([soles[:, limb], soles[:1, limb]]))
        soles[:, limb] = Slerp(np.arange(frames + 1), turn)(at % frames).as_matrix()
        local = matrix_from_quaternion(clip.rotations[rows])
        met, misses_m = reach(animal, clip.root_path_m[rows], local, joints, soles)
        if misses_m.max() > 1e-6:
            raise OutOfReachError
        met = quaternion_from_matrix(met)
        return replace(clip, rotations=continuous_sign(np.concatenate([met, met[:1]])))

    return edit


def one_after_another(*edits):
    def edit(clip):
        for each in edits:
            clip = each(clip)
        return clip

    return edit


ROOT = ("dip 2", "dip 5", "dip 20", "short dip 5", "sway 10", "surge 10")
EDITS = {
    "dip 2": dip(2.0),
    "dip 5": dip(5.0),
    "dip 20": dip(20.0),
    "short dip 5": short_dip(5.0),
    "sway 10": sway(10.0),
    "surge 10": surge(10.0),
    "tilt 1": tilt(1.0),
    "roll 1": tilt(1.0, ROLL),
    "held tilt 2": held_tilt(2.0),
    "nod 6": nod(6.0),
    "lift LF": lift(0, 15.0),
    "lift RH": lift(3, 15.0),
    "toe roll LH": toe_roll(2, 15.0),
    "smooth 1": smooth(1, 1.0, 3.0),
    "smooth 2": smooth(2, 2.0, 4.0),
}
