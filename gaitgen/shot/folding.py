"""Bends that are taken so fast that legs fold past their ranges, as the body leans and sinks over them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

# Acceleration to the inside of a bend, of gravity, from which legs are looked at, and at which they turn 3
# degrees past their ranges (of one animal of 1.6 m at 3.6 m/s on 10 m; 6 on 8 m, 10 on 6 m; estimate).
LEANS, EASY = 0.1, 0.13
SAID_RAD = np.radians(5.0)  # past a range, from which it shows (estimate)
TOLD_WHOLE_M = 10.0  # from which radii are told in whole metres


def easy_radius_m(speed_m_s: float) -> float:
    """Return how wide a bend is at a speed for legs to keep to their ranges, rounded up as it is told. [m]"""
    wide = speed_m_s**2 / (EASY * GRAVITY_M_S2)
    return float(np.ceil(wide) if wide > TOLD_WHOLE_M else np.ceil(10.0 * wide) / 10.0)


def fold_notices(clip: Motion, acceleration_m_s2: Array, speed_m_s: Array) -> tuple[Notice, ...]:
    """Say how far past its range a joint of a leg turns on a bend, and what bend would be easier.

    Parameters
    ----------
    clip
        The shot.
    acceleration_m_s2, speed_m_s
        (frames, 3), the second number to the left of where it goes, and (frames,) of its body.
    """
    inward = np.abs(acceleration_m_s2[:, 1]) / GRAVITY_M_S2
    rows = np.flatnonzero(inward > LEANS)
    if not rows.size:
        return ()
    joints = np.array([joint for limb in clip.animal.limbs for joint in limb.joints])
    turned = pitch_roll_yaw_rad(clip.rotations[np.ix_(rows, joints)])
    ranges = clip.animal.ranges_rad[joints]
    past = np.maximum(ranges[..., 0] - turned, turned - ranges[..., 1]).max(axis=2)  # (rows, joints)
    at, column = np.unravel_index(int(past.argmax()), past.shape)
    if past[at, column] <= SAID_RAD:
        return ()
    row = rows[at]
    first, last = next((a, b) for a, b in runs(inward > LEANS) if a <= row <= b)
    hardest = first + int(np.argmax(inward[first : last + 1]))
    speed = float(speed_m_s[hardest])
    radius = speed**2 / (float(inward[hardest]) * GRAVITY_M_S2)
    name, far = clip.animal.joint_names[joints[column]], np.degrees(past[at, column])
    text = (
        f"on a bend of {radius:.1f} m radius at {speed:.1f} m/s the body leans and sinks so far that "
        f"{name} turns {far:.0f} degrees past its range in frame {row + 1}; "
        f"{easy_radius_m(speed):g} m, or a slower gait, would be easier."
    )
    return (Notice("turn", text),)
