"""A skeleton of five joints and clips of it, small enough to work out by hand."""

import numpy as np
from scipy.spatial.transform import Rotation

from gaitgen.animal.animal import Animal
from gaitgen.animal.manner import Back, Tempo
from gaitgen.course.steps import Loop, Steps
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import EULER_ORDERS

# The order is not depth-first: femur_L stands between thorax_1 and its child head.
NAMES = ("pelvis", "thorax_1", "femur_L", "head", "hind_hoof_L")
PARENTS = (-1, 0, 0, 1, 2)
OFFSETS_M = ((0, 0, 1.2), (0.5, 0, 0.1), (-0.1, 0.12, -0.1), (0.4, 0, 0.5), (0.05, 0, -0.4))
TIPS_M = ((0.3, 0, 0), (0.2, 0, 0), (0.05, 0, -0.4), (0.3, 0, -0.2), (0.1, 0, -0.7))
LEAVES = (3, 4)


def hand_skeleton(names=NAMES, parents=PARENTS, offsets_m=OFFSETS_M):
    joints = len(names)
    return Animal(
        name="hand",
        title="Hand-made",
        species="horse",
        joint_names=tuple(names),
        parents=np.array(parents, dtype=np.int64),
        offsets_m=np.array(offsets_m, dtype=float),
        tips_m=np.array(TIPS_M, dtype=float),
        mass_shares=np.full(joints, 1.0 / joints),
        ranges_rad=np.tile([-np.pi, np.pi], (joints, 3, 1)),
        standing_angles_rad=np.full(joints, np.nan),
        angle_signs=np.full(joints, np.nan),
        angle_names=("",) * joints,
        radii_m=np.full((joints, 2), 0.1),
        body_mass_kg=500.0,
        withers_height_m=1.5,
        croup_height_m=1.5,
        limbs=(),
        spine=(0, 1),
        hanging=(),
        head=None,
        load_share_fore=0.58,
        back=Back(0.1, 0.1, 0.2, 0.1, 2.0),
        tempo=Tempo(0.4, 1.0, 0.1),
        gaits=("walk",),
        landmarks_m={},
        outline=(),
        outline_layers={},
    )


def clip_of(rotations, root_path_m, animal=None, frame_rate_hz=24.0):
    """Make a clip of rotations (frames, joints, 4), wxyz, and a path (frames, 3)."""
    frames = len(rotations)
    return Motion(
        animal=animal or hand_skeleton(),
        frame_rate_hz=frame_rate_hz,
        root_path_m=np.array(root_path_m, dtype=float),
        rotations=np.array(rotations, dtype=float),
        steps=Steps(
            limb=np.arange(4),
            touchdown_s=np.zeros(4),
            liftoff_s=np.full(4, 0.5),
            place_m=np.zeros((4, 3)),
            heading_rad=np.zeros(4),
            loop=Loop(1.0),
        ),
        belt_m_s=np.zeros(2),
        key_poses=(),
        plan=Plan(
            force_n=np.zeros((frames, 4)),
            force_horizontal_n=np.zeros((frames, 4, 2)),
            hips_heave_m=np.zeros(frames),
            chest_heave_m=np.zeros(frames),
            breath=np.zeros(frames),
        ),
        facts=Facts(
            frames=frames,
            strides=1,
            period_s=frames / frame_rate_hz,
            speed_m_s=0.0,
            stride_length_m=0.0,
            duty_factor=0.5,
            lag=0.0,
            froude_number=0.0,
            hips_drop_m=0.0,
            chest_drop_m=0.0,
        ),
        notices=(),
    )


def about(letters, *angles_deg):
    """Turn about our moved axes, as wxyz."""
    return Rotation.from_euler(letters, angles_deg, degrees=True).as_quat(scalar_first=True)


def hand_clip(animal=None):
    """Make two frames: standing, and a pose whose channels can be read off.

    Our x, y, z are the z, x, y of a file with y up, so "XYZ" here is "ZXY" there. The chest turns by a
    right angle about the middle axis of that order.
    """
    standing = np.tile([1.0, 0.0, 0.0, 0.0], (5, 1))
    posed = [
        about("Z", [30]),
        about("Y", [90]),
        about("Y", [20]),
        about("X", [-10]),
        about("XYZ", 40, -25, 15),
    ]
    posed = [np.ravel(quaternion) for quaternion in posed]
    return clip_of([standing, posed], [(0, 0, 1.2), (0.05, -0.01, 1.19)], animal)


def busy_clip():
    """Make 30 frames: large random turns, and right angles of the middle axis of all orders, both ways."""
    random = Rotation.random(12 * 5, rng=np.random.default_rng(3)).as_quat(scalar_first=True)
    swing = np.linspace(0.0, 2.0 * np.pi, 6)
    smooth = [[about("ZYX", 40 * np.sin(a + j), 100 * np.cos(a), 10 * j) for j in range(5)] for a in swing]
    poles = [
        [about(order, 23.0 + j, side, -17.0 * j) for j in range(5)]
        for order in EULER_ORDERS
        for side in (90, -90)
    ]
    path = np.random.default_rng(4).uniform(-2.0, 2.0, (30, 3))
    return clip_of(np.concatenate([random.reshape(12, 5, 4), smooth, poles]), path)


def place_m(clip):
    """Place joints and tips of the leaves: {name: (frames, 3)}, tips as ``name tip``. [m]"""
    animal = clip.animal
    position, turn = {}, {}
    for joint, name in enumerate(animal.joint_names):
        own = Rotation.from_quat(np.array(clip.rotations[:, joint]), scalar_first=True)
        parent = int(animal.parents[joint])
        if parent < 0:
            position[name], turn[joint] = np.array(clip.root_path_m), own
        else:
            offset = turn[parent].apply(np.array(animal.offsets_m[joint]))
            position[name] = position[animal.joint_names[parent]] + offset
            turn[joint] = turn[parent] * own
    for leaf in LEAVES:
        name = animal.joint_names[leaf]
        position[f"{name} tip"] = position[name] + turn[leaf].apply(np.array(animal.tips_m[leaf]))
    return position
