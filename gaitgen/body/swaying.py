"""How far each end of the trunk is carried to the side, over the feet that bear it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.stance import StanceState
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Chest and hips of a running body go over the feet that bear them as far as the animal's file says in strides
# of so many times the root of hip height over gravity; as anything pushed to and fro, less in quicker ones.
QUICK_SWAY = 2.0
# How quickly they follow the feet, in strides^-1 (estimate).
SWAY_PER_STRIDE = 6.0


def over_feet_m(
    animal: Animal, grid: Grid, state: StanceState, walks: Array, runs: Array
) -> tuple[Array, Array]:
    """How far chest and hips are carried to the left over the feet that bear them [m], and how firmly.

    ``walks`` and ``runs`` (samples, 2) say how far each end does; so do both that are returned. Running, with
    a period alone, as strides that change ask enough.
    """
    over = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0).reshape(-1, 2, 2)
    stride_s = float(np.mean(np.minimum(state.next_touchdown_s - state.touchdown_s, 4.0)))
    side = grid.smoothed(over[..., 0] - over[..., 1], SWAY_PER_STRIDE / stride_s)
    # Borne on one side, both ends of a running body go over it by themselves, as the body rolls.
    quick_s = QUICK_SWAY * float(np.sqrt(animal.hip_height_m / GRAVITY_M_S2))
    walking, running = animal.back.walks_over_feet, animal.back.over_feet
    quick = min(1.0, (stride_s / quick_s) ** 2)
    run = running * quick * runs * (side - side.mean(axis=1, keepdims=True))
    walk = walking * stilts_share(animal.hip_height_m, stride_s) * walks * side
    sways = walks * (walking > 0.0) + runs * (running > 0.0 and grid.is_periodic)
    return limb_numbers(animal, "track_m")[::2] * (run + walk), np.asarray(sways)


def stilts_share(height_m: float, stride_s: float) -> float:
    """Share of the way to the feet that a body on stilts goes, from the one to the other once a stride.

    y'' = (g / h)(y - p), a pendulum upside down over a foot at p: y / p = 1 / (1 + w^2 h / g). Valid for
    sways that are small against the height.
    """
    return 1.0 / (1.0 + (2.0 * np.pi / stride_s) ** 2 * height_m / GRAVITY_M_S2)
