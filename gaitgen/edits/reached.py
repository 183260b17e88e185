"""How much of an edit legs can follow: all of it, with the trunk lowered, or a share of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice, RequestError
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Pose = TypeVar("Pose")

MISS_M = 1e-6  # a foot that is nearer is where it is wanted
# A foot that is farther from its leg's reach, in withers heights, was not put there by hand (estimate).
FARTHEST_EDIT = 1.0
# The trunk is lowered by as many of these shares of the withers height as it takes for all legs to reach.
SINK_STEP, MOST_STEPS = 0.000125, 320
# What is tried of the edits of trunk and limbs, where legs do not reach with all of them.
SHARES = ((1.0, 1.0), (0.75, 1.0), (0.5, 1.0), (0.5, 0.5), (0.25, 0.5), (0.0, 0.5), (0.0, 0.0))


@dataclass(frozen=True, eq=False)
class Planted(Generic[Pose]):
    """A stride with its feet on their prints, as far as the legs reach.

    Attributes
    ----------
    pose
        The stride.
    misses_m
        (frames, 4) how far the feet are from where they are wanted. [m]
    sunk_m
        How far the trunk was lowered. [m]
    """

    pose: Pose
    misses_m: Array
    sunk_m: float

    @property
    def is_met(self) -> bool:
        """Whether all feet are where they are wanted."""
        return float(self.misses_m.max()) < MISS_M


def _refused(misses_m: Array, withers_height_m: float) -> RequestError:
    """Say which leg misses its print, where, and what to do."""
    frame, limb = np.unravel_index(int(misses_m.argmax()), misses_m.shape)
    if float(misses_m.max()) > FARTHEST_EDIT * withers_height_m:
        return RequestError(
            f"at frame {int(frame) + 1} the foot {LIMBS[int(limb)]} is {float(misses_m.max()):.1f} m from "
            "where its leg reaches, farther than an edit of a stride moves it, so this is no clip of one "
            "cycle; what was edited in the clip of a shot goes along with `gaitgen shot --edited`"
        )
    return RequestError(
        f"with this edit the leg {LIMBS[int(limb)]} misses its print by "
        f"{1000.0 * float(misses_m.max()):.0f} mm at frame {int(frame) + 1}, even without the edits of trunk "
        "and legs; carry it to a slower clip, or move the feet less"
    )


def reached(
    laid: Callable[[float, float, float], Planted[Pose]], withers_height_m: float
) -> tuple[Planted[Pose], float, float]:
    """Lay as much of an edit over a stride as its legs can follow.

    Parameters
    ----------
    laid
        Lays shares of the edits of trunk and of limbs over it, the trunk lowered by so much. [m]
    withers_height_m
        Of the animal. [m]

    Returns
    -------
    The stride, and the shares of the edits of trunk and limbs.

    Raises
    ------
    RequestError
        If the legs do not reach even without them.
    """
    step = SINK_STEP * withers_height_m
    for trunk_share, limb_share in SHARES:
        best = laid(trunk_share, limb_share, 0.0)
        if best.is_met:
            return best, trunk_share, limb_share
        best, low, high = laid(trunk_share, limb_share, MOST_STEPS * step), 0, MOST_STEPS
        while best.is_met and high - low > 1:  # the least that lets them reach, by halving
            middle = (low + high) // 2
            found = laid(trunk_share, limb_share, middle * step)
            if found.is_met:
                best, high = found, middle
            else:
                low = middle
        if best.is_met:
            return best, trunk_share, limb_share
    raise _refused(best.misses_m, withers_height_m)


def held_notices(sunk_m: float, trunk_share: float, limb_share: float) -> list[Notice]:
    """Say what was held back for the legs: how far the trunk is lowered [m], and which shares are carried."""
    said = []
    if sunk_m > 0.0:
        said.append(f"the trunk is lowered by {1000.0 * sunk_m:.0f} mm, so that the legs reach.")
    if trunk_share < 1.0:
        said.append(
            f"only {100 * trunk_share:.0f} % of the edit of the trunk is carried; with more, the legs do not "
            "reach."
        )
    if limb_share < 1.0:
        said.append(f"only {100 * limb_share:.0f} % of the edit of the legs is carried, for the same reason.")
    return [Notice("reach", text) for text in said]
