"""Both legs of one end out of time with the body and the other end: at another moment all feet stand."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.misread import BETTER, MOST_FRAMES, RESTLESS, STILLER
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import Tracked
from gaitgen.check.trial import unrest
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import unrest as feet_unrest

Array = npt.NDArray[np.float64]

# Of a loop: so late an end may be; one that is half a stride late has its legs in each other's place.
MOST_LATE, LEAST_ROWS = 0.45, 8
TRIED = 4  # moments an end, those at which its feet keep best to one height


def late_end(seen: Seen) -> list[Finding]:
    """Find the end of a loop whose legs are both as many frames early or late."""
    motion, n = seen.motion, seen.loop.frames
    if not seen.loop.closes or not LEAST_ROWS <= n <= MOST_FRAMES:
        return []
    if (feet_unrest(seen.feet, motion.hip_height_m) > RESTLESS).sum() < len(LIMBS) // 2:
        return []
    now = float(unrest(motion, motion.toes_m).sum())
    ends = (("hind legs", (2, 3)), ("forelegs", (0, 1)))
    (left, rows, word), (second, *_) = sorted((*_best(motion, pair, n), word) for word, pair in ends)
    if left > min(STILLER * now, len(LIMBS) * RESTLESS) or left > BETTER * second:
        return []
    return seen.finding(
        "end out of time",
        word,
        (0, motion.frames - 1),
        float(abs(rows)),
        f"move all curves of both {word} {abs(rows)} frame{'s' if abs(rows) > 1 else ''} "
        f"{'later' if rows > 0 else 'earlier'}: then all feet stand",
    )


def _best(motion: Tracked, pair: tuple[int, int], frames: int) -> tuple[float, int]:
    """Return how restless the feet are at the best moment of a pair, and how many rows later it is."""
    most = int(MOST_LATE * frames)
    later = np.array([by for by in range(-most, most + 1) if by])
    toes = _toes_later(motion, pair, later, frames)  # (moments, frames, 2, 3)
    low = np.sort(toes[:, :frames, :, 2], axis=1)[:, : frames // 2]
    uneven = (low - low[:, :1]).mean(axis=(1, 2))
    tried: list[tuple[float, int]] = []
    for k in np.argsort(uneven, kind="stable")[:TRIED].tolist():
        moved = motion.toes_m.copy()
        moved[:, pair] = toes[k]
        tried.append((float(unrest(motion, moved).sum()), int(later[k])))
    return min(tried)


def _toes_later(motion: Tracked, pair: tuple[int, int], later: npt.NDArray[np.int64], frames: int) -> Array:
    """Return toes (moments, frames, 2, 3) of a pair whose legs are so many rows later."""
    out = []
    for foot in pair:
        carrier = int(motion.file.parents[motion.limb_joints(LIMBS[foot])[0]])
        place, turn = motion.places_m[:, carrier], motion.changes[:, carrier]
        own = (np.swapaxes(turn, -1, -2) @ (motion.toes_m[:, foot] - place)[..., None])[..., 0]
        rows = (np.arange(motion.frames) - later[:, None]) % frames  # (moments, frames)
        out.append((turn @ own[rows][..., None])[..., 0] + place)
    return np.stack(out, axis=2)
