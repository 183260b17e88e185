"""Whether a clip plays too fast or too slow: how its body falls in the air, and how long its feet swing."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check import kinds
from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.check.touching import limbs_under
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.scaling import scaled
from gaitgen.gait.tempo import GRAVITY_M_S2

# Times too fast, or 1 over times too slow, from which it is said. In the air the middle of hips and chest of
# the computed runs of all animals falls with 0.61 to 1.55 times gravity: 0.78 to 1.24 times too fast. A walk
# is stretched to any length, so only an animal that is known tells, and by more; else its size alone, at
# which the feet of these animals swing for 0.9 to 1.8 times the root of hip height over gravity.
IN_AIR, OF_ITS_OWN, OF_ITS_SIZE = 1.42, 1.75, 2.3
USUAL_SWING = 1.27
# What moves the body, or contacts, which tell the rate: a part at another tempo, frames that are missing or
# held, what shakes.
_HIDE = frozenset(
    (
        *kinds.MISREAD,
        *kinds.TEMPO,
        *kinds.FILE,
        *kinds.ROOT,
        *kinds.SHAKE,
        *kinds.BODY,
        *kinds.GROUND,
        *kinds.UNSEEN,
    )
)
_WITHOUT_FEET = frozenset({"tail", "neck and head"})
NOISE_SHARE = 0.3  # of gravity: with more noise than that nothing is told from how the body falls


def frame_rate_doubt(seen: Seen, findings: Sequence[Finding] = ()) -> str:
    """Say by how much a clip seems to play too fast or too slow, and why; nothing where it does not.

    Nor where findings say that the body is not where its legs have it, is read the wrong way, or that frames
    or joints that carry a foot are not what they should be: then neither its fall nor its swings are what
    they seem.
    """
    if any(_explains(seen, finding) for finding in findings):
        return ""
    for part in (seen, *(each.seen for each in seen.parts)):
        if part.gait is None or part.meant.gait is not None:
            continue
        times, why = (None if part.gait.walks else _by_fall(part)) or _by_swing(part)
        if why:
            return _words(seen.motion.frame_rate_hz, times, why)
    return ""


def _explains(seen: Seen, finding: Finding) -> bool:
    """Whether a finding moves contacts or the body, so that the clip seems to play at another rate.

    Of one joint or part it does if feet hang on it.
    """
    if finding.limb in _WITHOUT_FEET:
        return False
    if finding.limb in seen.motion.file.joint_names:
        return finding.kind in {*_HIDE, *kinds.JOINT} and bool(limbs_under(seen, finding))
    return finding.kind in _HIDE


def _words(frame_rate_hz: float, times: float, why: str) -> str:
    """Say it."""
    is_fast = times > 1.0
    how = f"{max(times, 1.0 / times):.1f} times too {'fast' if is_fast else 'slow'}"
    return (
        f"the clip seems to play {how}: {why}. "
        f"Look whether its frame rate is right ({frame_rate_hz:g} fps; about "
        f"{frame_rate_hz / times:.0f} would fit), and its unit."
    )


def _by_fall(seen: Seen) -> tuple[float, str] | None:
    """How many times too fast a body falls while no foot is down, and why; None where it never flies."""
    motion, rows = seen.motion, seen.loop.frames if seen.loop.closes else seen.motion.frames
    air = np.asarray(~seen.feet.planted[:rows].any(axis=1))
    height = motion.places_m[:rows, [motion.top(limb) for limb in LIMBS], 2].mean(axis=1)
    bend = np.roll(height, 1) + np.roll(height, -1) - 2.0 * height
    if not seen.loop.closes:
        air[[0, -1]] = False
    count = int(air.sum())
    per_s2 = motion.frame_rate_hz**2
    noise = math.sqrt(6.0) * max(seen.noise.ends_m[:2]) * per_s2 / math.sqrt(max(1, count))
    if not count or noise > NOISE_SHARE * GRAVITY_M_S2:
        return None
    falls = -float(np.median(bend[air])) * per_s2
    times = math.sqrt(max(falls, 0.0) / GRAVITY_M_S2)
    if times < 0.1 or 1.0 / IN_AIR < times < IN_AIR:
        return times, ""
    return (
        times,
        f"in the air its body falls with {falls:.1f} m/s2, and anything does with {GRAVITY_M_S2:.1f}",
    )


def _by_swing(seen: Seen) -> tuple[float, str]:
    """How many times too fast its feet swing, against its animal's at a walk, or any of its size; and why."""
    gait = seen.gait
    assert gait is not None  # noqa: S101
    air = 1.0 - float(np.mean(gait.summary.duty_factor))
    swing_s = air * gait.period * seen.motion.file.frame_time_s
    name, own = seen.motion.map.template, None
    if gait.walks and seen.limits.animal != "any" and name in animal_names():
        own = scaled(load_animal(name)).walk
    size = math.sqrt(seen.motion.hip_height_m)
    if own is not None:
        usual_s = (
            (1.0 - own.duty_factor) / own.frequency_hz * size / math.sqrt(load_animal(name).hip_height_m)
        )
        most, whose = OF_ITS_OWN, f"at an easy walk those of its kind ({name.replace('_', ' ')})"
    else:
        usual_s = USUAL_SWING * size / math.sqrt(GRAVITY_M_S2)
        most, whose = OF_ITS_SIZE, "those of an animal of this size"
    times = usual_s / max(swing_s, 1e-9)
    if 1.0 / most < times < most:
        return times, ""
    return times, f"its feet swing for {swing_s:.2f} s, {whose} for about {usual_s:.2f} s"
