"""What the ground has to do for the parts of a body to move as they do."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.mass import WholeBody
from gaitgen.numerics.turns import crossed

Array = npt.NDArray[np.float64]


def momentum_rates(whole: WholeBody, away_m: Array, acceleration_m_s2: Array, masses_kg: Array) -> Array:
    """Add up the changes of momentum of all parts, over mass and inertia of the standing body.

    Parameters
    ----------
    whole
        The standing body.
    away_m
        (samples, parts, 3) from where the centre of mass stands. [m]
    acceleration_m_s2
        (samples, parts, 3). [m/s^2]
    masses_kg
        (parts,) taken as points. [kg]

    Returns
    -------
    (samples, 6) acceleration forward, left, up [m/s^2], and in roll (right side down), pitch (nose up)
    and yaw (to the left) [rad/s^2].
    """
    pushed = acceleration_m_s2 * masses_kg[:, None]
    force = _summed(pushed) / whole.mass_kg
    moment = _summed(crossed(away_m, pushed)) / np.array(whole.inertia_kg_m2)
    return np.concatenate([force, moment * np.array([1.0, -1.0, 1.0])], axis=1)


def _summed(of_parts: Array) -> Array:
    """Add up what belongs to parts, (samples, parts, 3); part after part, which is sooner done."""
    return np.asarray(np.add.reduce(np.ascontiguousarray(of_parts.swapaxes(0, 1))))
