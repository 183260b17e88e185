"""Take the frames of a motion out of the grid it was solved on, and name its poses."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.motion import KeyPose, Motion
from gaitgen.numerics.curves import refined
from gaitgen.numerics.rotations import continuous_sign
from gaitgen.pipeline.settle import Settled
from gaitgen.pipeline.temper import Tempered

Array = npt.NDArray[np.float64]


def to_clip(settled: Settled, made: Tempered, notices: tuple[Notice, ...]) -> Motion:
    """Take the frames out of the grid, repeat the strides, and close the loop with the first frame."""
    request, frames, placed, solved = settled.request, settled.frames, made.placed, made.solved
    timing, steps, animal = placed.timing, placed.course.steps, placed.course.animal
    loop = placed.loop_frames
    row = np.arange(frames * request.strides + 1) % loop
    turns = np.arange(frames * request.strides + 1) // loop
    fine = row * placed.per_frame
    rotations = continuous_sign(made.quaternions)[row]
    rotations = continuous_sign(rotations)
    period_s, loop_s = frames / request.frame_rate_hz, loop / request.frame_rate_hz
    root = solved.trunk.root_m[fine].copy()
    travel = steps.travel_m_s
    if not request.in_place:
        root[:, :2] += (turns * loop_s + row / request.frame_rate_hz)[:, None] * travel
    force = solved.body.balance.force_n[fine]
    breath = np.zeros(fine.size) if solved.hung is None else solved.hung.breath[fine]
    plan = Plan(
        force_n=force[..., 2],
        force_horizontal_n=force[..., :2],
        hips_heave_m=solved.body.hips_height_m[fine],
        chest_heave_m=solved.body.chest_height_m[fine],
        breath=breath,
    )
    speed = float(np.linalg.norm(travel)) * (-1.0 if settled.gait.is_backward else 1.0)
    facts = Facts(
        frames=frames,
        strides=request.strides,
        period_s=period_s,
        speed_m_s=speed,
        stride_length_m=abs(speed) * period_s,
        duty_factor=sum(timing.down) / (4.0 * frames),
        lag=((timing.contact[1] - timing.contact[3]) % frames) / frames,
        froude_number=froude_number(speed, animal.hip_height_m),
        chest_drop_m=solved.drop_m[0],
        hips_drop_m=solved.drop_m[1],
    )
    return Motion(
        animal=animal,
        frame_rate_hz=request.frame_rate_hz,
        root_path_m=root,
        rotations=rotations,
        steps=steps,
        belt_m_s=travel.copy() if request.in_place else np.zeros(2),
        key_poses=_poses(settled, made),
        plan=plan,
        facts=facts,
        notices=notices,
        asked=settled.asked,
    )


def _poses(settled: Settled, made: Tempered) -> tuple[KeyPose, ...]:
    """Name the poses of one stride, as its frames show them, or of all that differ.

    The grid knows more than the frames that are written: a pose near a threshold would have another name in
    the clip than in its file.
    """
    placed, body = made.placed, made.solved.body
    heave_m = {"hips": body.hips_height_m, "chest": body.chest_height_m}
    varied, timing = placed.varied, placed.timing
    if varied is None:
        shown = {end: refined(curve[:: placed.per_frame])[:-1] for end, curve in heave_m.items()}
        return key_poses(timing.contact, timing.down, timing.frames, shown)
    steps, rate = placed.course.steps, settled.request.frame_rate_hz
    contact, liftoff = (np.round(times * rate, 9) for times in (steps.touchdown_s, steps.liftoff_s))
    return key_poses(
        contact.tolist(),
        (liftoff - contact).tolist(),
        placed.loop_frames,
        heave_m,
        limbs=steps.limb.tolist(),
    )
