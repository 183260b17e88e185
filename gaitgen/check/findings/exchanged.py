"""Left and right legs of a pair that have each other's curves in a part of a clip."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.finding_words import span_words
from gaitgen.check.findings.curves_of_pairs import Pair, Part, exchanged_part
from gaitgen.check.findings.mates import local_turns
from gaitgen.check.findings.mirrored import mirrored
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.seen import Seen
from gaitgen.check.trial import MIRROR
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

PAIRS = {"forelegs": LIMBS[:2], "hind legs": LIMBS[2:]}
SIGNS = np.outer(np.diag(MIRROR), np.diag(MIRROR))  # what a rotation's cells are multiplied by in a mirror
LEAST_DEG = 3.0  # by which curves break off at either end of such a part, as those of a joint that pops
OVER_NOISE = 6.0  # deviations of the angles' noise, which bends curves as well
SQUARED = 2.0  # cells of a rotation by a small angle are off those of none by the root of so much times it
# So much bend as the best joints of a leg lose at both ends, the whole leg loses: then it is that. A joint
# that hardly turns adds little.
WHOLE_LEG = 0.95
# Below a joint legs are exchanged if their curves become so many times as smooth as those of whole legs would
# have to: those of few joints pass each other more nearly (6.0 for 3.5 in gallops of 8 to 10 frames, 2.5
# in longer ones of the animals here), and those of the last joint alone so nearly that it is not looked at.
OF_FEW_JOINTS, LEAST_JOINTS = 2.0, 2
# In one frame alone legs are not exchanged if the back breaks off as well, by so many times what it does
# elsewhere: then the whole pose is not where it belongs.
BREAKS_OFF = 1.5


@dataclass(frozen=True)
class _Exchange:
    """Where a pair of legs is exchanged, from which joint on downwards, and words for how."""

    part: Part
    top: int
    how: str


def pair_of(seen: Seen, pair: tuple[str, ...], top: int = 0, *, is_mirrored: bool) -> Pair | None:
    """Return the turns of a pair of legs from a joint on down; None if the two are unlike."""
    one, other = (seen.motion.limb_joints(limb)[top:] for limb in pair)
    if len(one) != len(other) or not len(one):
        return None
    rows = seen.loop.frames if seen.loop.closes else seen.motion.frames
    a, b = (_turns(seen, limb)[:rows, top:] for limb in pair)
    own = np.concatenate([a, b], axis=1).reshape(rows, -1)
    swapped = np.concatenate([b, a], axis=1)
    swapped = (swapped * SIGNS if is_mirrored else swapped).reshape(rows, -1)
    return Pair(own, swapped, seen.loop.closes)


@lru_cache(maxsize=len(LIMBS))  # asked for from each joint of a leg on
def _turns(seen: Seen, limb: str) -> Array:
    """Return the turns of the joints of a leg in their parents, (frames, joints, 3, 3)."""
    return local_turns(seen, seen.motion.limb_joints(limb))


def exchanged(seen: Seen) -> list[Finding]:
    """Find parts of a clip in which left and right legs of a pair have each other's curves.

    Both curves break off where such a part begins and where it ends, and each goes on there in the other leg.
    Where back, neck and tail go over to their mirror image with them, it is the whole body that is mirrored.
    """
    parts: dict[tuple[int, int], list[tuple[str, str]]] = {}
    for word, limbs in PAIRS.items():
        found = _of_pair(seen, limbs)
        if found is not None:
            below = seen.motion.map.limbs[limbs[0]].joints[found.top]
            which = f" from {below} down" if found.top else ""
            rows = (found.part.first, found.part.last)
            parts.setdefault(rows, []).append((word, which + found.how))
    if any(len(legs) == len(PAIRS) and _is_of_a_mirror(seen, rows) for rows, legs in parts.items()):
        return []
    return [finding for rows, legs in parts.items() for finding in _told(seen, rows, legs)]


def _of_pair(seen: Seen, limbs: tuple[str, ...]) -> _Exchange | None:
    """Return where a pair is exchanged: the whole legs, or what is below a joint."""
    least_rad = np.radians(LEAST_DEG + OVER_NOISE * seen.noise.angle_deg)
    best: _Exchange | None = None
    for is_mirrored, how in ((True, ""), (False, ", as they are (no sign changes)")):
        for top in range(len(seen.motion.limb_joints(limbs[0])) - LEAST_JOINTS + 1):
            pair, times = pair_of(seen, limbs, top, is_mirrored=is_mirrored), OF_FEW_JOINTS if top else 1.0
            part = None if pair is None else exchanged_part(pair, SQUARED * least_rad**2, times)
            if part is None or (part.first == part.last and _back_breaks_off(seen, part.first)):
                continue
            if best is None or part.gain > best.part.gain:
                best = _Exchange(part, _top(seen, limbs, part, is_mirrored=is_mirrored), how)
    return best


def _top(seen: Seen, limbs: tuple[str, ...], part: Part, *, is_mirrored: bool) -> int:
    """Return the joint from which on downwards a part loses most bend; 0 if whole legs lose as much."""
    gains = [
        pair.gain(part.first, part.last)
        for top in range(len(seen.motion.limb_joints(limbs[0])))
        if (pair := pair_of(seen, limbs, top, is_mirrored=is_mirrored)) is not None
    ]
    return 0 if gains[0] > WHOLE_LEG * max(gains) else int(np.argmax(gains))


def _middle(seen: Seen) -> tuple[Array, Array]:
    """Return turns (rows, numbers) of what has no mate, but for the root, and the same in a mirror."""
    mates = mates_of_joints(seen)
    middle = np.flatnonzero(mates == np.arange(len(mates)))[1:].tolist()
    turns = local_turns(seen, middle)[: seen.loop.frames if seen.loop.closes else None]
    own, other = (each.reshape(len(turns), -1) for each in (turns, MIRROR @ turns @ MIRROR))
    return own, other


def _is_of_a_mirror(seen: Seen, rows: tuple[int, int]) -> bool:
    """Whether what has no mate is smoother at both ends of a part if it is mirrored there, as legs are."""
    trunk = Pair(*_middle(seen), seen.loop.closes)
    now, then = (float(trunk.bend(*rows, is_exchanged=each).sum()) for each in (False, True))
    return then < now and bool(mirrored(seen))


def _back_breaks_off(seen: Seen, row: int) -> bool:
    """Whether what has no mate leaves its curve at a row by more than anywhere else."""
    own, _ = _middle(seen)
    if len(own) < 3 or not own.size:
        return False
    bends = ((np.roll(own, 1, axis=0) - 2.0 * own + np.roll(own, -1, axis=0)) ** 2).sum(axis=1)
    if not seen.loop.closes:
        bends[[0, -1]] = 0.0
    away = np.abs(np.arange(len(bends)) - row)
    if seen.loop.closes:
        away = np.minimum(away, len(bends) - away)
    rest = bends[away > 1]
    return bool(rest.size) and float(bends[row]) > BREAKS_OFF**2 * float(rest.max())


def _told(seen: Seen, rows: tuple[int, int], legs: list[tuple[str, str]]) -> list[Finding]:
    """Say it once of all legs that are exchanged in the same rows: words for them, and how."""
    words = [word for word, _ in legs]
    first, last = (seen.frame(row) for row in rows)
    return seen.finding(
        "legs swapped",
        "all legs" if len(words) == len(PAIRS) else words[0],
        rows,
        float(rows[1] - rows[0] + 1),
        f"in {span_words(first, last)} put the curves of the left and right {' and '.join(words)} in each "
        f"other's place{legs[0][1]}: there each leg has the other's, and before and after its own",
        limit_name="legs_exchanged",
    )
