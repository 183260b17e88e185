"""Which feet carry together, and for what share of the stride."""

from __future__ import annotations

import numpy as np

from gaitgen.course.steps import Steps
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS


def support_shares(steps: Steps) -> dict[str, float]:
    """Return the share of the stride that each set of feet carries, such as ``{"LF+LH+RH": 0.23}``.

    Exact: the stride is cut at its contacts and lift-offs. Shares sum to 1; ``"none"`` is flight.

    Raises
    ------
    GaitError
        For a timeline without a period.
    """
    if steps.period_s is None:
        raise GaitError("support shares need a timeline with a period; use one cycle of it")
    period = steps.period_s
    cuts = np.unique(np.concatenate([steps.touchdown_s, steps.liftoff_s]) % period)
    edges = np.append(cuts, cuts[0] + period)
    middle = (edges[1:] + edges[:-1]) / 2.0
    since = (middle[:, None] - steps.touchdown_s) % period  # (pieces, stances)
    down = since < steps.liftoff_s - steps.touchdown_s
    shares: dict[str, float] = {}
    for row, length in zip(down, np.diff(edges), strict=True):
        feet = sorted({LIMBS[limb] for limb in steps.limb[row]}, key=LIMBS.index)
        key = "+".join(feet) or "none"
        shares[key] = shares.get(key, 0.0) + float(length) / period
    return shares


def support_summary(shares: dict[str, float]) -> dict[str, float]:
    """Sum support shares by kind, such as ``diagonal``, ``lateral`` or ``two hind + one fore``."""
    kinds: dict[str, float] = {}
    for key, share in shares.items():
        kind = _kind(() if key == "none" else tuple(key.split("+")))
        kinds[kind] = kinds.get(kind, 0.0) + share
    return kinds


def _kind(feet: tuple[str, ...]) -> str:
    hind = sum(foot.endswith("H") for foot in feet)
    left = sum(foot.startswith("L") for foot in feet)
    if len(feet) == 3:
        return "two hind + one fore" if hind == 2 else "two fore + one hind"
    if len(feet) == 2:
        if hind != 1:
            return "same end"
        return "diagonal" if left == 1 else "lateral"
    return {0: "no foot", 1: "one foot", 4: "four feet"}[len(feet)]
