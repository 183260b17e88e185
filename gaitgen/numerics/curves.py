"""Smooth ramps and bumps, and calculus on evenly sampled curves with or without a period."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.numerics.sprung import from_rest

Array = npt.NDArray[np.float64]

FINE_SAMPLES = 384  # of a loop that is looked at between its frames

# What is done to each harmonic of a loop; see `filtered`.
Gain = tuple[str, float, float]
# A number for all columns of a table, or one for each.
Each = float | tuple[float, ...]


def within_one(share: npt.ArrayLike) -> Array:
    """Keep shares between 0 and 1."""
    return np.minimum(np.maximum(np.asarray(share, dtype=np.float64), 0.0), 1.0)


def ramp(share: npt.ArrayLike) -> Array:
    """Rise from 0 to 1 with no speed and no acceleration at either end; flat outside. Ratio in, ratio out.

    The quintic 6 s^5 - 15 s^4 + 10 s^3: the shortest polynomial that is C2 at both ends.
    """
    s = within_one(share)
    return s * s * s * (10.0 + s * (6.0 * s - 15.0))


def bump(share: npt.ArrayLike, peak: npt.ArrayLike) -> Array:
    """Rise from 0 to 1 at share ``peak`` and fall back to 0 at 1, C2 everywhere. Ratio in, ratio out."""
    return hill(share, 0.0, peak, peak, 1.0)


def hill(
    at: npt.ArrayLike, start: npt.ArrayLike, full: npt.ArrayLike, leave: npt.ArrayLike, end: npt.ArrayLike
) -> Array:
    """Rise from 0 at ``start`` to 1 at ``full``, and fall from ``leave`` to 0 at ``end``, C2 everywhere."""
    at, start, full, leave, end = map(np.asarray, (at, start, full, leave, end))
    return ramp(np.minimum((at - start) / (full - start), (end - at) / (end - leave)))


def even_travel(share: npt.ArrayLike, ease_in: npt.ArrayLike, ease_out: npt.ArrayLike) -> Array:
    """Go from 0 to 1, easing in and out over these shares of the time and evenly between; C2.

    The speed is a ramp up over ``ease_in``, constant, and a ramp down over ``ease_out``; their sum is at
    most 1.
    """
    s = within_one(share)

    ease_in, ease_out = np.asarray(ease_in, dtype=np.float64), np.asarray(ease_out, dtype=np.float64)

    def eased(x: Array, ease: Array) -> Array:  # integral of ramp(x / ease)
        q = within_one(x / ease)
        return np.asarray(ease * (q * q * q * q * (q * (q - 3.0) + 2.5)) + np.maximum(x - ease, 0.0))

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


def filtered(values: Array, step_s: float, *gains: Gain) -> Array:
    """Multiply each harmonic of loops (samples, ...) by a factor.

    Parameters
    ----------
    values
        (samples, ...), the last sample one step before the first.
    step_s
        Time between two samples. [s]
    gains
        ``("derivative", order, 0)``, ``("integral", order, 0)``, or what is sprung and damped, with its
        frequency [Hz] and damping ratio: an ``"oscillator"`` under a drive, a ``"follower"`` of its base, or
        what is ``"pushed"`` by the acceleration of its base. One for all, or one for each column.
    """
    count = values.shape[0]
    factors = _factors(count, step_s, gains)
    if len(gains) == 1:
        factors = factors.reshape((-1,) + (1,) * (values.ndim - 1))
    return np.asarray(np.fft.irfft(np.fft.rfft(values, axis=0) * factors, n=count, axis=0))


def smoothed_on(values: Array, frequency_hz: Each, damping_ratio: float, step_s: float, times: int) -> Array:
    """Let springs feel loops (samples, columns) one after the other: (samples, times, columns)."""
    count = values.shape[0]
    factors = _spring_row(count, step_s, tuple(_each(frequency_hz, damping_ratio)), times)
    spectrum = np.fft.rfft(values, axis=0)[:, None] * factors
    return np.asarray(np.fft.irfft(spectrum, n=count, axis=0))


@lru_cache(maxsize=256)
def _spring_row(
    count: int, step_s: float, springs: tuple[tuple[float, float], ...], times: int
) -> npt.NDArray[np.complex128]:
    """Return the factor of each harmonic after so many equal springs, (harmonics, times, springs)."""
    stiffness = (2.0 * np.pi * np.array([frequency for frequency, _ in springs])) ** 2
    once = stiffness * _factors(count, step_s, tuple(("oscillator", *spring) for spring in springs))
    if count % 2 == 0:  # of the quickest harmonic its samples show a cosine alone
        once[-1] = once[-1].real
    row = once[:, None] ** np.arange(1, times + 1)[:, None]
    row.setflags(write=False)
    return np.asarray(row)


@lru_cache(maxsize=256)
def _factors(count: int, step_s: float, gains: tuple[Gain, ...]) -> npt.NDArray[np.complex128]:
    """Return the factor of each harmonic of a loop of so many samples, (harmonics, gains)."""
    factors = np.stack([_factor(count, step_s, gain) for gain in gains], axis=1)
    factors.setflags(write=False)
    return factors


@lru_cache(maxsize=16)
def _harmonics(count: int, step_s: float) -> npt.NDArray[np.complex128]:
    """Return how quick each harmonic is, (harmonics,), not to be written to. [rad/s]"""
    omega = 2.0 * np.pi * np.fft.rfftfreq(count, step_s).astype(np.complex128)
    omega.setflags(write=False)
    return omega


@lru_cache(maxsize=256)
def _factor(count: int, step_s: float, gain: Gain) -> npt.NDArray[np.complex128]:
    """Return the factor of each harmonic, (harmonics,), not to be written to."""
    omega = _harmonics(count, step_s)
    kind, first, second = gain
    if kind == "derivative":
        factors = (1j * omega) ** int(first)
        if count % 2 == 0 and first % 2 == 1:
            factors[-1] = 0.0
        return factors
    if kind == "integral":
        factors = np.zeros_like(omega)
        factors[1:] = (1j * omega[1:]) ** -int(first)
        return factors
    omega_0 = 2.0 * np.pi * first
    response = 1.0 / (omega_0**2 - omega**2 + 2j * second * omega_0 * omega)
    if kind == "oscillator":
        return response
    if kind == "pushed":
        return -(omega**2) * response
    slope = _factor(count, step_s, ("derivative", 1.0, 0.0))
    return (omega_0**2 + 2.0 * second * omega_0 * slope) * response


def oscillate(
    drive: Array, frequency_hz: Each, damping_ratio: Each, step_s: float, *, periodic: bool
) -> Array:
    """Solve a'' + 2 z w a' + w^2 a = drive for a damped oscillator: (samples, ...). [unit of drive x s^2]

    Frequency and damping are one for all, or one for each column of (samples, columns).

    With a period: the steady state, by the transfer function of each harmonic, so that the loop closes.
    Without one: state space, exact for a drive that is straight between samples, which begins at rest
    under the drive's first value.
    """
    own = _each(frequency_hz, damping_ratio)
    if periodic:
        return filtered(drive, step_s, *(("oscillator", *each) for each in own))
    if len(own) == 1:
        return from_rest(drive, *own[0], step_s)
    return np.stack([from_rest(drive[:, k], *each, step_s) for k, each in enumerate(own)], axis=1)


def follow(
    base: Array, pushed: Array, frequency_hz: Each, damping_ratio: float, step_s: float, *, periodic: bool
) -> Array:
    """Solve a'' + 2 z w (a' - b') + w^2 (a - b) = p'': what is sprung to a base b and pushed as p moves.

    Both are (samples, columns), and so is the answer, which begins as that of `oscillate`; the frequency is
    one for all, or one for each column.
    """
    if periodic:
        columns = base.shape[1]
        each = frequency_hz if isinstance(frequency_hz, tuple) else (frequency_hz,) * columns
        gains = ((kind, own, damping_ratio) for kind in ("follower", "pushed") for own in each)
        both = filtered(np.concatenate([base, pushed], axis=1), step_s, *gains)
        return both[:, :columns] + both[:, columns:]
    omega = 2.0 * np.pi * np.asarray(frequency_hz)
    drive = 2.0 * damping_ratio * omega * derivative(base, step_s, 1, periodic=False) + omega**2 * base
    drive = drive + derivative(pushed, step_s, 2, periodic=False)
    return oscillate(drive, frequency_hz, damping_ratio, step_s, periodic=False)


def _each(frequency_hz: Each, damping_ratio: Each) -> list[tuple[float, float]]:
    """Pair frequencies with damping ratios, either of which may be one for all."""
    pairs = np.broadcast(frequency_hz, damping_ratio)
    return [(float(frequency), float(damping)) for frequency, damping in pairs]


def envelope(values: Array, radius: int) -> Array:
    """Lay a smooth curve over one without a period, along the first axis, as wide as some samples to a side.

    Nowhere below the curve; level where the curve repeats itself within that radius.
    """
    return _thrice_averaged(largest_around(values, radius, periodic=False), 2 * radius // 3 + 1)


def local_mean(values: Array, width: int) -> Array:
    """Average a curve without a period, along the first axis, over so many samples around each."""
    return _thrice_averaged(values, width)


def _thrice_averaged(values: Array, width: int) -> Array:
    for _ in range(3):
        values = mean_around(values, width + 1 - width % 2, periodic=False)
    return values


def largest_around(values: Array, radius: int, *, periodic: bool) -> Array:
    """Return the largest value among so many samples to either side of each, along the first axis."""
    if not periodic:
        from scipy import ndimage  # takes longer to load than a loop to be solved, which does without

        return np.asarray(ndimage.maximum_filter1d(values, 2 * radius + 1, axis=0, mode="nearest"))
    widest, width = _around(values, radius, radius), 1
    while 2 * width <= 2 * radius + 1:  # the largest of twice as many is that of two of them
        widest, width = np.maximum(widest[:-width], widest[width:]), 2 * width
    count, last = values.shape[0], 2 * radius + 1 - width
    return np.asarray(np.maximum(widest[:count], widest[last : last + count]))


def mean_around(values: Array, width: int, *, periodic: bool) -> Array:
    """Average over so many samples around each, along the first axis; of an even number one more before."""
    if not periodic:
        from scipy import ndimage

        return np.asarray(ndimage.uniform_filter1d(values, width, axis=0, mode="nearest"))
    before = width // 2
    summed = np.cumsum(_around(values, before + 1, width - 1 - before), axis=0)
    return np.asarray((summed[width:] - summed[:-width]) / width)


def _around(values: Array, before: int, after: int) -> Array:
    """Go on around a loop beyond both its ends."""
    return values.take(np.arange(-before, values.shape[0] + after), axis=0, mode="wrap")


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
