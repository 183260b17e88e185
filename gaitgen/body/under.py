"""The frame that goes along with a body, and the ground that carries it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.carried import carried_m
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Frames, Path
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Share of the slope under the body that the trunk takes on (from memory; 0.8 to 0.9).
SLOPE_SHARE = 0.85
# So far around it, in withers heights, the body feels the ground as one slope (estimate: half its length).
FELT_SHARE = 0.45


def body_frames(animal: Animal, path: Path, time_s: Array) -> Frames:
    """Return the frame that goes along with the body: the middle of the trunk is on the path. [s]"""
    standing = standing_positions_m(animal)
    tops = [float(standing[animal.limb(end).top, 0]) for end in ("fore", "hind")]
    return path.frames(time_s, sum(tops) / 2.0)


def way_height_m(
    animal: Animal, path: Path, ground: Ground, distance_m: Array, time_s: Array | None = None
) -> Array:
    """Height of the ground that carries the body at distances (...) along its path: (...). [m]

    ``time_s`` (...) are the moments that count for turns on the spot. [s]
    """
    if ground == FLAT:
        return np.zeros(np.shape(distance_m))
    return carried_m(ground, path, distance_m, FELT_SHARE * animal.withers_height_m, time_s)


def felt_slope(
    animal: Animal,
    path: Path,
    ground: Ground,
    distance_m: Array,
    inside_m: tuple[float, float],
    time_s: Array,
) -> Array:
    """Rise over run of the ground that carries the body, (places,), at distances along its path. [m]

    On ground that is not even nothing is looked at beyond ``inside_m``. ``time_s`` (places,) are the moments
    that count for turns on the spot. [s]
    """
    apart = FELT_SHARE * animal.withers_height_m
    ends = distance_m[:, None] + apart * np.array([-0.5, 0.5])
    inside = ends if ground.is_even else np.clip(ends, *inside_m)
    heights = way_height_m(animal, path, ground, inside, time_s[:, None])
    return np.asarray(np.diff(heights, axis=1)[:, 0] / np.maximum(np.diff(inside, axis=1)[:, 0], apart / 2.0))


def under_ends_m(animal: Animal, path: Path, ground: Ground, grid: Grid) -> Array:
    """Height of the ground that chest and hips are carried over, (samples, 2). [m]

    The trunk takes on most of the slope.
    """
    tops = standing_positions_m(animal)[[animal.limb(end).top for end in ENDS], 0]
    ends_m = path.distance_m(grid.time_s)[:, None] + tops
    under = way_height_m(animal, path, ground, ends_m, grid.time_s[:, None])
    middle = under.mean(axis=1, keepdims=True)
    return np.asarray(middle + SLOPE_SHARE * (under - middle))
