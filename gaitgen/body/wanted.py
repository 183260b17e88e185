"""What the forces under the feet are to do, besides being possible."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LEAST_SHARE = 1e-6  # what does not count at a moment counts for this


@dataclass(frozen=True, eq=False)
class Wanted:
    """What the forces should do, besides being possible.

    Attributes
    ----------
    ends_x_m
        Place of hips and chest ahead of the centre of mass: (chest, hips). [m]
    strut_m
        (samples, 2) height of chest and hips over standing, as on struts. [m]
    rise_m
        (samples, 2) how far chest and hips of a running body go up as they are spared load. [m]
    strut_share
        (samples, 2) how far each end walks: 1 a walk, 0 a run.
    over_feet_m, sways
        (samples, 2) how far to the left chest and hips are, over the feet that bear them, and how firmly,
        0 to 1. [m]
    impulse_share
        (stances,) impulse of each stance over the weight of the body, in seconds. [s]
    runs
        (stances,) how far its end of the body runs in each stance: 0 a walk, 1 a run.
    foot_m
        (samples, 4, 3) ground points of the feet from under the root, as the body sees them. [m]
    bump_foot_m
        (bumps, 2) the same when each bump is highest. [m]
    point_x_m
        (bumps,) place of the fixed point of that foot ahead of under the root: over the middle of
        its stance. [m]
    point_height_m
        Height of the fixed points. [m]
    early
        How early in a stance running feet push, as `forces_early` of Back.
    still
        (samples,) how far the animal stands: 1 long after the last foot has landed and before the next lifts.
    path_m_s2
        (samples, 2) acceleration of the frame that goes along the path, forward and to the left. [m/s^2]
    path_rad_s2
        (samples,) the same of its heading, where it turns on the spot; None where it does not. [rad/s^2]
    besides
        (samples, 6) what limbs and hanging parts need beside the body: acceleration forward, left, up
        [m/s^2] and in roll, pitch, yaw [rad/s^2].
    held_m, held
        (samples, 2) height that chest and hips are held at, and how far, 0 to 1; None for not at all.
        [m]
    leaps
        (samples,) how far it leaps, so that no stride is like another, 0 to 1; None for not at all.
    """

    ends_x_m: tuple[float, float]
    strut_m: Array
    rise_m: Array
    strut_share: Array
    over_feet_m: Array
    sways: Array
    impulse_share: Array
    runs: Array
    foot_m: Array
    bump_foot_m: Array
    point_x_m: Array
    point_height_m: float
    early: float
    still: Array
    path_m_s2: Array
    besides: Array
    path_rad_s2: Array | None = None
    held_m: Array | None = None
    held: Array | None = None
    leaps: Array | None = None

    @property
    def alike(self) -> float | Array:
        """(samples,) how far strides are to be like each other: less where the body leaps."""
        return 1.0 if self.leaps is None else np.maximum(1.0 - self.leaps, LEAST_SHARE)
