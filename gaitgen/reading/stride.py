"""One stride out of a clip: contacts and lift-offs as found, to the frame, and where the feet stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.gait import Gait, find_gait
from gaitgen.check.noise import Noise, find_noise
from gaitgen.check.tracked import Tracked
from gaitgen.course import steps as course_steps
from gaitgen.course.steps import Steps
from gaitgen.errors import FileFormatError, GaitError
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import Feet, find_feet
from gaitgen.motion.loop import Loop, find_loop

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Stride:
    """The timing of a clip, and what it was found from.

    Attributes
    ----------
    frames, strides
        Length of one stride [frames], and how many whole ones are in the clip.
    contact, down
        (4,) frame of contact from 0, and frames on the ground, in LIMBS order.
    steps
        One period of stances, travelling.
    in_place
        Whether the ground moves rather than the body.
    ground_m
        Height of the ground. [m]
    gait, loop, noise
        As found.
    """

    frames: int
    strides: int
    contact: npt.NDArray[np.int64]
    down: npt.NDArray[np.int64]
    steps: Steps
    in_place: bool
    ground_m: float
    gait: Gait
    loop: Loop
    noise: Noise


def find_stride(motion: Tracked, where: str) -> Stride:
    """Find the stride of a clip.

    Raises
    ------
    FileFormatError
        If there is none; one line with the reason.
    """
    loop = find_loop(motion.points_m)
    noise = find_noise(motion, loop)
    paths = motion.foot_paths(noise.toe_m)
    feet = find_feet(paths, loop)
    if feet.in_place and not loop.repeats_first:  # a guess from the last step, where none is needed
        loop = replace(loop, advance_m=np.zeros(3))
        feet = find_feet(paths, loop)
    if feet.is_exact:  # no foot keeps its place to a tenth of a millimetre on joints that jitter
        noise = replace(noise, angle_deg=0.0)
    gait, reason = find_gait(loop, feet, motion.template)
    if gait is None:
        raise FileFormatError(
            f"{where}: no stride was found, {reason}; give a clip of a whole stride, or see `gaitgen check`"
        )
    frames = round(gait.period)
    contact = np.rint(gait.contact).astype(np.int64) % frames
    down = np.maximum(np.rint(np.array(gait.summary.duty_factor) * frames).astype(np.int64), 1)
    travel = -feet.belt_m_s
    if not feet.in_place:
        travel = loop.advance_m[:2] / loop.frames * motion.frame_rate_hz if loop.closes else feet.body_m_s
    try:
        steps = _steps(motion, loop, feet, contact, down, frames, travel)
    except GaitError as fault:
        raise FileFormatError(f"{where}: no stride to draw, {fault}") from None
    strides = max(1, round(gait.strides) if loop.closes else int(gait.strides + 1e-6))
    return Stride(frames, strides, contact, down, steps, feet.in_place, feet.ground_m, gait, loop, noise)


def _steps(
    motion: Tracked,
    loop: Loop,
    feet: Feet,
    contact: npt.NDArray[np.int64],
    down: npt.NDArray[np.int64],
    frames: int,
    travel: Array,
) -> Steps:
    """Put one stance of each foot where its toe was, the middle of all its frames and strides."""
    rate = motion.frame_rate_hz
    path = motion.toes_m[..., :2].copy()  # (frames, 4, 2)
    if feet.in_place:
        path += (np.arange(motion.frames)[:, None] / rate * travel)[:, None]
    places, headings = np.empty((4, 2)), np.zeros(4)
    last = loop.frames if loop.closes else motion.frames
    for limb in range(len(LIMBS)):
        rows, back = [], []
        for stance in feet.of(limb):
            own = np.arange(stance.first, stance.last + 1)
            turn = own // last if loop.closes else np.zeros_like(own)
            here = stance.first - int(contact[limb])
            rows.append(own - turn * last)
            back.append(turn * last - round(here / frames) * frames)
        row, moved = np.concatenate(rows), np.concatenate(back)
        at = path[row, limb] + moved[:, None] / rate * travel
        places[limb] = np.median(at, axis=0)
    order = np.argsort(contact, kind="stable")
    return Steps(
        limb=order.astype(np.int64),
        touchdown_s=contact[order] / rate,
        liftoff_s=(contact + down)[order] / rate,
        place_m=places[order],
        heading_rad=headings[order],
        loop=course_steps.Loop(frames / rate, shift_m=_shift_m(travel * frames / rate)),
    )


def _shift_m(travel_m: Array) -> tuple[float, float, float]:
    return float(travel_m[0]), float(travel_m[1]), 0.0
