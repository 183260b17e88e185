"""What is sprung and damped, and begins at rest."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def from_rest(drive: Array, frequency_hz: float, damping_ratio: float, step_s: float) -> Array:
    """Solve a damped oscillator that begins at rest under its drive's first value, (samples, ...)."""
    from scipy.linalg import solve_banded

    omega_0 = 2.0 * np.pi * frequency_hz
    step = _one_step(frequency_hz, damping_ratio, step_s)
    on, by, growing = step[:2, :2], step[:2, 2], step[:2, 3]
    flat = drive.reshape(drive.shape[0], -1)
    pushed = by[:, None, None] * flat[:-1] + growing[:, None, None] * np.diff(flat, axis=0)
    # A state that goes on by a matrix each step: each of its places follows from the two before (Cayley and
    # Hamilton), so all of them are one banded system.
    trace = float(np.trace(on))
    right = np.empty_like(flat)
    right[0] = flat[0] / omega_0**2
    right[1:2] = on[0, 0] * right[:1] + pushed[0, :1]
    right[2:] = pushed[0, 1:] + (on[0, 0] - trace) * pushed[0, :-1] + on[0, 1] * pushed[1, :-1]
    bands = np.zeros((3, flat.shape[0]))
    bands[0] = 1.0
    bands[1, 1:-1], bands[2, :-2] = -trace, float(np.linalg.det(on))
    return np.asarray(solve_banded((2, 0), bands, right, check_finite=False)).reshape(drive.shape)


@lru_cache(maxsize=256)
def _one_step(frequency_hz: float, damping_ratio: float, step_s: float) -> Array:
    """How place, speed, drive and what the drive grows by go on in a step, (4, 4), not to be written to."""
    from scipy.linalg import expm

    omega_0 = 2.0 * np.pi * frequency_hz
    rates = np.zeros((4, 4))
    rates[0, 1] = rates[1, 2] = step_s
    rates[1, :2] = -(omega_0**2) * step_s, -2.0 * damping_ratio * omega_0 * step_s
    rates[2, 3] = 1.0
    step = np.asarray(expm(rates))
    step.setflags(write=False)
    return step
