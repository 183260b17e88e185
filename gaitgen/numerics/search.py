"""How far something can be taken: a search on even steps that guesses where it will end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Tried = TypeVar("Tried")

MOST_MORE = 3  # tries, at the most, than halving takes


def farthest(
    none: Tried, whole: Tried, steps: int, at: Callable[[int], Tried], excess: Callable[[Tried], Array]
) -> Tried:
    """Find the last step at which nothing is in excess.

    Each try is made where the first excess would begin if all went evenly between the tries around it; an
    end that stays when the other has moved twice counts for half of it (the Illinois rule: Dowell M. &
    Jarratt P. 1971, BIT 11:168-174, from memory). No try leaves more steps than can be halved in those left.

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
    tries, fitted = (steps - 1).bit_length() + MOST_MORE, None
    while high - low > 1:
        tries -= 1
        guess = low + int(_first_excess(below, above) * (high - low))
        middle = min(max(guess, high - 2**tries, low + 1), low + 2**tries, high - 1)
        tried = at(middle)
        found = excess(tried)
        fits = not (found > 0.0).any()
        if fits:
            low, below, best = middle, found, tried
            above = above / 2.0 if fitted is True else above
        else:
            high, above = middle, found
            below = below / 2.0 if fitted is False else below
        fitted = fits
    return best


def _first_excess(below: Array, above: Array) -> float:
    """Return the share of the way at which the first excess begins; half of it where nobody can tell."""
    if not (np.isfinite(below).all() and np.isfinite(above).all() and below.max() <= 0.0):
        return 0.5
    grows = above > 0.0
    return float((below[grows] / (below[grows] - above[grows])).min())
