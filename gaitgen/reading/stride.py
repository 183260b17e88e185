"""One stride out of a clip: contacts and lift-offs as found, to the frame, and where the feet stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.contacts import Feet, Stance, find_feet
from gaitgen.check.gait import Gait, find_gait
from gaitgen.check.loop import Loop, find_loop
from gaitgen.check.noise import Noise, find_noise
from gaitgen.check.tracked import Tracked
from gaitgen.course import steps as course_steps
from gaitgen.course.steps import Steps
from gaitgen.errors import FileFormatError, GaitError
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

# A toe that keeps to its place on the belt within the first is one that no hand has moved; it has left the
# ground where it is off by the second.
EXACT_M, LEFT_M = 2e-4, 1e-4
MOST_MOVED = 4  # frames by which an end of a stance is corrected


@dataclass(frozen=True, eq=False)
class Stride:
    """The timing of a clip, and what it was found from.

    Attributes
    ----------
    frames, strides
        Length of one stride [frames], and how many whole ones are in the clip.
    contact, down
        (4,) frame of contact from 0, and frames on the ground, in LIMBS order.
    footfalls
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
    footfalls: Steps
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
    loop, noise = find_loop(motion), find_noise(motion)
    feet = find_feet(motion, loop, noise)
    if feet.in_place and not loop.repeats_first:  # a guess from the last step, where none is needed
        loop = replace(loop, advance_m=np.zeros(3))
        feet = find_feet(motion, loop, noise)
    feet, is_exact = _to_the_frame(motion, loop, feet)
    if is_exact:  # no foot keeps its place to a tenth of a millimetre on joints that tremble
        noise = replace(noise, angle_deg=0.0)
    gait, reason = find_gait(loop, feet)
    if gait is None:
        raise FileFormatError(
            f"{where}: no stride was found to draw, {reason}; give a clip of a whole stride, or see "
            "`gaitgen check`"
        )
    frames = round(gait.period)
    contact = np.rint(gait.contact).astype(np.int64) % frames
    down = np.maximum(np.rint(np.array(gait.summary.duty_factor) * frames).astype(np.int64), 1)
    travel = -feet.belt_m_s
    if not feet.in_place:
        travel = loop.advance_m[:2] / loop.frames * motion.frame_rate_hz if loop.closes else feet.body_m_s
    try:
        footfalls = _footfalls(motion, loop, feet, contact, down, frames, travel)
    except GaitError as fault:
        raise FileFormatError(f"{where}: no stride to draw, {fault}") from None
    strides = max(1, round(gait.strides) if loop.closes else int(gait.strides + 1e-6))
    return Stride(frames, strides, contact, down, footfalls, feet.in_place, feet.ground_m, gait, loop, noise)


def _to_the_frame(motion: Tracked, loop: Loop, feet: Feet) -> tuple[Feet, bool]:
    """Correct the ends of stances that keep exactly to the belt; leave those of noisy clips alone.

    Returns the feet, and whether they keep to it.
    """
    if not feet.stances:
        return feet, False
    shift = loop.frames if loop.closes else 0
    toes = loop.unrolled(motion.toes_m)
    time = np.arange(len(toes)) * motion.file.frame_time_s
    inner = [np.arange(s.first + shift + 1, s.last + shift) for s in feet.stances]
    slopes = [
        np.polyfit(time[rows] - time[rows[0]], toes[rows, s.limb, :2], 1)[0]
        for s, rows in zip(feet.stances, inner, strict=True)
        if rows.size > 1
    ]
    if not slopes:
        return feet, False
    belt = np.append(np.median(slopes, axis=0), 0.0)
    fixed = toes - (time[:, None] * belt)[:, None]
    stances = tuple(
        _exact(stance, rows, fixed[:, stance.limb], shift)
        for stance, rows in zip(feet.stances, inner, strict=True)
    )
    if any(stance is None for stance in stances):
        return feet, False
    root = feet.body_m_s + feet.belt_m_s
    kept = tuple(stance for stance in stances if stance is not None)
    return replace(feet, stances=kept, belt_m_s=belt[:2], body_m_s=root - belt[:2]), True


def _exact(stance: Stance, inner: npt.NDArray[np.int64], fixed: Array, shift: int) -> Stance | None:
    """Return a stance with the rows in which the toe keeps its place, or None if it never does."""
    if not inner.size:
        return stance
    away = np.linalg.norm(fixed - np.median(fixed[inner], axis=0), axis=1)
    if away[inner].max() > EXACT_M:
        return None
    first, last = int(inner[0]), int(inner[-1])
    for _ in range(MOST_MOVED + 1):
        first -= int(first > 0 and away[first - 1] < LEFT_M)
        last += int(last + 1 < len(away) and away[last + 1] < LEFT_M)
    begins, ends = first > 0, last < len(away) - 1
    return replace(stance, first=first - shift, last=last - shift, begins=begins, ends=ends)


def _footfalls(
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
