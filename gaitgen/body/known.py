"""The forces under the feet of a motion that is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.body.balance import Balance, balance
from gaitgen.body.bumps import find_stances
from gaitgen.body.footing import wanted_over
from gaitgen.body.momentum import momentum_rates
from gaitgen.body.under import body_frames
from gaitgen.course.path import Path
from gaitgen.course.stance import stance_state
from gaitgen.course.steps import Steps
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# A motion that is known is kept to this firmly, against a standing body that keeps its place (estimate).
KNOWN_FIRMNESS = 0.9


def forces_under(
    animal: Animal, steps: Steps, path: Path, grid: Grid, parts_m: Array, masses_kg: Array
) -> Balance:
    """Find the forces that carry a motion that is known, from the momentum of its parts.

    Parameters
    ----------
    animal, steps, path, grid
        As in move_body; whole periods.
    parts_m
        (samples, parts, 3) centres of mass of all parts, as the body sees them. [m]
    masses_kg
        (parts,) [kg]
    """
    whole = whole_body(animal)
    frames = body_frames(animal, path, grid.time_s)
    here = stance_state(steps, grid.time_s)
    state = here.seen(frames)
    stances = find_stances(here, None if steps.loop is None else steps.limb.size)
    centre = np.einsum("spk,p->k", parts_m, masses_kg) / (grid.count * whole.mass_kg)
    beside = np.array([centre[0] - whole.centre_m[0], centre[1], 0.0])
    away = parts_m - beside - np.array(whole.centre_m)
    rates = momentum_rates(whole, away, grid.derivative(parts_m, 2), masses_kg)
    level = np.zeros((grid.count, 2))
    wanted = wanted_over(
        animal, path, grid, state, stances, level, frames.acceleration_m_s2, np.full(grid.count, beside[1])
    )
    wanted = replace(
        wanted,
        strut_share=level,
        sways=level,
        foot_m=wanted.foot_m - beside * [1.0, 0.0, 0.0],
        still=np.full(grid.count, KNOWN_FIRMNESS),
        besides=rates,
    )
    return balance(grid, stances, whole, wanted)
