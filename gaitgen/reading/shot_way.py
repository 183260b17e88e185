"""The way of a shot's body, read from the file beside its clip, and the ground that it tells."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import no_file
from gaitgen.course.ground import Heights
from gaitgen.errors import FileFormatError
from gaitgen.formats.bvh import POSITION_WORDS
from gaitgen.formats.read_bvh import LARGEST_FILE_BYTES

Array = npt.NDArray[np.float64]

WAY_END = ".path.csv"
# How far beside its way the plan shows how high the ground is, in withers heights, and at least as a share of
# the longer side of the plan, so that lines of equal height are seen (estimates).
BESIDE_WITHERS, BESIDE_SHARE = 1.5, 0.07


@dataclass(frozen=True, eq=False)
class Way:
    """The way of a body: (frames, 3) places on the ground [m], (frames,) headings to the left of x [rad]."""

    place_m: Array
    heading_rad: Array


def way_beside(clip: Path) -> Path | None:
    """Return the file with the way of a clip, if it is beside it."""
    found = clip.with_name(f"{clip.stem}{WAY_END}")
    return found if found.is_file() else None


def read_way(path: Path, axes: Array, metres: float) -> Way:
    """Read the way in the axes of its clip, (3, 3) rows forward, left, up, and its unit in metres.

    Raises
    ------
    FileFormatError
        If it cannot be read, or is no way of a shot; one line.
    """
    words = [f"path.{word}" for word in POSITION_WORDS]
    try:
        if not path.is_file() or path.stat().st_size > LARGEST_FILE_BYTES:
            fault = "is too large" if path.is_file() else no_file(path)
            raise FileFormatError(f"cannot read {path}: it {fault}; give the way of a shot")
        text = path.read_text(encoding="utf-8")
        rows = list(csv.DictReader(io.StringIO(text)))
        values = np.array([[float(row[word]) for word in (*words, "path.heading")] for row in rows])
    except (OSError, UnicodeDecodeError) as fault:
        raise FileFormatError(f"cannot read {path}: {fault}; give the way of a shot") from None
    except (KeyError, TypeError, ValueError, csv.Error):
        raise FileFormatError(
            f"{path} is no way of a shot; it wants the columns {', '.join(words)} and path.heading, and "
            "numbers in them"
        ) from None
    if values.ndim != 2 or not np.isfinite(values).all():
        raise FileFormatError(f"{path} is no way of a shot; it has no rows, or numbers that are not finite")
    return Way(metres * values[:, :3] @ axes.T, np.radians(values[:, 3]))


def ground_along(way: Way) -> Heights:
    """Return ground that is as high as the nearest place of a way."""
    from scipy.spatial import KDTree

    tree, heights = KDTree(way.place_m[:, :2]), way.place_m[:, 2]
    ahead = np.stack([np.cos(way.heading_rad), np.sin(way.heading_rad)], axis=1)
    steps = np.linalg.norm(np.diff(way.place_m[:, :2], axis=0), axis=1)
    gone = np.concatenate([[0.0], np.cumsum(steps)])
    moves = np.concatenate([[True], steps > 1e-6])

    def height_m(place_m: Array) -> Array:
        nearest = tree.query(place_m)[1]
        along = gone[nearest] + ((place_m - way.place_m[nearest, :2]) * ahead[nearest]).sum(axis=-1)
        return np.asarray(np.interp(along, gone[moves], heights[moves]))

    return Heights(heights_m=height_m)


def ground_near(way: Way, ground: Heights, withers_height_m: float) -> Heights:
    """Return ground beside a way alone, which a plan shows heights of: farther off nothing is known of it."""
    from scipy.spatial import KDTree

    level_m = way.place_m[:, :2]
    tree = KDTree(level_m)
    reach_m = max(BESIDE_WITHERS * withers_height_m, BESIDE_SHARE * float(np.ptp(level_m, axis=0).max()))

    def height_m(place_m: Array) -> Array:
        return np.where(tree.query(place_m)[0] <= reach_m, ground.known_m(place_m), np.nan)

    return Heights(heights_m=height_m)
