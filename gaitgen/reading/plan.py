"""The plan behind a clip that was read: rise and fall, forces, named poses, numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.forces import ground_forces, vertical_forces_n
from gaitgen.body.heave import Heave
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import wave
from gaitgen.course.steps import stance_state
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.extremes import highest
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.motion import KeyPose
from gaitgen.numerics.curves import refined
from gaitgen.reading.stride import Stride

Array = npt.NDArray[np.float64]

# Of the stride, in the rise and fall of an end of the body. An acceleration has the noise of the n-th n
# squared times, so only the two that a walk has most of are left in a noisy clip.
HARMONICS = {"noisy": 2, "quiet": 6}
TOPS = {"hips": ("femur_L", "femur_R"), "chest": ("scapula_L", "scapula_R")}


@dataclass(frozen=True, eq=False)
class Plan:
    """What a clip needs beside its motion.

    Attributes
    ----------
    curves, facts, key_poses, notices
        As in a Motion; curves are one stride long.
    """

    curves: dict[str, Array]
    facts: dict[str, float]
    key_poses: tuple[KeyPose, ...]
    notices: tuple[Notice, ...]


def find_plan(motion: Tracked, skeleton: Animal, stride: Stride) -> Plan:
    """Work out the plan of one stride from the motion itself."""
    rate = motion.frame_rate_hz
    heaves, drops = {}, {}
    for end, names in TOPS.items():
        heaves[end], drops[end] = _heave(motion, skeleton, stride, names)
    state = stance_state(stride.footfalls, np.arange(stride.frames) / rate)
    vertical = vertical_forces_n(
        state, heaves["chest"], heaves["hips"], skeleton.body_mass_kg, skeleton.load_share_fore
    )
    notices = [
        Notice(
            "force",
            "forces are estimated from the rise and fall of shoulders and hips, shared by the feet that are "
            "down.",
        )
    ]
    if vertical.min() < 0.0:
        text = (
            "the body falls faster than gravity could pull it; forces down to "
            f"{vertical.min():.0f} N are drawn as 0."
        )
        notices.append(Notice("force", text))
        vertical = np.maximum(vertical, 0.0)
    horizontal = np.zeros((stride.frames, len(LIMBS), 2))
    if vertical.sum(axis=1).min() > 0.0:
        standing = standing_positions_m(skeleton)
        pivots = [standing[skeleton.joint(name), 0] for name in (*TOPS["chest"], *TOPS["hips"])]
        horizontal = ground_forces(
            stride.footfalls, state, vertical, np.array(pivots), hip_height_m=skeleton.hip_height_m
        ).horizontal_n
    curves = {
        "force_n": vertical,
        "force_horizontal_n": horizontal,
        "hips_heave_m": heaves["hips"].height_m,
        "chest_heave_m": heaves["chest"].height_m,
        "breath": np.zeros(stride.frames),
    }
    facts = _facts(skeleton, stride, rate, drops)
    return Plan(curves, facts, _named(stride, curves), tuple(notices))


def _heave(motion: Tracked, skeleton: Animal, stride: Stride, names: tuple[str, ...]) -> tuple[Heave, float]:
    """Rise and fall of one end, highest at 0, and how far below its standing height that is. [m]"""
    height = motion.places_m[:, [motion.joint(name) for name in names], 2].mean(axis=1)
    quiet = stride.noise.angle_deg <= 0.0
    period = stride.gait.period
    rows = stride.loop.frames if stride.loop.closes else int(int(motion.frames / period) * period)
    fitted = wave(height[:rows], period, motion.file.frame_time_s, HARMONICS["quiet" if quiet else "noisy"])
    curve = height[: stride.frames] if quiet and stride.loop.closes else fitted.smooth[: stride.frames]
    top = highest(refined(fitted.smooth[: stride.frames])[:-1], is_closed=True)
    standing = float(standing_positions_m(skeleton)[skeleton.joint(names[0]), 2]) + stride.ground_m
    return Heave(curve - top, fitted.accelerating[: stride.frames], 0.0), standing - top


def _facts(skeleton: Animal, stride: Stride, rate: float, drops: dict[str, float]) -> dict[str, float]:
    period_s = stride.frames / rate
    speed = float(np.linalg.norm(stride.footfalls.travel_m_s))
    return {
        "frames": float(stride.frames),
        "strides": float(stride.strides),
        "frame_rate_hz": round(rate, 9),
        "period_s": period_s,
        "speed_m_s": speed,
        "stride_length_m": speed * period_s,
        "duty_factor": float(stride.down.sum()) / (4.0 * stride.frames),
        "lag": float((stride.contact[1] - stride.contact[3]) % stride.frames) / stride.frames,
        "froude_number": froude_number(speed, skeleton.hip_height_m),
        "chest_drop_m": drops["chest"],
        "hips_drop_m": drops["hips"],
    }


def _named(stride: Stride, curves: dict[str, Array]) -> tuple[KeyPose, ...]:
    fine = {end: refined(curves[f"{end}_heave_m"])[:-1] for end in TOPS}
    return key_poses([float(frame) for frame in stride.contact], stride.frames, fine)
