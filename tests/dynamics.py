"""The skeleton in an independent rigid-body engine: what the ground must do to make a clip happen."""

import mujoco
import numpy as np

from gaitgen.gait.tempo import GRAVITY_M_S2

ROD_GYRATION = (
    0.29  # radius of gyration over length: a slender rod about its middle (arithmetic: 1 / sqrt(12))
)


def model_xml(skeleton):
    """Write the tree as MJCF: a free root, ball joints, one inertia a bone."""
    children = {i: [] for i in range(-1, len(skeleton.joint_names))}
    for joint, parent in enumerate(skeleton.parents):
        children[int(parent)].append(joint)

    def body(joint):
        name = skeleton.joint_names[joint]
        place = " ".join(f"{v:.9g}" for v in skeleton.offsets_m[joint])
        centre = " ".join(f"{v:.9g}" for v in skeleton.mass_centres_m[joint])
        mass = max(skeleton.mass_shares[joint] * skeleton.body_mass_kg, 1e-4)
        inertia = max(mass * (ROD_GYRATION * np.linalg.norm(skeleton.tips_m[joint])) ** 2, 1e-7)
        own = "<freejoint/>" if joint == 0 else '<joint type="ball"/>'
        inner = "".join(body(child) for child in children[joint])
        return (
            f'<body name="{name}" pos="{place}">{own}<inertial pos="{centre}" mass="{mass:.9g}" '
            f'diaginertia="{inertia:.9g} {inertia:.9g} {inertia:.9g}"/>{inner}</body>'
        )

    return (
        f'<mujoco><option gravity="0 0 {-GRAVITY_M_S2}"/><compiler balanceinertia="true"/>'
        f"<worldbody>{body(0)}</worldbody></mujoco>"
    )


def ground_wrench(clip):
    """Return force (frames, 3) and moment about the world's origin (frames, 3) of the ground on the animal.

    The clip must be one travelling stride, finely sampled; velocities and accelerations are central
    differences over its loop.
    """
    count = clip.frames - 1
    force, moment = np.zeros((count, 3)), np.zeros((count, 3))
    for k, (model, data) in enumerate(_replayed(clip)):
        mujoco.mj_inverse(model, data)
        root = data.qfrc_inverse[:6]
        force[k] = root[:3]
        turn = np.zeros(9)
        mujoco.mju_quat2Mat(turn, data.qpos[3:7])
        moment[k] = turn.reshape(3, 3) @ root[3:] + np.cross(data.qpos[:3], root[:3])
    return force, moment


def angular_momentum(clip):
    """Return the angular momentum about the centre of mass, (frames, 3), about x, y, z. [kg m^2/s]

    The clip must be one travelling stride, finely sampled.
    """
    found = np.zeros((clip.frames - 1, 3))
    for k, (model, data) in enumerate(_replayed(clip)):
        mujoco.mj_kinematics(model, data)
        mujoco.mj_comPos(model, data)
        mujoco.mj_comVel(model, data)
        mujoco.mj_subtreeVel(model, data)
        found[k] = data.subtree_angmom[1]
    return found


def _replayed(clip):
    """Put the model through the frames of a travelling stride, with velocities and accelerations."""
    skeleton = clip.animal
    model = mujoco.MjModel.from_xml_string(model_xml(skeleton))
    data = mujoco.MjData(model)
    step_s = 1.0 / clip.frame_rate_hz
    count = clip.frames - 1
    travel = np.zeros(3)
    travel[:2] = clip.steps.travel_m_s * count * step_s
    order = [
        skeleton.joint_names.index(mujoco.mj_id2name(model, mujoco.mjtObj.mjOBJ_BODY, b))
        for b in range(1, model.nbody)
    ]

    def position(frame):
        turns, row = divmod(frame, count)
        return np.concatenate([clip.root_path_m[row] + turns * travel, clip.rotations[row][order].ravel()])

    def velocity(frame):  # from frame to frame + 1
        change = np.zeros(model.nv)
        mujoco.mj_differentiatePos(model, change, step_s, position(frame), position(frame + 1))
        return change

    speeds = np.array([velocity(k) for k in range(-1, count)])  # (count + 1, nv), at half frames
    for k in range(count):
        data.qpos[:] = position(k)
        data.qvel[:] = (speeds[k] + speeds[k + 1]) / 2.0
        data.qacc[:] = (speeds[k + 1] - speeds[k]) / step_s
        yield model, data


def zero_moment_point(force, moment):
    """Return the point on the ground about which the ground's force has no tipping moment, (frames, 2)."""
    return np.stack([-moment[:, 1] / force[:, 2], moment[:, 0] / force[:, 2]], axis=1)


def distance_outside(points, polygons):
    """Return how far each point (2,) is outside the convex hull of its own support points; 0 inside."""
    away = np.zeros(len(points))
    for k, (point, corners) in enumerate(zip(points, polygons, strict=True)):
        away[k] = _outside(point, corners)
    return away


def _outside(point, corners):
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = corners[ConvexHull(corners).vertices]
    except QhullError:
        hull = corners
    following = np.roll(hull, -1, axis=0)
    edge = following - hull
    if len(hull) > 2:
        inside = edge[:, 0] * (point[1] - hull[:, 1]) - edge[:, 1] * (point[0] - hull[:, 0])
        if np.all(inside >= 0.0):
            return 0.0
    along = np.clip(
        np.sum((point - hull) * edge, axis=1) / np.maximum(np.sum(edge**2, axis=1), 1e-12), 0.0, 1.0
    )
    return float(np.linalg.norm(hull + along[:, None] * edge - point, axis=1).min())


def wrench_over(clip):
    """Return force (frames - 2, 3) of the ground on the animal of a clip without a period, but for its ends.

    The clip must be finely sampled; velocities and accelerations are central differences.
    """
    skeleton = clip.animal
    model = mujoco.MjModel.from_xml_string(model_xml(skeleton))
    data = mujoco.MjData(model)
    step_s = 1.0 / clip.frame_rate_hz
    names = (mujoco.mj_id2name(model, mujoco.mjtObj.mjOBJ_BODY, b) for b in range(1, model.nbody))
    order = [skeleton.joint_names.index(name) for name in names]
    positions = np.concatenate([clip.root_path_m, clip.rotations[:, order].reshape(clip.frames, -1)], axis=1)
    speeds = np.zeros((clip.frames - 1, model.nv))  # at half frames
    for k, speed in enumerate(speeds):
        mujoco.mj_differentiatePos(model, speed, step_s, positions[k], positions[k + 1])
    force = np.zeros((clip.frames - 2, 3))
    for k in range(clip.frames - 2):
        data.qpos[:] = positions[k + 1]
        data.qvel[:] = (speeds[k] + speeds[k + 1]) / 2.0
        data.qacc[:] = (speeds[k + 1] - speeds[k]) / step_s
        mujoco.mj_inverse(model, data)
        force[k] = data.qfrc_inverse[:3]
    return force
