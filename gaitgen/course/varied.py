"""Strides that differ as an animal's do: one gait, no stride like another, and the row of them repeats."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.cycle import CycleTiming, lay_steps
from gaitgen.course.ground import FLAT
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Standard deviations, estimates: of the length of a stride, of contacts and of lift-offs in it, as shares of
# it; of places along and across the path, in hip heights; of the lift of a swing, as a share of it.
STRIDE, CONTACT, LIFT_OFF = 0.010, 0.006, 0.008
ALONG, ACROSS = 0.005, 0.004
LIFT = 0.03
FARTHEST = 2.0  # standard deviations that chance goes at the most
LEAST_SWING = 0.6  # of the swing of the even stride
LEAST_STANCE = 0.7
LEAST_TOGETHER = 0.25  # frames for which both feet of a pair are down at a walk


@dataclass(frozen=True, eq=False)
class VariedStrides:
    """Some strides of a gait, each with its own times and places.

    Attributes
    ----------
    steps
        Every stance; they repeat after the last stride.
    limb
        (stances,) index into LIMBS, as in the steps.
    contact, down
        (stances,) contact, from 0 up to the length of all strides, and how long it is down. [frames]
    lift
        (stances,) factor on the height of the swing after each stance.
    """

    steps: Steps
    limb: Ints
    contact: Array
    down: Array
    lift: Array


def vary(
    steps: Steps,
    timing: CycleTiming,
    path: Path,
    frame_rate_hz: float,
    strides: int,
    hip_height_m: float,
    chance: np.random.Generator,
) -> VariedStrides:
    """Repeat one stride with small differences in time, place and height.

    Parameters
    ----------
    steps, timing, path, frame_rate_hz
        One even stride, in seconds and metres and in frames.
    strides
        How many strides to make.
    hip_height_m
        Size of the animal. [m]
    chance
        Where the differences come from.

    Notes
    -----
    The body goes on at an even speed; each foot is put down where it is under the body half-way through its
    stance, as in the even stride. What feet do together they vary together. The first contact stays. Contacts
    and lift-offs come to lie between frames, as they differ by less than a frame.
    """
    frames, order = timing.frames, np.argsort(steps.limb)
    base, down = np.array(timing.contact), np.array(timing.down)
    contact = _contacts(base, frames, strides, chance)
    leaves = contact + down + _some(chance, LIFT_OFF * frames, contact.shape)
    leaves = _kept_apart(contact, leaves, base, down, frames, frames * strides)
    middle_s = (steps.touchdown_s + steps.liftoff_s)[order] / 2.0
    place = steps.place_m[order]
    centre = place[:, 0] - path.distance_m(middle_s) + _some(chance, ALONG * hip_height_m, contact.shape)
    track = place[:, 1] + _some(chance, ACROSS * hip_height_m, contact.shape)
    lift = 1.0 + _some(chance, LIFT, contact.shape)
    total = frames * strides
    on = contact % total
    limb = np.tile(np.arange(len(LIMBS), dtype=np.int64), strides)
    flat_on, flat_down = on.ravel(), (leaves - contact).ravel()
    laid = lay_steps(
        path,
        FLAT,
        limb,
        flat_on / frame_rate_hz,
        (flat_on + flat_down) / frame_rate_hz,
        centre.ravel(),
        track.ravel(),
        total / frame_rate_hz,
    )
    rows = np.argsort(flat_on, kind="stable")
    return VariedStrides(laid, limb[rows], flat_on[rows], flat_down[rows], lift.ravel()[rows])


def _some(chance: np.random.Generator, deviation: float, shape: tuple[int, ...]) -> Array:
    """Draw differences about 0 that are never far out."""
    return deviation * np.clip(chance.standard_normal(shape), -FARTHEST, FARTHEST)


def _contacts(base: Array, frames: int, strides: int, chance: np.random.Generator) -> Array:
    """Place the contacts of all strides, (strides, 4); feet that land together stay together. [frames]"""
    longer = _some(chance, STRIDE * frames, (strides,))
    longer = longer - longer.mean()
    start = frames * np.arange(strides) + np.cumsum(longer) - longer
    share = base / frames
    starts = start[:, None] + share * (frames + longer[:, None])
    beat = np.searchsorted(np.unique(base), base)
    away = _some(chance, CONTACT * frames, (strides, int(beat.max()) + 1))
    away[0, 0] = 0.0
    return np.asarray(starts + away[:, beat])


def _kept_apart(contact: Array, leaves: Array, base: Array, down: Array, frames: int, total: int) -> Array:
    """Keep stances and swings long enough, and a pair that is always on the ground there: (strides, 4)."""
    following = np.concatenate([contact[1:], contact[:1] + total])
    kept = np.minimum(leaves, following - LEAST_SWING * (frames - down))
    kept = np.maximum(kept, contact + LEAST_STANCE * down)
    for foot in range(len(LIMBS)):
        mate = foot ^ 1
        gap = (base[mate] - base[foot]) % frames
        if not 0.0 < gap < down[foot]:  # at 0 both land together, and neither takes over from the other
            continue
        later = contact[:, mate] if base[mate] > base[foot] else following[:, mate]
        kept[:, foot] = np.maximum(kept[:, foot], later + LEAST_TOGETHER)
    return kept
