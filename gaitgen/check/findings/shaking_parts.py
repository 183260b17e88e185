"""Joints of back, neck, head and tail that shake in a part of a clip and are smooth in the rest of it.

Of loops, whose strides are alike: where a walk becomes a quick trot, its nods alone stand out as much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.back_jitter import back
from gaitgen.check.findings.jitter import ALONE_OF_BODY, OVER_REST, channels, jitter
from gaitgen.check.noise import SPREAD
from gaitgen.check.seen import Seen

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Noise has the same size in differences of every order; the fourth, of ten frames in turn, is too much for a
# pop, which is in five of them, and too quick for a nod. Noise changes its sign in 3 of 4 steps.
ORDER, WINDOW, CHANGES = 4, 10, 0.6
# Frames of a clip, and of a stride, from which a part is told from the rest; in fewer, quick turns are alike.
LEAST_ROWS, LEAST_STRIDE = 40, 16
# So many times what it is elsewhere, and what noise is in the clip: of few windows some are still by chance.
# In clean clips of three strides of all animals here up to 2. It goes as far as it shakes by half of that.
STANDS_OUT, HALF = 6.0, 0.5
LEAST_OF_BACK = 2  # joints of the back that shake: then it is the back
SMOOTH_HERE = (
    "smooth the curves between these frames, or key them anew: they go to and fro from frame to frame"
)


@dataclass(frozen=True)
class Part:
    """Rows in which a joint shakes, and by how much. [degrees]"""

    joint: int
    first: int
    last: int
    degrees: float


def shaking_parts(seen: Seen) -> list[Finding]:
    """Find joints of the body that shake for a while, unless something is found to shake all along."""
    parts = parts_that_shake(seen)
    if not parts or back(seen) or jitter(seen):
        return []
    names = seen.motion.file.joint_names
    of_back = [part for part in parts if names[part.joint] in seen.motion.map.spine]
    if len(of_back) < LEAST_OF_BACK:
        of_back = []
    found: list[Finding] = []
    for part in parts:
        if part not in of_back:
            found += seen.finding(
                "jitter", names[part.joint], (part.first, part.last), part.degrees, SMOOTH_HERE
            )
    if of_back:
        rows = (min(part.first for part in of_back), max(part.last for part in of_back))
        degrees = float(np.median([part.degrees for part in of_back]))
        found += seen.finding("jitter", "spine", rows, degrees, SMOOTH_HERE)
    return found


def parts_that_shake(seen: Seen, times: float = STANDS_OUT) -> list[Part]:
    """Return the part in which each joint of the body shakes by so many times what it does elsewhere."""
    rows = seen.loop.frames
    if not seen.loop.closes or rows < LEAST_ROWS or seen.period < LEAST_STRIDE:
        return []
    values, joints = channels(seen)
    size, is_noise = _sizes(values[:rows])
    least = max(ALONE_OF_BODY * seen.limits["jitter"].top, OVER_REST * seen.noise.angle_deg)
    found: dict[int, Part] = {}
    for channel in np.flatnonzero(np.isin(joints, _body(seen)) & (size.max(axis=0) > least)).tolist():
        own, at = size[:, channel], int(size[:, channel].argmax())
        away = np.abs(np.arange(len(own)) - at) > WINDOW + ORDER
        usual = max(float(np.median(own[away])), seen.noise.angle_deg) if away.any() else math.inf
        if not is_noise[at, channel] or float(own[at]) < times * usual:
            continue
        loud = own > HALF * own[at]
        first, last = at - int(np.argmin(loud[at::-1])) + 1, at + int(np.argmin(loud[at:])) - 1
        first, last = (0 if loud[: at + 1].all() else first), (len(own) - 1 if loud[at:].all() else last)
        middle, joint = (WINDOW + ORDER) // 2, int(joints[channel])
        part = Part(joint, first + middle, last + middle, float(own[at]))
        if joint not in found or part.degrees > found[joint].degrees:
            found[joint] = part
    return list(found.values())


def _body(seen: Seen) -> list[int]:
    """Joints of back, neck, head and tail, but for the root."""
    names = [*seen.motion.map.spine, *seen.motion.map.neck, *seen.motion.map.tail]
    names += [seen.motion.map.head] if seen.motion.map.head else []
    return sorted({seen.motion.joint(name) for name in names} - {0})


def _sizes(values: Array) -> tuple[Array, Bools]:
    """Return the deviation of noise in each window of curves (rows, curves), and whether it alternates."""
    high = np.diff(values, n=ORDER, axis=0) / math.sqrt(math.comb(2 * ORDER, ORDER))
    turns = np.concatenate([high[1:] * high[:-1] < 0.0, np.zeros((1, high.shape[1]), dtype=bool)])
    windows, changes = (
        np.lib.stride_tricks.sliding_window_view(each, WINDOW, axis=0) for each in (np.abs(high), turns)
    )
    return SPREAD * np.median(windows, axis=-1), changes[..., :-1].mean(axis=-1) > CHANGES
