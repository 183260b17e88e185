"""How far something can be taken: a search on even steps that guesses where it will end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Tried = TypeVar("Tried")

MOST_MORE = 3  # tries, at the most, than halving takes
# A step is not tried where a straight line through two tries is over with so much of it to spare: of 117
# searches for what an animal can do that end so none ends too soon; with a tenth to spare, one of 145 does.
LINE_LEAST = 0.25


def farthest(
    none: Tried,
    whole: Tried,
    steps: int,
    at: Callable[[int], Tried],
    excess: Callable[[Tried], Array],
    *,
    first_on: int = 1,
) -> Tried:
    """Find the last step at which nothing is in excess.

    Each try is made where the first excess would begin if all went evenly between the tries around it; an
    end that stays when the other has moved twice counts for half of it (the Illinois rule: Dowell M. &
    Jarratt P. 1971, BIT 11:168-174, from memory). No try leaves more steps than can be halved in those left.
    The next step is not tried where a straight line through two tries is well over before it.

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
    first_on
        The first try is on a multiple of so many steps, if there is one.
    """
    low, high, best = 0, steps, none
    below, above = excess(none), excess(whole)
    last: Array | None = None  # of a try that was not in excess
    tries, fitted = (steps - 1).bit_length() + MOST_MORE, None
    while high - low > 1:
        tries -= 1
        guess = low + int(_first_excess(below, above) * (high - low))
        if fitted is None:
            guess -= guess % first_on
        middle = min(max(guess, high - 2**tries, low + 1), low + 2**tries, high - 1)
        tried = at(middle)
        found = excess(tried)
        fits = not (found > 0.0).any()
        if fits:
            if last is not None and _ends_before_next(found, (found - last) / (middle - low), above):
                return tried
            low, below, best, last = middle, found, tried, found
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


def _ends_before_next(found: Array, slope: Array, above: Array) -> bool:
    """Tell whether what is in excess ``above`` begins to be before the next step, as it goes by each."""
    return bool(((above > 0.0) & (found + (1.0 - LINE_LEAST) * slope > 0.0)).any())
