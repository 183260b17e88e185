"""What may be wrong with a whole clip, and how its joints are turned with that undone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LEFT_AND_RIGHT = (("its hind legs", ((2, 3),)), ("its forelegs", ((0, 1),)), ("its legs", ((0, 1), (2, 3))))


@dataclass(frozen=True, eq=False)
class Mistake:
    """What may be wrong with a clip.

    Attributes
    ----------
    fault, remedy
        What is said of it, and what to do.
    undone
        (frames, joints, 3, 3) how its joints are turned with that undone.
    joints
        Those that have changed places.
    """

    fault: str
    remedy: str
    undone: Array
    joints: tuple[int, ...] = ()


def mistakes(local: Array, legs: tuple[tuple[int, ...], ...]) -> Iterator[Mistake]:
    """List what may be wrong with a clip.

    Parameters
    ----------
    local
        (frames, joints, 3, 3) how its joints are turned against the joints above.
    legs
        The joints of each limb, in LIMBS order.
    """
    yield Mistake("it plays backward", "turn the order of its frames round", local[::-1].copy())
    for words, pairs in LEFT_AND_RIGHT:
        if all(len(legs[left]) == len(legs[right]) for left, right in pairs):
            undone, changed = local.copy(), list[int]()
            for left, right in pairs:
                rows = list(legs[left]), list(legs[right])
                changed += [*rows[0], *rows[1]]
                undone[:, rows[0]], undone[:, rows[1]] = local[:, rows[1]], local[:, rows[0]]
            fault = f"{words} are swapped, left for right"
            yield Mistake(fault, "swap the channels of left and right back", undone, tuple(changed))
