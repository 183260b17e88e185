"""The frame rate of a rig's own file, which its scene may play at, beside that of a clip on it."""

from __future__ import annotations

from gaitgen.errors import Notice
from gaitgen.rigs.rig import Rig

SAME_RATE = 0.005  # rates that are nearer are one, rounded: 23.976 and 24


def rate_notice(rig: Rig, frame_rate_hz: float) -> tuple[Notice, ...]:
    """Say that a clip has another frame rate than the file of its rig. [Hz]"""
    own_hz = 1.0 / rig.file.frame_time_s
    if abs(own_hz / frame_rate_hz - 1.0) < SAME_RATE:
        return ()
    text = (
        f"the file of {rig.name} is at {own_hz:.4g} fps, and this is made at {frame_rate_hz:.4g}; if your "
        f"scene plays at the rate of that file, begin with a clip at it (`gaitgen cycle --fps {own_hz:.4g}`; "
        f"in a shot file fps = {own_hz:.4g})."
    )
    return (Notice("rate", text),)
