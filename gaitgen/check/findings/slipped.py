"""Numbers whose decimal point has slipped in one frame: ten or more times too large, or too small."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.expected import misses
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.units import unit_m

Array = npt.NDArray[np.float64]

TIMES = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)
# Of the number put right: so near the curve of its neighbours it is what was meant. Where it is off by more
# than a joint ever turns in a frame, hardly anything else can have happened to it, but for full turns.
NEAR, NEAR_OF_FAR = 0.04, 0.4
TURN_DEG, NEAR_A_TURN_DEG = 360.0, 15.0
FAR_ROOT = 0.1  # hip heights
LEAST = 1.0  # degrees, or units of the root: what is smaller is near any number by chance
# With that one number on its curve, a channel is nowhere off its curve by so much of what it was.
LEFT = 0.4
# As far as it is off elsewhere it may be off with its point put back, where with that a number that is off by
# anything would be so near by chance in so few of all cases (share of what it is off by).
BY_CHANCE = 0.15
EXACT, LEAST_MISS = 0.05, 0.01  # of that so little, and no farther: nothing else does it. [degrees or units]
NEARER = 2.0  # times nearer to full turns than to a number whose point has slipped: it is those
FEWEST = 5  # frames
MOST_OFF = (
    3  # channels in one frame: of a pose that is out of place nearly all are off their curves (estimate)
)
NOISE_GAIN = 1.39  # of one channel's noise in five frames


@dataclass(frozen=True)
class Slip:
    """A number that is on the curve of the frames beside it with its decimal point put back.

    Attributes
    ----------
    row, joint
        Where it is.
    words
        What to do.
    times
        How many times as large or as small it is.
    is_sure
        Whether hardly anything else can be wrong with it.
    """

    row: int
    joint: int
    words: str
    times: float
    is_sure: bool


def slipped_points(seen: Seen) -> list[Finding]:
    """Find numbers of which hardly anything but the decimal point can be wrong."""
    found: list[Finding] = []
    for slip in slips(seen):
        name, at = seen.motion.file.joint_names[slip.joint], (slip.row, slip.row)
        if slip.is_sure:
            found += seen.finding("slipped decimal point", name, at, slip.times, f"put {slip.words}")
    return found


@lru_cache(maxsize=1)  # asked for by several findings of one clip
def slips(seen: Seen) -> tuple[Slip, ...]:
    """Return the numbers that are on the curve of the frames beside them with their point put back."""
    file = seen.motion.file
    if len(file.rows) < FEWEST:
        return ()
    whose = np.repeat(np.arange(len(file.channels)), [len(words) for words in file.channels])
    names = [word for words in file.channels for word in words]
    metres, least = unit_m(seen.motion.map.unit), _least(seen)
    found: list[Slip] = []
    many = np.zeros(len(file.rows), dtype=np.int64)
    for column in np.flatnonzero(np.isfinite(least)).tolist():  # one by one, which keeps memory small
        is_turn = names[column].endswith("rotation")
        told = misses(seen, column, is_turn=is_turn)
        row, much, rest, by_another = min(told, key=lambda each: each[2] / max(abs(each[1]), 1e-9))
        if abs(much) <= least[column] or rest >= LEFT * abs(much):
            continue
        many[row] += 1
        here = float(file.rows[row, column])
        should = here - much
        times = min(TIMES, key=lambda each: abs(here / each - should) / max(abs(here / each), 1e-9))
        miss = abs(here / times - should)
        is_far = is_turn and _is_far(seen, much, miss)
        near = (NEAR_OF_FAR if is_far else NEAR) * abs(here / times)
        if rest * times <= BY_CHANCE * abs(much):
            near = max(near, rest)
        if miss > near or not (is_far or abs(should) > LEAST):
            continue
        words = f"the decimal point of {names[column]} back: {here:g} there, about {should:.3g} beside it"
        is_way = not is_turn and abs(much) * metres > FAR_ROOT * seen.motion.hip_height_m
        is_exact = by_another and miss <= max(rest, LEAST_MISS) and rest * times <= EXACT * abs(much)
        is_sure = is_far or is_way or is_exact
        found.append(Slip(row, int(whose[column]), words, max(times, 1.0 / times), is_sure))
    return tuple(slip for slip in found if many[slip.row] <= MOST_OFF)


def or_its_point(seen: Seen, row: int, joint: int) -> str:
    """Say which number of a joint may have its decimal point in a wrong place; empty where none may."""
    words = (slip.words for slip in slips(seen) if (slip.row, slip.joint) == (row, joint))
    return next((f"; or put {each}" for each in words), "")


def _least(seen: Seen) -> Array:
    """Return by how much each channel has to be off its curve, (channels,)."""
    least = np.full(seen.motion.file.rows.shape[1], np.inf)
    turns = [k for own in channel_columns(seen.motion.file, "rotation") for k in own]
    noise_deg = STANDS_OUT * NOISE_GAIN * seen.noise.angle_deg
    least[turns] = seen.limits["pop"].top + noise_deg
    places = channel_columns(seen.motion.file, "position")[0]
    metres = seen.limits["root_pop"].top / 1000.0 + STANDS_OUT * NOISE_GAIN * seen.noise.root_m
    least[places] = metres / unit_m(seen.motion.map.unit)
    return least


def _is_far(seen: Seen, much: float, miss: float) -> bool:
    """Whether an angle is off by more than a joint turns in a frame, and not rather by full turns."""
    from_a_turn = abs((much + TURN_DEG / 2.0) % TURN_DEG - TURN_DEG / 2.0)
    is_turned = from_a_turn < min(NEAR_A_TURN_DEG, NEARER * miss) or from_a_turn < LEAST
    return abs(much) > seen.limits["rotation_jump"].top and not is_turned
