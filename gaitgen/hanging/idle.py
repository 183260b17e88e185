"""What an animal that stands does with head, ears and tail."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.hanging_part import HangingPart
from gaitgen.numerics.curves import bump, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# A tail is swung at three times the frequency at which it hangs freely: Matherne et al. 2018, J Exp Biol
# 221:jeb178905, abstract. What comes in a pair is turned once and back in that time, one after the other.
QUICKER = 3.0
SWINGS = 2.5
# Each joint of a row follows the one above by this share of a swing (estimate).
LATER_SWINGS = 0.06
# When each part begins, as shares of the loop: far from each other whatever their number (estimate).
FIRST, APART = 0.12, 0.618
LONGEST_SHARE = 0.45  # of the loop
TURN_SHARE = 0.4  # of a turn out and back, or of some swings: to come in, and again to go out (estimate)
LEAST_S, LEAST_SWING_S = 0.8, 0.45  # for a turn out and back; for one swing of a short tail


def idle_turns_rad(animal: Animal, grid: Grid) -> dict[int, Array]:
    """Return how joints turn besides, (samples, 3) pitch, roll and yaw each. [rad]

    Parameters
    ----------
    animal
        Its parts say how far each is swung.
    grid
        Moments of one loop.
    """
    turns: dict[int, Array] = {}
    parts = [part for part in animal.hanging if part.idle_rad > 0.0]
    for row, part in enumerate(parts):
        start = (FIRST + APART * row) % 1.0 * (1.0 - LONGEST_SHARE) * grid.span_s  # and ends in the loop
        swing_s = max(1.0 / (QUICKER * part.frequency_hz), LEAST_SWING_S)
        turns |= _turned(part, grid, start, swing_s)
    return turns


def _turned(part: HangingPart, grid: Grid, start_s: float, swing_s: float) -> dict[int, Array]:
    """Turn the joints of one part aside, each its share and a little later than the one above."""
    side = -1.0 if part.name.endswith("_R") else 1.0
    above = np.zeros(grid.count)
    turns = {}
    for k, (joint, gain) in enumerate(zip(part.joints, part.gains, strict=True)):
        since = (grid.time_s - start_s - k * LATER_SWINGS * swing_s) % grid.span_s
        wave = _wave(part, since, swing_s, grid.span_s)
        here = side * part.idle_rad * gain / max(part.gains) * wave
        turns[joint] = np.stack([np.zeros(grid.count), np.zeros(grid.count), here - above], axis=1)
        above = here
    return turns


def _wave(part: HangingPart, since_s: Array, swing_s: float, span_s: float) -> Array:
    """Return how a part is moved: what nods looks round slowly, pairs turn out and back, the rest swings."""
    if part.kind == "nod":
        return np.asarray(np.sin(2.0 * np.pi * since_s / span_s))
    return (_once if part.name.endswith(("_L", "_R")) else _swings)(since_s, swing_s, span_s)


def _once(since_s: Array, swing_s: float, span_s: float) -> Array:
    """Turn out, stay a moment, and back: 0 to 1 to 0."""
    long_s = min(max(2.0 * swing_s, LEAST_S), LONGEST_SHARE * span_s)
    share = since_s / long_s
    return np.asarray(ramp(share / TURN_SHARE) - ramp((share - (1.0 - TURN_SHARE)) / TURN_SHARE))


def _swings(since_s: Array, swing_s: float, span_s: float) -> Array:
    """Swing to and fro a few times, growing and dying away: -1 to 1."""
    long_s = min(SWINGS * swing_s, LONGEST_SHARE * span_s)
    share = np.clip(since_s / long_s, 0.0, 1.0)
    return np.asarray(bump(share, TURN_SHARE) * np.sin(2.0 * np.pi * since_s / swing_s))
