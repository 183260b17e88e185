"""Joints of legs and ears that stop turning for good while their mates of the other side go on."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.held import with_mates
from gaitgen.check.findings.neighbours import SAME_DEG
from gaitgen.check.seen import Seen

# In a stride and a half a mate turns so many times as far as from one of its ends to the other: in the last
# step before it stands it goes there and back once.
GOES_ON, WIDE_DEG = 3.0, 3.0
LEAST = 8  # frames


def stopped(seen: Seen) -> list[Finding]:
    """Find joints of a clip without a period that stand still until its end, while their mates go on."""
    if seen.loop.closes:
        return []
    found: list[Finding] = []
    rows, last = seen.motion.file.rows, seen.motion.frames - 1
    for name, own, mate in with_mates(seen, set()):
        if not own or not mate:
            continue
        moves = np.flatnonzero((np.abs(np.diff(rows[:, own], axis=0)) > SAME_DEG).any(axis=1))
        if not moves.size or last - int(moves[-1]) - 1 < LEAST:
            continue
        first = int(moves[-1]) + 1
        wide = np.ptp(rows[:, mate], axis=0)
        gone = np.abs(np.diff(rows[first:, mate], axis=0)).sum(axis=0)
        if ((wide > WIDE_DEG) & (gone > GOES_ON * wide)).any():
            do = (
                f"let {name} go on moving through these frames: it stands still to the end, while its mate "
                "of the other side goes on"
            )
            found += seen.finding("stuck", name, (first, last), float(last - first), do)
    return found
