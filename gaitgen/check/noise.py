"""How noisy a clip is: the part of its channels that no motion explains."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.loop import Loop

Array = npt.NDArray[np.float64]

SPREAD = 1.4826  # median absolute deviation of a normal distribution to its standard deviation
# Noise has the same deviation in differences of every order; what moves has less, the higher the order.
ORDERS = (4, 6, 8)
QUIET = 0.4  # of the channels: their noise is taken, so that motion does not pass for noise
# Differences of noise change sign in 80 to 87 of 100 steps, those of a curve seldom: the share, over the
# quiet channels, from which it is noise.
CHANGES = 0.72
# A quick stride's differences change sign as often, but are as alike as this after a stride (estimate).
ALIKE = 0.6
# In a quarter of the frames of any gait a foot stands; noise of a deviation in three directions leaves it 2.7
# off there, and never so little.
REST_ROWS, AT_REST = 0.25, 0.2
FEW_ROWS, MOST_AT_SEAM_DEG = 24, 0.3
LEAST_ANGLE_DEG, LEAST_SHARE = 0.05, 3.2e-4  # the second of the hip height


@dataclass(frozen=True, eq=False)
class Noise:
    """Standard deviations of what is not motion.

    Attributes
    ----------
    angle_deg
        Of each rotation channel. [degrees]
    root_m
        Of each position channel of the root. [m]
    toe_m
        (4, 3) of the toes, from the angles above and their arms. [m]
    ends_m
        Of the height of hips, chest and head. [m]
    """

    angle_deg: float
    root_m: float
    toe_m: Array
    ends_m: tuple[float, float, float]


def find_noise(motion: Tracked, loop: Loop) -> Noise:
    """Estimate the noise from high differences: the quieter of the moving channels tell.

    Of a loop whose last frame repeats the first it is told from how far these two are apart, where
    differences do not tell; of one of few frames by that alone, for there quick legs look as noise does.
    Where feet stand exactly still there is none, however quick the rest is.
    """
    rows = motion.file.rows
    turning = np.array([w.endswith("rotation") for words in motion.file.channels for w in words])
    metres = motion.hip_height_m / _hip_units(motion)
    repeats = loop.closes and loop.repeats_first
    angle = 0.0 if repeats and len(rows) < FEW_ROWS else _deviation(rows[:, turning])
    is_of_seam = angle == 0.0 and repeats
    if is_of_seam:
        angle = _at_the_seam(rows[:, turning])
    angle = angle if angle > LEAST_ANGLE_DEG else 0.0
    is_of_seam = is_of_seam and angle > 0.0
    root = metres * _deviation(rows[:, ~turning][:, :3], is_noisy=angle > 0.0)
    root = root if root > LEAST_SHARE * motion.hip_height_m else 0.0
    toe = np.array(
        [
            _carried(motion, motion.toes_m[:, k], _line(motion, motion.limb_joints(limb)[-1]), angle)
            for k, limb in enumerate(LIMBS)
        ]
    )
    toe = np.hypot(toe, root)
    if (
        toe.any()
        and not is_of_seam
        and _rest_m(motion.toes_m) < AT_REST * float(np.linalg.norm(toe, axis=1).min())
    ):
        angle, root, toe = 0.0, 0.0, np.zeros_like(toe)
    ends = []
    for joints in (_tops(motion, "H"), _tops(motion, "F"), _head(motion)):
        middle = motion.places_m[:, joints].mean(axis=1)
        line = _line(motion, int(motion.file.parents[joints[0]]))
        ends.append(float(np.hypot(_carried(motion, middle, line, angle)[2], root)))
    return Noise(angle, root, toe, (ends[0], ends[1], ends[2]))


def _rest_m(toes_m: Array) -> float:
    """How far the foot that is most at rest leaves its even way from frame to frame, in the quieter frames.

    Toes (frames, 4, 3) that a noisy body carries all do so by some deviations of it; those of a clean clip
    stand, or go with the belt, and keep exactly to that. [m]
    """
    off = np.linalg.norm(np.diff(toes_m, n=2, axis=0), axis=2)
    return float(np.quantile(off.min(axis=1), REST_ROWS)) if off.size else np.inf


def _deviation(channels: Array, *, is_noisy: bool = False) -> float:
    """Return the deviation of the noise in the quieter of the channels (frames, channels) that move.

    Three channels are too few to tell noise from motion: whether they are noisy is taken from the others.
    """
    moving = np.ptp(channels, axis=0) > 1e-4 if channels.size else np.zeros(0, dtype=bool)
    if channels.shape[0] < max(ORDERS) + 2 or not moving.any():
        return 0.0
    found, changing = [], []
    for order in ORDERS:
        difference = np.diff(channels[:, moving], n=order, axis=0)
        whole = math.sqrt(math.comb(2 * order, order))  # of white noise of deviation 1
        middle = np.median(np.abs(difference), axis=0)
        edge = float(np.quantile(middle, QUIET))
        found.append(edge * SPREAD / whole)
        changes = (difference[1:] * difference[:-1] < 0.0).mean(axis=0)
        changing.append(float(np.median(changes[middle <= edge])))
    is_noise = np.mean(changing) > CHANGES and _likeness(difference[:, middle <= edge]) < ALIKE
    return min(found) if is_noisy or is_noise else 0.0


def _likeness(differences: Array) -> float:
    """How far differences (rows, channels) of the highest order come again after some while, -1 to 1.

    Those of noise never do, but next to each other; those of a quick stride of a few frames do. By Fourier
    transforms, so that long clips take no longer than their rows.
    """
    rows, nearest = len(differences), max(ORDERS) + 1
    moving = differences[:, np.abs(differences).max(axis=0) > 0.0]
    if nearest >= rows // 2 or moving.shape[1] == 0:
        return 0.0
    power = np.abs(np.fft.rfft(moving, 2 * rows, axis=0)) ** 2
    lags = np.arange(nearest, rows // 2)
    shared = np.fft.irfft(power, axis=0)[[0, *lags]]  # of rows that are so far apart, summed
    each = shared[1:] / shared[0] * (rows / (rows - lags))[:, None]
    return float(np.median(each.max(axis=0)))


def _at_the_seam(channels: Array) -> float:
    """Return the noise that keeps the last row from being the first; 0 where more than noise does."""
    moving = np.ptp(channels, axis=0) > 1e-4
    if not moving.any():
        return 0.0
    apart = np.abs(channels[-1] - channels[0])[moving]
    found = SPREAD * float(np.median(apart)) / math.sqrt(2.0)
    return found if found < MOST_AT_SEAM_DEG else 0.0


def _hip_units(motion: Tracked) -> float:
    from gaitgen.formats.units import unit_m

    return motion.hip_height_m / unit_m(motion.map.unit)


def _line(motion: Tracked, joint: int) -> list[int]:
    line = []
    while joint >= 0:
        line.append(joint)
        joint = int(motion.file.parents[joint])
    return line


def _tops(motion: Tracked, letter: str) -> list[int]:
    return [motion.top(limb) for limb in LIMBS if limb[1] == letter]


def _head(motion: Tracked) -> list[int]:
    return [motion.joint(motion.map.head or motion.map.chest)]


def _carried(motion: Tracked, point_m: Array, line: list[int], angle_deg: float) -> Array:
    """Noise (3,) of a point (frames, 3) that a line of noisy joints carries. [m]"""
    arms = ((point_m[:, None] - motion.places_m[:, line]) ** 2).mean(axis=0).sum(axis=0)  # (3,) squares
    return np.asarray(np.radians(angle_deg) * np.sqrt(arms.sum() - arms))
