"""Which joints of the legs have changed places, left for right, where the others have not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.edits.mistakes import Mistake
from gaitgen.edits.seen import Seen, joints_apart_rad, most_alike
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

# A joint of legs that have changed places is where it belongs if it would be by this far from there with its
# mate's turns, and is no farther than by this share of that with its own (estimates).
NEARER, KEPT_RAD = 0.5, np.radians(2.0)
PLAIN, PLAIN_RAD = 0.25, np.radians(5.0)  # ... where nothing else tells that legs have changed places
PAIRS = tuple((LIMBS.index("L" + end), LIMBS.index("R" + end)) for end in "FH")


def kept_joints(seen: Seen, mistake: Mistake, stride: Seen) -> str:
    """Name the joints that are where they belong, of those that would have changed places; mostly none.

    Parameters
    ----------
    seen, mistake
        A stride, and what may be wrong with it.
    stride
        What it would have started from.
    """
    undone = replace(seen, local=mistake.undone)
    made = most_alike(undone, stride)
    here, there = joints_apart_rad(seen, made), joints_apart_rad(undone, made)
    return kept_names(here, there, mistake, seen.names)


def kept_names(here: Array, there: Array, mistake: Mistake, names: tuple[str, ...]) -> str:
    """Name the joints that are where they belong, of those that would have changed places; mostly none.

    Parameters
    ----------
    here, there
        (joints,) how far each is from what it started from as it is, and with the mistake undone. [rad]
    mistake, names
        What may be wrong, and the names of all joints.
    """
    kept = [
        names[joint]
        for joint in mistake.joints
        if there[joint] >= KEPT_RAD and here[joint] < NEARER * there[joint]
    ]
    return ", ".join(kept)


def swapped_notices(where: str, seen: Seen, made: Seen) -> tuple[Notice, ...]:
    """Say which joints of the legs seem to have changed places, in a clip whose legs as a whole have not.

    Parameters
    ----------
    where, seen
        A clip, by its name, and its stride.
    made
        What it started from.
    """
    exchanged = list(range(seen.local.shape[1]))
    pairs = [pair for left, right in PAIRS for pair in zip(seen.legs[left], seen.legs[right], strict=False)]
    for left, right in pairs:
        exchanged[left], exchanged[right] = right, left
    here = joints_apart_rad(seen, made)
    there = joints_apart_rad(replace(seen, local=seen.local[:, exchanged]), made)
    found = [
        f"{seen.names[left]} and {seen.names[right]}"
        for left, right in pairs
        if min(here[left], here[right]) > PLAIN_RAD
        and max(there[left] / here[left], there[right] / here[right]) < PLAIN
    ]
    if not found:
        return ()
    text = (
        f"{'; '.join(found)} of {where} turn as each other does in the clip that it started from, as if "
        "their channels had been swapped, left for right; that is carried as it is. Swap them back if it was "
        "no hand's doing."
    )
    return (Notice("swapped", text),)
