"""Take the frames of a clip out of the fine grid, and name its poses."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.pipeline.placing import Placed
from gaitgen.pipeline.request import Request
from gaitgen.pipeline.solve import Solved

Array = npt.NDArray[np.float64]


def to_clip(
    request: Request,
    skeleton: Animal,
    placed: Placed,
    solved: Solved,
    fine: int,
    notices: tuple[Notice, ...],
) -> Motion:
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
    return Motion(
        skeleton=skeleton,
        frame_rate_hz=request.frame_rate_hz,
        root_path_m=root,
        rotations=rotations,
        footfalls=footfalls,
        belt_m_s=travel.copy() if request.in_place else np.zeros(2),
        key_poses=key_poses(
            timing.contact, frames, {"hips": solved.hips.height_m, "chest": solved.chest.height_m}
        ),
        plan=plan,
        facts=facts,
        notices=notices,
    )
