"""How early a foot brakes that has less time to swing than the other of its pair: in a limp at a walk."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import Steps

Array = npt.NDArray[np.float64]

# The other's swing is longer by so much before it counts: whole frames make it longer by a tenth (estimate).
LONGER = 1.1
WALKING = 0.5  # of a stride, that both feet of a pair are down at least


def earlier_by(steps: Steps) -> Array:
    """Say how many times as long, of its swing, each foot brakes, (4,): 1 but for the quick foot of a limp.

    It brakes about as long as the other of its pair, and not within a frame or two. Only steps that repeat
    stride by stride, and walks: running legs are carried on by their own swing.
    """
    period = steps.period_s
    factors = np.ones(4)
    if period is None or len(steps.limb) != factors.size:
        return factors
    down_s = np.empty(4)
    down_s[steps.limb] = steps.liftoff_s - steps.touchdown_s
    other = np.array([1, 0, 3, 2])  # of the pair, in LIMBS order
    walks = np.minimum(down_s, down_s[other]) >= WALKING * period
    longer = (period - down_s[other]) / (period - down_s) / LONGER
    return np.where(walks, np.maximum(longer, 1.0), 1.0)
