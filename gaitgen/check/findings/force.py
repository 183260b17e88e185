"""Rise and fall that the feet would have to pull for, or push beyond belief."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.check.waves import wave
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2

Array = npt.NDArray[np.float64]

# Head and neck about a tenth of the mass, the rest 43 to 57 between hips and chest (Dutto et al. 2004).
SHARES = {"hips": 0.385, "chest": 0.515, "head": 0.1}
# The legs below shoulder and hip are about a fifth of a body (estimate), with their weight about the three
# joints under the top one; in the air of a run they rise and fall against the trunk.
LEGS, BELOW_TOP = 0.2, 3
# In strides of fewer frames than ten, what comes five times in one is seen as what comes three times, which
# takes the force of a computed run by up to so much below what it is (estimate). [body weights]
FEW_FRAMES, UNSEEN = 10, 0.3
ROOM = 1.3  # times what the pushes of all feet at once ask for; estimate
# Strides that follow on from others do not end as they begin, which the first harmonics of a stride tell as
# a blow there. Of these what is told holds for a parabola through so much of a stride as well (estimate).
SHARE_OF_STRIDE, LEAST_HALF = 1.0 / 6.0, 2  # and frames to either side of its middle, at least


def support(seen: Seen) -> list[Finding]:
    """Find vertical motion that no support force could produce: F = m (g + z'').

    An animal that pushes with all feet at once and flies for the rest of the stride has to push the harder
    the shorter they are down, for the mean over a stride is its weight (Newton): so much is let through.
    """
    gait = seen.gait
    if gait is None or not seen.waves:
        return []
    present = {name: share for name, share in SHARES.items() if name in seen.waves}
    total = sum(present.values())
    parts = [share / total * seen.waves[name].accelerating for name, share in present.items()]
    trunk = np.sum(parts, axis=0)
    own = _legs_m(seen, len(trunk))
    legs = wave(own, gait.period, seen.motion.file.frame_time_s).accelerating
    kinds = [(trunk, legs)]
    if not seen.loop.closes:
        heights = np.sum([share / total * seen.waves[name].values for name, share in present.items()], axis=0)
        kinds.append((_by_parabolas(seen, heights), _by_parabolas(seen, own)))
    # How heavy the legs are nobody knows: what is told holds whether they go with the trunk or by themselves.
    curves = [
        1.0 + (share * legs + (1.0 - share) * trunk) / GRAVITY_M_S2
        for trunk, legs in kinds
        for share in (0.0, LEGS)
    ]
    # Noise of the fourth harmonic, the one that counts most.
    rate = 2.0 * np.pi * 4.0 / (gait.period * seen.motion.file.frame_time_s)
    height = max(seen.noise.ends_m) * np.sqrt(2.0 * 2.0 / len(trunk))
    sigma = float(rate**2 * height / GRAVITY_M_S2)
    sigma += UNSEEN / STANDS_OUT if gait.period < FEW_FRAMES else 0.0
    least, most = _asked_for(seen)
    found: list[Finding] = []
    for below in (True, False):
        mildest = max(curves, key=np.min) if below else min(curves, key=np.max)
        curve = np.asarray(mildest)
        row = int(curve.argmin() if below else curve.argmax())
        if least <= curve[row] <= most:
            continue
        found += seen.finding(
            "impossible support force",
            "whole body",
            (row, row),
            float(curve[row]),
            "let the body rise and fall less, or over more frames",
            below=below,
            noise=sigma,
            limit_name="support_force",
        )
    return found


def _legs_m(seen: Seen, rows: int) -> Array:
    """Height of the weight of the four legs, (rows,). [m]"""
    motion, own = seen.motion, []
    for limb in LIMBS:
        joints = motion.limb_joints(limb)
        joints = joints[joints.index(motion.top(limb)) :]
        own.append(motion.places_m[:rows, joints[1 : 1 + BELOW_TOP] or joints, 2].mean(axis=1))
    return np.asarray(np.mean(own, axis=0))


def _by_parabolas(seen: Seen, heights_m: Array) -> Array:
    """Accelerations of heights (rows,) by parabolas through the frames around each, by least squares. [m/s2]

    Near the ends that of the first and of the last row that has as many frames to either side.
    """
    assert seen.gait is not None  # noqa: S101
    half = max(LEAST_HALF, round(SHARE_OF_STRIDE * seen.gait.period / 2.0))
    if len(heights_m) <= 2 * half:
        return np.zeros(len(heights_m))
    away = np.arange(-half, half + 1)
    bend = away**2 - (away**2).mean()
    inner = np.convolve(heights_m, 2.0 * bend / (bend**2).sum(), mode="valid")
    return np.asarray(np.pad(inner, half, mode="edge") / seen.motion.file.frame_time_s**2)


def _asked_for(seen: Seen) -> tuple[float, float]:
    """Least and most of the force of one push a stride, half a sine, seen as the curve is. [body weights]"""
    gait = seen.gait
    assert gait is not None  # noqa: S101
    down = 1.0 - gait.support.get("none", 0.0)
    if down >= 1.0:
        return 1.0, 1.0
    phase = np.arange(round(gait.period)) / gait.period
    push = np.where(phase < down, np.sin(np.pi * phase / down), 0.0)
    seen_so = wave(push / push.mean(), gait.period, seen.motion.file.frame_time_s).smooth
    return 1.0 + ROOM * float(seen_so.min() - 1.0), 1.0 + ROOM * float(seen_so.max() - 1.0)
