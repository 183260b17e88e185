"""How far something can be taken: a search on even steps that halves, and guesses where it will end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Tried = TypeVar("Tried")

# Over so few steps most things go nearly evenly; over more of them a guess is no better than the middle.
EVEN_STEPS = 16


def farthest(
    none: Tried, whole: Tried, steps: int, at: Callable[[int], Tried], excess: Callable[[Tried], Array]
) -> Tried:
    """Find the last step at which nothing is in excess.

    Halved until few steps are left; then each try is made where the first excess would begin if all went
    evenly between the tries around it.

    Parameters
    ----------
    none, whole
        What was found at no step, where nothing is in excess, and at all of them, where something is.
    steps
        How many there are.
    at
        Tries one step.
    excess
        What is in excess in a try, of any number of things, each in its own unit: above zero is too much.
    """
    low, high, best = 0, steps, none
    below, above = excess(none), excess(whole)
    while high - low > 1:
        share = _first_excess(below, above) if high - low <= EVEN_STEPS else 0.5
        middle = min(max(low + int(share * (high - low)), low + 1), high - 1)
        tried = at(middle)
        found = excess(tried)
        if (found > 0.0).any():
            high, above = middle, found
        else:
            low, below, best = middle, found, tried
    return best


def _first_excess(below: Array, above: Array) -> float:
    """Return the share of the way at which the first excess begins; half of it where nobody can tell."""
    if not (np.isfinite(below).all() and np.isfinite(above).all() and below.max() <= 0.0):
        return 0.5
    grows = above > 0.0
    return float((below[grows] / (below[grows] - above[grows])).min())
