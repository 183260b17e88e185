"""Hips, chest, head and spine against each other."""

from __future__ import annotations

import cmath
import math

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.gait import Gait
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import Wave, apart_deg
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.rigs.rig import axes_of

Array = npt.NDArray[np.float64]

LEAST_RISE_SHARE = 0.0016  # of the hip height: below it an end does not rise and fall to speak of
OPPOSED_DEG = 140.0
# A head on a neck that stands more upright than this goes up and down with its chest, however it nods
# (estimate: that of no animal here rises by more than 63 degrees). [rad]
UPRIGHT_RAD = math.radians(75.0)
EVEN_STEP = 0.05  # of a stride: nearer to half of it two feet take turns (estimate)
LOW_AFTER_CONTACT = 0.125  # of a stride: where an end of a walking animal is lowest


def _phase_deg(wave: Wave) -> float:
    return math.degrees(cmath.phase(wave.second))


def _unsure_deg(seen: Seen, wave: Wave, end: int) -> float:
    """Deviation of a phase from noise. [degrees]"""
    amplitude = max(abs(wave.second), 1e-9)
    return math.degrees(seen.noise.ends_m[end] * math.sqrt(2.0 / len(wave.smooth)) / amplitude)


def _turning(seen: Seen, name: str, wave: Wave) -> str:
    """Say in which frames of the clip an end is low and high, the first few of them."""
    lows, highs = (
        ", ".join(str(seen.frame(row - 1)) for row in rows[:4]) for rows in (wave.lows, wave.highs)
    )
    return f"{name} low at {lows}, high at {highs}"


def opposing(seen: Seen) -> list[Finding]:
    """Find hips and chest that do not take turns as their feet do."""
    gait = seen.gait
    if gait is None or "hips" not in seen.waves or not (gait.symmetrical or _is_half_even(gait)):
        return []
    hips, chest = seen.waves["hips"], seen.waves["chest"]
    least = LEAST_RISE_SHARE * seen.motion.hip_height_m
    if min(abs(hips.second), abs(chest.second)) < least:
        return []
    after = _phase_deg(chest) - _phase_deg(hips)
    lag = _mean_lag(gait.summary.lag) if gait.symmetrical else _longest_lag(gait)
    off = apart_deg(after + 720.0 * lag)
    wrong, wave = _wrong_end(seen)
    sigma = math.hypot(_unsure_deg(seen, hips, 0), _unsure_deg(seen, chest, 1))
    between = abs(apart_deg(after))
    return seen.finding(
        "hips and chest out of time",
        wrong,
        _around(seen, wave),
        abs(off),
        f"move the rise and fall of the {wrong}: {_turning(seen, 'hips', hips)}; "
        f"{_turning(seen, 'chest', chest)} "
        f"({between:.0f} degrees apart, their feet ask for {abs(apart_deg(-720.0 * lag)):.0f})",
        noise=sigma,
        limit_name="hips_chest_phase",
    )


def _is_half_even(gait: Gait) -> bool:
    """Whether feet of one end of a walk take turns evenly and those of the other seem not to.

    So it is where a body that is much too high draws feet off the ground.
    """
    steps = (gait.summary.hind_step, gait.summary.fore_step)
    return gait.walks and min(abs(step - 0.5) for step in steps) < EVEN_STEP


def _longest_lag(gait: Gait) -> float:
    """By how much of a stride the fore foot that is down longest lands after such a hind foot."""
    fore, hind = (
        pair[int(np.argmax([gait.summary.duty_factor[k] for k in pair]))] for pair in ((0, 1), (2, 3))
    )
    return float((gait.contact[fore] - gait.contact[hind]) / gait.period)


def _mean_lag(lags: tuple[float, float]) -> float:
    turn = sum(cmath.exp(2j * math.pi * lag) for lag in lags)
    return (cmath.phase(turn) / (2.0 * math.pi)) % 1.0


def _around(seen: Seen, wave: Wave) -> tuple[int, int]:
    if not wave.lows:
        return 0, seen.motion.frames - 1
    return 0, len(wave.smooth) - 1


def _wrong_end(seen: Seen) -> tuple[str, Wave]:
    """Tell which end is farther from where its own contacts put it."""
    assert seen.gait is not None  # noqa: S101
    off = {}
    for name, feet in (("hips", (2, 3)), ("chest", (0, 1))):
        turns = [cmath.exp(-4j * math.pi * float(seen.gait.contact[k]) / seen.gait.period) for k in feet]
        contact = math.degrees(cmath.phase(sum(turns) / 2.0))
        low = _phase_deg(seen.waves[name]) - 180.0  # phase 180 at the low
        off[name] = abs(apart_deg(low - contact + 720.0 * LOW_AFTER_CONTACT))
    name = max(off, key=lambda key: off[key])
    return name, seen.waves[name]


def head_phase(seen: Seen) -> list[Finding]:
    """Find a head that goes with the chest rather than with the hips, in a walk."""
    gait = seen.gait
    if gait is None or not gait.walks or not gait.symmetrical or "head" not in seen.waves:
        return []
    if _neck_rises_rad(seen.motion) > UPRIGHT_RAD:
        return []
    head, hips = seen.waves["head"], seen.waves["hips"]
    least = LEAST_RISE_SHARE * seen.motion.hip_height_m
    if "chest" in seen.waves:  # a head that rises less than the withers is carried level
        least = max(least, abs(seen.waves["chest"].second))
    if abs(head.second) < least or abs(hips.second) < LEAST_RISE_SHARE * seen.motion.hip_height_m:
        return []
    lag = _mean_lag(gait.summary.lag)
    if abs(apart_deg(720.0 * lag)) < OPPOSED_DEG:
        return []  # hips and chest are not opposed in this gait, so the head has no end to go with
    off = abs(apart_deg(_phase_deg(head) - _phase_deg(hips)))
    sigma = math.hypot(_unsure_deg(seen, head, 2), _unsure_deg(seen, hips, 0))
    return seen.finding(
        "head with the wrong end",
        "head",
        _around(seen, head),
        off,
        f"move the nod: {_turning(seen, 'head', head)}; {_turning(seen, 'hips', seen.waves['hips'])}",
        noise=sigma,
        limit_name="head_phase",
    )


def _neck_rises_rad(motion: Tracked) -> float:
    """How steeply the standing neck goes up from its first joint to the head. [rad]"""
    if not (motion.map.neck and motion.map.head):
        return 0.0
    rows = [motion.joint(motion.map.neck[0]), motion.joint(motion.map.head)]
    base, head = motion.rest.places[rows] @ axes_of(motion.map).T
    ahead, _, up = head - base
    return math.atan2(up, abs(ahead))


def _in_a_stride(seen: Seen, angles_deg: Array) -> Array:
    """Take off angles (frames, 3) what is slower than a stride: a back bends to the side its way bends to.

    Of a stretch of a way alone; at its ends the nearest whole stride tells. [degrees]
    """
    wide = round(seen.period)
    if seen.loop.closes or seen.gait is None or not 1 < wide <= len(angles_deg):
        return angles_deg
    sums = np.concatenate([np.zeros((1, 3)), np.cumsum(angles_deg, axis=0)])
    means = (sums[wide:] - sums[:-wide]) / wide  # of the rows from each on
    middle = np.clip(np.arange(len(angles_deg)) - wide // 2, 0, len(means) - 1)
    return np.asarray(angles_deg - means[middle])


def spine(seen: Seen) -> list[Finding]:
    """Find a back that bends more than the animal's."""
    motion = seen.motion
    pelvis, chest = motion.joint(motion.map.pelvis), motion.joint(motion.map.chest)
    if pelvis == chest:
        return []
    turn = np.swapaxes(motion.changes[:, pelvis], -1, -2) @ motion.changes[:, chest]
    angles = np.degrees(pitch_roll_yaw_rad(turn))  # (frames, 3)
    wide = np.ptp(_in_a_stride(seen, angles), axis=0)
    sigma = seen.noise.angle_deg * math.sqrt(max(1, len(motion.map.spine) - 1))
    found: list[Finding] = []
    gathers = seen.gait is not None and not seen.gait.symmetrical
    for axis, (name, word) in enumerate(
        (
            ("spine_gathering" if gathers else "spine_flexion", "up and down"),
            ("spine_twist", "about its length"),
            ("spine_bending", "sideways"),
        )
    ):
        rows = sorted((int(angles[:, axis].argmin()), int(angles[:, axis].argmax())))
        found += seen.finding(
            "spine bending too much",
            "spine",
            (rows[0], rows[1]),
            float(wide[axis]),
            f"let the back bend less {word}",
            noise=sigma,
            limit_name=name,
        )
    return found
