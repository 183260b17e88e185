"""Smooth ramps and bumps, and calculus on evenly sampled curves with or without a period."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FINE_SAMPLES = 384  # of a loop that is looked at between its frames

# What is done to each harmonic of a loop; see `filtered`.
Gain = tuple[str, float, float]


def ramp(share: npt.ArrayLike) -> Array:
    """Rise from 0 to 1 with no speed and no acceleration at either end; flat outside. Ratio in, ratio out.

    The quintic 6 s^5 - 15 s^4 + 10 s^3: the shortest polynomial that is C2 at both ends.
    """
    s = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    return s * s * s * (10.0 + s * (6.0 * s - 15.0))


def bump(share: npt.ArrayLike, peak: npt.ArrayLike) -> Array:
    """Rise from 0 to 1 at share ``peak`` and fall back to 0 at 1, C2 everywhere. Ratio in, ratio out."""
    s, peak = np.asarray(share, dtype=np.float64), np.asarray(peak, dtype=np.float64)
    return np.where(s < peak, ramp(s / peak), 1.0 - ramp((s - peak) / (1.0 - peak)))


def even_travel(share: npt.ArrayLike, ease_in: npt.ArrayLike, ease_out: npt.ArrayLike) -> Array:
    """Go from 0 to 1, easing in and out over these shares of the time and evenly between; C2.

    The speed is a ramp up over ``ease_in``, constant, and a ramp down over ``ease_out``; their sum is at
    most 1.
    """
    s = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)

    ease_in, ease_out = np.asarray(ease_in, dtype=np.float64), np.asarray(ease_out, dtype=np.float64)

    def eased(x: Array, ease: Array) -> Array:  # integral of ramp(x / ease)
        q = np.clip(x / ease, 0.0, 1.0)
        return np.asarray(ease * (q**6 - 3.0 * q**5 + 2.5 * q**4) + np.clip(x - ease, 0.0, None))

    way = eased(s, ease_in) - eased(s - (1.0 - ease_out), ease_out)
    return np.asarray(way / (1.0 - (ease_in + ease_out) / 2.0))


def derivative(values: Array, step_s: float, order: int, *, periodic: bool) -> Array:
    """Differentiate along the first axis. [per s ** order]

    A periodic curve (its last sample is one step before its first) is differentiated exactly on its
    harmonics; another one by central differences, one-sided at the ends.
    """
    if not periodic:
        result = values
        for _ in range(order):
            result = np.gradient(result, step_s, axis=0, edge_order=2)
        if order > 1 and result.shape[0] > 4 * order:  # one-sided differences of differences are wild
            result[:order], result[-order:] = result[order], result[-order - 1]
        return result
    return filtered(values, step_s, ("derivative", float(order), 0.0))


def twice_integrated(acceleration: Array, step_s: float) -> Array:
    """Integrate a loop twice along the first axis: the one answer of no mean, for a drive of no mean."""
    return filtered(acceleration, step_s, ("integral", 2.0, 0.0))


def filtered(values: Array, step_s: float, gain: Gain) -> Array:
    """Multiply each harmonic of loops (samples, ...) by a factor.

    Parameters
    ----------
    values
        (samples, ...), the last sample one step before the first.
    step_s
        Time between two samples. [s]
    gain
        ``("derivative", order, 0)``, ``("integral", order, 0)`` or
        ``("oscillator", frequency [Hz], damping ratio)``.
    """
    count = values.shape[0]
    factors = _factors(count, step_s, gain).reshape((-1,) + (1,) * (values.ndim - 1))
    return np.asarray(np.fft.irfft(np.fft.rfft(values, axis=0) * factors, n=count, axis=0))


@lru_cache(maxsize=256)
def _factors(count: int, step_s: float, gain: Gain) -> npt.NDArray[np.complex128]:
    """Return the factor of each harmonic of a loop of so many samples, (harmonics,)."""
    omega = 2.0 * np.pi * np.fft.rfftfreq(count, step_s).astype(np.complex128)
    kind, first, second = gain
    if kind == "derivative":
        factors = (1j * omega) ** int(first)
        if count % 2 == 0 and first % 2 == 1:
            factors[-1] = 0.0
    elif kind == "integral":
        factors = np.zeros_like(omega)
        factors[1:] = (1j * omega[1:]) ** -int(first)
    else:
        omega_0 = 2.0 * np.pi * first
        factors = 1.0 / (omega_0**2 - omega**2 + 2j * second * omega_0 * omega)
    factors.setflags(write=False)
    return factors


def oscillate(
    drive: Array, frequency_hz: float, damping_ratio: float, step_s: float, *, periodic: bool
) -> Array:
    """Solve a'' + 2 z w a' + w^2 a = drive for a damped oscillator: (samples, ...). [unit of drive x s^2]

    With a period: the steady state, by the transfer function of each harmonic, so that the loop closes.
    Without one: state space, exact for a drive that is straight between samples, which begins at rest
    under the drive's first value.
    """
    if periodic:
        return filtered(drive, step_s, ("oscillator", frequency_hz, damping_ratio))
    from scipy.linalg import expm, solve_banded

    omega_0 = 2.0 * np.pi * frequency_hz
    rates = np.zeros((4, 4))  # of place, speed, drive, and what the drive grows by in a step
    rates[0, 1] = rates[1, 2] = step_s
    rates[1, :2] = -(omega_0**2) * step_s, -2.0 * damping_ratio * omega_0 * step_s
    rates[2, 3] = 1.0
    step = expm(rates)
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


def envelope(values: Array, radius: int) -> Array:
    """Lay a smooth curve over one without a period, along the first axis, as wide as some samples to a side.

    Nowhere below the curve; level where the curve repeats itself within that radius.
    """
    from scipy import ndimage  # which a loop does without

    over = ndimage.maximum_filter1d(values, 2 * radius + 1, axis=0, mode="nearest")
    return _thrice_averaged(over, 2 * radius // 3 + 1)


def local_mean(values: Array, width: int) -> Array:
    """Average a curve without a period, along the first axis, over so many samples around each."""
    return _thrice_averaged(values, width)


def _thrice_averaged(values: Array, width: int) -> Array:
    from scipy import ndimage

    for _ in range(3):
        values = ndimage.uniform_filter1d(values, width + 1 - width % 2, axis=0, mode="nearest")
    return np.asarray(values)


def refined(values: Array, samples: int = FINE_SAMPLES) -> Array:
    """Follow a looping curve (frames, ...) on more samples, the last equal to the first, by its harmonics."""
    count = values.shape[0]
    if samples <= count:
        return np.concatenate([values, values[:1]])
    harmonics = np.fft.rfft(values, axis=0)
    if count % 2 == 0:
        harmonics[-1] *= 0.5
    fine = np.fft.irfft(harmonics, n=samples, axis=0) * (samples / count)
    return np.concatenate([fine, fine[:1]])
