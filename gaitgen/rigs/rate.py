"""The frame rate of a rig's own file, which its scene may play at, beside that of a clip on it."""

from __future__ import annotations

from gaitgen.errors import Notice
from gaitgen.rigs.rig import Rig

# Frame times are written with six decimals or more. [s]
ROUNDED_S = 5e-7
SAME_RATE = 0.005  # rates that are nearer are one, rounded: 23.976 and 24


def rate_text(rate_hz: float) -> str:
    """Write a rate [Hz] with as few decimals as give the same frame time, as files write it: 23.976."""
    for decimals in range(10):
        text = f"{rate_hz:.{decimals}f}"
        if float(text) > 0.0 and abs(1.0 / float(text) - 1.0 / rate_hz) < ROUNDED_S:
            return text
    return f"{rate_hz:.9g}"


def rate_notice(rig: Rig, frame_rate_hz: float) -> tuple[Notice, ...]:
    """Say that a clip has another frame rate than the file of its rig. [Hz]"""
    own_hz = 1.0 / rig.file.frame_time_s
    if abs(own_hz / frame_rate_hz - 1.0) < SAME_RATE:
        return ()
    own = rate_text(own_hz)
    text = (
        f"the file of {rig.name} is at {own} fps, and this is made at {rate_text(frame_rate_hz)}; if your "
        f"scene plays at the rate of that file, begin with a clip at it (`gaitgen cycle --fps {own}`; "
        f"in a shot file fps = {own})."
    )
    return (Notice("rate", text),)
