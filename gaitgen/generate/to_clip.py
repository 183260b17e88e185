"""Take the frames of a clip out of the fine grid, and name its poses."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.generate.placing import Placed
from gaitgen.generate.request import Request
from gaitgen.generate.solve import Solved
from gaitgen.motion.clip import Clip, KeyPose
from gaitgen.parameters.gait import LIMBS
from gaitgen.parameters.tempo import froude_number
from gaitgen.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.skeleton.skeleton import Skeleton
from gaitgen.timeline.cycle import CycleTiming

Array = npt.NDArray[np.float64]


def to_clip(
    request: Request,
    skeleton: Skeleton,
    placed: Placed,
    solved: Solved,
    fine: int,
    notices: tuple[Notice, ...],
) -> Clip:
    """Take the frames out of the fine grid, repeat the strides, and close the loop with the first frame."""
    frames, timing, footfalls = request.frames, placed.timing, placed.footfalls
    rows = (np.arange(frames * request.strides + 1) % frames) * fine
    turns = np.arange(frames * request.strides + 1) // frames
    matrices = np.stack([solved.local[name] for name in skeleton.joint_names], axis=1)[rows]
    rotations = continuous_sign(quaternion_from_matrix(matrices))
    period_s = frames / request.frame_rate_hz
    root = solved.trunk.root_path_m[rows].copy()
    travel = footfalls.travel_m_s
    if request.in_place:
        moments = (rows / fine) / request.frame_rate_hz
        root[:, :2] -= moments[:, None] * travel
    else:
        root[:, :2] += turns[:, None] * travel * period_s
    plan = {
        "force_n": solved.forces.vertical_n[rows],
        "force_horizontal_n": solved.forces.horizontal_n[rows],
        "hips_heave_m": solved.hips.height_m[rows],
        "chest_heave_m": solved.chest.height_m[rows],
        "breath": solved.breath[rows],
    }
    speed = float(np.linalg.norm(travel))
    facts = {
        "frames": float(frames),
        "strides": float(request.strides),
        "frame_rate_hz": request.frame_rate_hz,
        "period_s": period_s,
        "speed_m_s": speed,
        "stride_length_m": speed * period_s,
        "duty_factor": sum(timing.down) / (4.0 * frames),
        "lag": ((timing.contact[1] - timing.contact[3]) % frames) / frames,
        "froude_number": froude_number(speed, skeleton.hip_height_m),
        "chest_drop_m": solved.drop_m[0],
        "hips_drop_m": solved.drop_m[1],
    }
    return Clip(
        skeleton=skeleton,
        frame_rate_hz=request.frame_rate_hz,
        root_path_m=root,
        rotations=rotations,
        footfalls=footfalls,
        belt_m_s=travel.copy() if request.in_place else np.zeros(2),
        key_poses=_key_poses(timing, solved, fine),
        plan=plan,
        facts=facts,
        notices=notices,
    )


def _key_poses(timing: CycleTiming, solved: Solved, fine: int) -> tuple[KeyPose, ...]:
    """Name the four contacts, the breakdowns half-way between them, and the last pose."""
    order = sorted(range(4), key=lambda limb: timing.contact[limb])
    contacts = [timing.contact[limb] for limb in order]
    poses = []
    for k, limb in enumerate(order):
        here = contacts[k]
        following = contacts[k + 1] if k < 3 else timing.frames + contacts[0]
        poses.append(KeyPose(here + 1.0, f"{LIMBS[limb]} contact"))
        middle = (here + following) / 2.0
        row = round(middle * fine) % (timing.frames * fine)
        poses.append(KeyPose(middle + 1.0, _breakdown_name(solved, row)))
    poses.append(KeyPose(timing.frames + contacts[0] + 1.0, poses[0].name))
    return tuple(poses)


def _breakdown_name(solved: Solved, row: int) -> str:
    words = []
    for end, heave in (("hips", solved.hips.height_m), ("chest", solved.chest.height_m)):
        range_m = float(np.ptp(heave))
        place = (float(heave[row]) - float(heave.min())) / range_m if range_m > 1e-6 else 0.5
        words.append(f"{end} {'low' if place < 1 / 3 else 'high' if place > 2 / 3 else 'level'}")
    return ", ".join(words)
