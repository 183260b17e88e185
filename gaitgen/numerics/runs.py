"""Runs of true rows."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last row of each run of true rows."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]
