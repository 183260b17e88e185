"""Left and right legs of a pair that have each other's curves in a part of a clip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.finding_words import span_words
from gaitgen.check.findings.mates import MIRROR, local_turns
from gaitgen.check.findings.mirrored import mirrored
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

PAIRS = {"forelegs": LIMBS[:2], "hind legs": LIMBS[2:]}
# Times as smooth as they are the curves become, with both legs in each other's place, at both ends of such a
# part together, and at each: 10 and more in most, less at an end at which the legs pass each other. In clean
# clips of the animals here it is up to 2.4 and 2.2, in gallops of 8 frames a stride.
SMOOTHER, SMOOTHER_AT_EACH = 3.5, 2.0
LEAST_ROWS = 2  # of a part: one frame may be a pose of the other half of a stride, pasted there
MOST_ENDS = 6  # places tried as the end of a part, after each at which it may begin


@dataclass(frozen=True, eq=False)
class Pair:
    """Legs of a pair, as they are and in each other's place, each row one line of numbers.

    Attributes
    ----------
    own, other
        (rows, numbers) turns of the joints of both legs; the same exchanged.
    goes_round
        Whether the first row comes after the last.
    """

    own: Array
    other: Array
    goes_round: bool

    def bend(self, first: int, last: int, *, is_exchanged: bool) -> Array:
        """Return the squared bends (4,) of the curves where a part begins and ends: two rows at each place.

        Of the part as it is, or with both legs exchanged in it; 0 beyond the ends of a clip that is no loop.
        """
        rows = len(self.own)
        at = np.array([first - 1, first, last, last + 1])
        beside = at[:, None] + np.array([-1, 0, 1])
        inside = (beside >= first) & (beside <= last)
        known = np.ones(4, dtype=bool) if self.goes_round else ((beside >= 0) & (beside < rows)).all(axis=1)
        beside = beside % rows
        values = np.where((inside & is_exchanged)[..., None], self.other[beside], self.own[beside])
        bends = values[:, 0] - 2.0 * values[:, 1] + values[:, 2]
        return np.asarray(np.where(known, (bends**2).sum(axis=1), 0.0))


def pair_of(seen: Seen, pair: tuple[str, ...], *, is_mirrored: bool) -> Pair | None:
    """Return the turns of a pair of legs; None if the two are unlike."""
    one, other = (seen.motion.limb_joints(limb) for limb in pair)
    if len(one) != len(other):
        return None
    rows = seen.loop.frames if seen.loop.closes else seen.motion.frames
    by = MIRROR if is_mirrored else np.eye(3)
    a, b = (local_turns(seen, joints)[:rows] for joints in (one, other))
    own = np.concatenate([a, b], axis=1).reshape(rows, -1)
    swapped = np.concatenate([by @ b @ by, by @ a @ by], axis=1).reshape(rows, -1)
    return Pair(own, swapped, seen.loop.closes)


def exchanged(seen: Seen) -> list[Finding]:
    """Find parts of a clip in which left and right legs of a pair have each other's curves.

    Both curves break off where such a part begins and where it ends, and each goes on there in the other leg.
    Where back, neck and tail go over to their mirror image with them, it is the whole body that is mirrored.
    """
    parts: dict[tuple[int, int], list[tuple[str, str]]] = {}
    for word, limbs in PAIRS.items():
        tried = [
            (*part, how)
            for is_mirrored, how in ((True, ""), (False, ", as they are (no sign changes)"))
            if (pair := pair_of(seen, limbs, is_mirrored=is_mirrored)) is not None
            and (part := _part(pair)) is not None
        ]
        if tried:
            _, first, last, how = max(tried, key=lambda each: each[0])
            parts.setdefault((first, last), []).append((word, how))
    if any(len(legs) == len(PAIRS) and _is_of_a_mirror(seen, rows) for rows, legs in parts.items()):
        return []
    return [finding for rows, legs in parts.items() for finding in _told(seen, rows, legs)]


def _is_of_a_mirror(seen: Seen, rows: tuple[int, int]) -> bool:
    """Whether what has no mate is smoother at both ends of a part if it is mirrored there, as legs are."""
    mates = mates_of_joints(seen)
    middle = np.flatnonzero(mates == np.arange(len(mates)))[1:].tolist()  # without the root
    turns = local_turns(seen, middle)[: seen.loop.frames if seen.loop.closes else None]
    own, other = (each.reshape(len(turns), -1) for each in (turns, MIRROR @ turns @ MIRROR))
    trunk = Pair(own, other, seen.loop.closes)
    now, then = (float(trunk.bend(*rows, is_exchanged=each).sum()) for each in (False, True))
    return then < now and bool(mirrored(seen))


def _told(seen: Seen, rows: tuple[int, int], legs: list[tuple[str, str]]) -> list[Finding]:
    """Say it once of all legs that are exchanged in the same rows: words for them, and how."""
    words = [word for word, _ in legs]
    which = span_words(*(seen.frame(row) for row in rows))
    return seen.finding(
        "legs swapped",
        "all legs" if len(words) == len(PAIRS) else words[0],
        rows,
        float(rows[1] - rows[0] + 1),
        f"in {which} put the curves of the left and right {' and '.join(words)} in each other's place"
        f"{legs[0][1]}: there each leg has the other's, and before and after its own",
        limit_name="legs_exchanged",
    )


def _part(pair: Pair) -> tuple[float, int, int] | None:
    """Return how much bend a part loses when exchanged, its first and its last row; None without one.

    Of a part and the rest of the clip, which break off at the same places, the shorter.
    """
    rows = len(pair.own)
    before = np.roll(pair.own, 1, axis=0)
    goes_over = ((pair.other - before) ** 2).sum(axis=1) < ((pair.own - before) ** 2).sum(axis=1)
    if not pair.goes_round:
        goes_over[0] = False
    begins = np.flatnonzero(goes_over)
    ends = np.concatenate([begins, begins + rows if pair.goes_round else [rows]]) - 1
    if not pair.goes_round:
        begins = np.concatenate([[0], begins])
    found: tuple[float, int, int] | None = None
    for first in begins.tolist():
        for last in ends[ends >= first + LEAST_ROWS - 1][:MOST_ENDS].tolist():
            if last - first + 1 > rows // 2:
                break
            gain = _gain(pair, first, last)
            if gain > (found[0] if found else 0.0):
                found = (gain, first, last)
    return found


def _gain(pair: Pair, first: int, last: int) -> float:
    """How much bend curves lose at both ends of a part that is exchanged; 0 if it is not that by far."""
    now, then = (
        pair.bend(first, last, is_exchanged=each).reshape(2, 2).sum(axis=1) for each in (False, True)
    )
    inner = now > 0.0  # not where the clip begins or ends
    at_each = bool((now[inner] > SMOOTHER_AT_EACH * then[inner]).all())
    is_part = at_each and now[inner].sum() > SMOOTHER * then[inner].sum()
    return float((now - then).sum()) if is_part else 0.0
