"""When an animal breathes: with its strides at a canter or gallop, freely else."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.steps import Steps
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Breaths a minute at rest: 53.5 M^-0.26, M in kg (Stahl W.R. 1967, J Appl Physiol 22:453-460, from memory).
AT_REST_MIN, REST_POWER = 53.5, -0.26
# So many times as often at a walk and at a trot (estimates).
WALKING, RUNNING = 2.0, 4.0
OUT_TURNS = 0.75  # of a breath that begins breathed out: half-way through breathing out


def breaths_in_loop(animal: Animal, span_s: float, more_often: float = 1.0) -> int:
    """Return how many breaths fill a loop: the animal's own rate, in whole breaths, at least one."""
    rate_hz = AT_REST_MIN * math.pow(animal.body_mass_kg, REST_POWER) / 60.0
    return max(1, round(span_s * more_often * rate_hz))


def breath_turns(
    animal: Animal, grid: Grid, steps: Steps, stride_s: float, *, is_coupled: bool, walks: bool
) -> Array:
    """Return the breaths taken at each moment, (samples,): whole numbers are breathed out.

    Parameters
    ----------
    animal, grid, steps
        The animal, moments of one loop, and its steps.
    stride_s
        Length of a stride. [s]
    is_coupled
        Whether it breathes with its strides: one breath a stride, out while the forelegs carry (Bramble D.M.
        & Carrier D.R. 1983, Science 219:251-256; quadrupeds at a gallop).
    walks
        Whether the gait walks.
    """
    if is_coupled:
        fore = steps.limb < 2
        middle = (steps.touchdown_s + steps.liftoff_s)[fore] / 2.0
        turn = np.exp(2j * np.pi * middle / stride_s).mean()
        return np.asarray(grid.time_s / stride_s - np.angle(turn) / (2.0 * np.pi) + OUT_TURNS)
    start_s = float(steps.touchdown_s[steps.limb == 3].min())
    count = breaths_in_loop(animal, grid.span_s, WALKING if walks else RUNNING)
    return np.asarray((grid.time_s - start_s) / grid.span_s * count)
