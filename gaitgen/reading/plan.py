"""The plan behind a clip that was read: rise and fall, forces, named poses, numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.known import forces_under
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import wave
from gaitgen.course.path import Path
from gaitgen.errors import Notice
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.extremes import highest
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.key_poses import key_poses
from gaitgen.motion.kinematics import end_middle_m, world_frames
from gaitgen.motion.motion import KeyPose
from gaitgen.numerics.curves import refined
from gaitgen.numerics.grid import Grid
from gaitgen.reading.stride import Stride

Array = npt.NDArray[np.float64]

# Of the stride, in the rise and fall of an end of the body. An acceleration has the noise of the n-th n
# squared times, so only the two that a walk has most of are left in a noisy clip.
HARMONICS = {"noisy": 2, "quiet": 6, "forces": 6}
# Moments of a stride, at the least, on which forces are solved.
SAMPLES = 96
TOPS = {"hips": "hind", "chest": "fore"}


@dataclass(frozen=True, eq=False)
class Found:
    """What a clip needs beside its motion.

    Attributes
    ----------
    frame_rate_hz, plan, facts, key_poses, notices
        As in a Motion; the plan is one stride long.
    """

    frame_rate_hz: float
    plan: Plan
    facts: Facts
    key_poses: tuple[KeyPose, ...]
    notices: tuple[Notice, ...]


def find_plan(
    motion: Tracked, skeleton: Animal, stride: Stride, root_m: Array, local: Array, ground_m: float = 0.0
) -> Found:
    """Work out the plan of one stride from the motion itself.

    Parameters
    ----------
    motion, skeleton, stride
        The clip, the animal it was matched with, its first stride.
    root_m, local
        (frames, 3) place of the animal's root [m], and (frames, joints, 3, 3) turn of its joints.
    ground_m
        Height of the ground under that. [m]
    """
    rate = motion.frame_rate_hz
    heaves, drops = {}, {}
    for part, end in TOPS.items():
        heaves[part], drop = _heave(motion, skeleton, stride, end, root_m, local)
        drops[part] = drop + ground_m
    travel = stride.steps.travel_m_s
    path = Path.straight(float(np.linalg.norm(travel)), float(np.arctan2(travel[1], travel[0])))
    per_frame = -(-SAMPLES // stride.frames)
    fine = per_frame * stride.frames
    grid = Grid(0.0, 1.0 / (per_frame * rate), fine, is_periodic=True)
    parts, masses = _parts(skeleton, stride, root_m, local, grid)
    force = forces_under(skeleton, stride.steps, path, grid, parts, masses).force_n[::per_frame]
    text = "forces are estimated from how the masses of the animal move, shared by the feet that are down."
    notices = [Notice("force", text)]
    plan = Plan(
        force_n=force[..., 2],
        force_horizontal_n=force[..., :2],
        hips_heave_m=heaves["hips"],
        chest_heave_m=heaves["chest"],
        breath=np.zeros(stride.frames),
    )
    facts = _facts(skeleton, stride, rate, drops)
    return Found(round(rate, 9), plan, facts, _named(stride, plan), tuple(notices))


def _parts(skeleton: Animal, stride: Stride, root_m: Array, local: Array, grid: Grid) -> tuple[Array, Array]:
    """Follow the centres of mass of all joints (samples, joints, 3) [m]; and their masses (joints,) [kg]."""
    rows = slice(0, stride.frames)
    places, turned = world_frames(skeleton, root_m[rows], local[rows])
    centres = places + (turned @ skeleton.mass_centres_m[..., None])[..., 0]
    if not stride.in_place:
        gone_s = np.arange(stride.frames) * float(stride.steps.period_s or 0.0) / stride.frames
        centres[..., :2] -= gone_s[:, None, None] * stride.steps.travel_m_s
    if stride.noise.angle_deg > 0.0:
        waves = np.fft.rfft(centres, axis=0)
        waves[HARMONICS["forces"] + 1 :] = 0.0
        centres = np.fft.irfft(waves, n=stride.frames, axis=0)
    return refined(centres, grid.count)[:-1], skeleton.mass_shares * skeleton.body_mass_kg


def _heave(
    motion: Tracked, skeleton: Animal, stride: Stride, end: str, root_m: Array, local: Array
) -> tuple[Array, float]:
    """Rise and fall of one end, highest at 0, and how far below its standing height that is. [m]

    It is that of the middle of the tops of its limbs as their girdle carries it, without their own ride.
    """
    limb, standing_m = skeleton.limb(end), standing_positions_m(skeleton)
    places, turned = world_frames(skeleton, root_m[: motion.frames], local[: motion.frames])
    height = end_middle_m(skeleton, places, turned, end)[:, 2]
    quiet = stride.noise.angle_deg <= 0.0
    period = stride.gait.period
    rows = stride.loop.frames if stride.loop.closes else int(int(motion.frames / period) * period)
    fitted = wave(height[:rows], period, motion.file.frame_time_s, HARMONICS["quiet" if quiet else "noisy"])
    curve = height[: stride.frames] if quiet and stride.loop.closes else fitted.smooth[: stride.frames]
    top = highest(refined(fitted.smooth[: stride.frames])[:-1], is_closed=True)
    return curve - top, float(standing_m[limb.top, 2]) - top


def _facts(skeleton: Animal, stride: Stride, rate: float, drops: dict[str, float]) -> Facts:
    period_s = stride.frames / rate
    speed = float(np.linalg.norm(stride.steps.travel_m_s))
    return Facts(
        frames=stride.frames,
        strides=stride.strides,
        period_s=period_s,
        speed_m_s=speed,
        stride_length_m=speed * period_s,
        duty_factor=float(stride.down.sum()) / (4.0 * stride.frames),
        lag=float((stride.contact[1] - stride.contact[3]) % stride.frames) / stride.frames,
        froude_number=froude_number(speed, skeleton.hip_height_m),
        chest_drop_m=drops["chest"],
        hips_drop_m=drops["hips"],
    )


def _named(stride: Stride, plan: Plan) -> tuple[KeyPose, ...]:
    fine = {end: refined(heave_m)[:-1] for end, heave_m in plan.heaves_m.items()}
    return key_poses(
        [float(frame) for frame in stride.contact],
        [float(frames) for frames in stride.down],
        stride.frames,
        fine,
    )
