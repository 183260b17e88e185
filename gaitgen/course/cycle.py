"""One cycle of a symmetrical gait as a timeline with a period, on whole frames where asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import Steps
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class CycleTiming:
    """Contacts of one cycle in frames from its start.

    Attributes
    ----------
    contact
        Contact of each foot in LIMBS order, 0 up to ``frames``. [frames]
    down
        How long each foot is down. [frames]
    frames
        Length of the cycle. [frames]
    """

    contact: tuple[float, float, float, float]
    down: tuple[float, float, float, float]
    frames: int


def _whole(value: float) -> float:
    return float(np.floor(value + 0.5 + 1e-9))


def cycle_timing(
    frames: int, duty_factor: float, lag: float, *, start: str = "RH", whole_frames: bool = True
) -> CycleTiming:
    """Place the contacts of a symmetrical gait: a fore foot ``lag`` after the hind of its side.

    Hildebrand M. 1965, Science 150:701-708 (the two numbers of a symmetrical gait).

    Parameters
    ----------
    frames
        Length of the cycle. [frames]
    duty_factor, lag
        Shares of the cycle.
    start
        The foot whose contact is frame 1.
    whole_frames
        Round contacts and stances to whole frames.

    Raises
    ------
    GaitError
        If ``start`` is no foot.
    """
    if start not in LIMBS:
        raise GaitError(f"start is {start!r}; use one of {', '.join(LIMBS)}")
    hind_left, lag_frames, down = frames / 2.0, lag * frames, duty_factor * frames
    if whole_frames:
        hind_left, lag_frames, down = _whole(hind_left), _whole(lag_frames), _whole(down)
        down = min(max(down, np.floor(frames / 2.0) + 1.0), frames - 2.0)
    contact = {"RH": 0.0, "RF": lag_frames, "LH": hind_left, "LF": hind_left + lag_frames}
    shifted = [(contact[limb] - contact[start]) % frames for limb in LIMBS]
    return CycleTiming(tuple(shifted), (down,) * 4, frames)  # type: ignore[arg-type]


def cycle_footfalls(
    timing: CycleTiming,
    frame_rate_hz: float,
    travel_m_s: float,
    stance_centre_m: Array,
    track_m: Mapping[str, float],
) -> Steps:
    """Lay the contacts on the ground, walking straight ahead.

    Parameters
    ----------
    timing
        Contacts in frames.
    frame_rate_hz
        Frames per second. [Hz]
    travel_m_s
        Speed of the body. [m/s]
    stance_centre_m
        (4,) toe's place ahead of the moving origin half-way through its stance, in LIMBS order. [m]
    track_m
        Half the distance between left and right prints of ``fore`` and ``hind``. [m]
    """
    touchdown = np.array(timing.contact) / frame_rate_hz  # (4,)
    liftoff = touchdown + np.array(timing.down) / frame_rate_hz
    side = np.array([1.0, -1.0, 1.0, -1.0])
    width = np.array([track_m["fore"], track_m["fore"], track_m["hind"], track_m["hind"]])
    along = stance_centre_m + travel_m_s * (touchdown + liftoff) / 2.0
    order = np.argsort(touchdown, kind="stable")
    return Steps(
        limb=np.arange(4, dtype=np.int64)[order],
        touchdown_s=touchdown[order],
        liftoff_s=liftoff[order],
        place_m=np.stack([along, side * width], axis=1)[order],
        heading_rad=np.zeros(4),
        period_s=timing.frames / frame_rate_hz,
        travel_m_s=np.array([travel_m_s, 0.0]),
    )
