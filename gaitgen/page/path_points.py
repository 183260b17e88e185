"""The path of a shot as points that can be dragged: from its file, from the page, and back into the file."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.animal.toml_table import parse
from gaitgen.errors import AnimalError, RequestError
from gaitgen.shot.way import Piece
from gaitgen.shot.way_file import TURN_RADIUS_M

Point = tuple[float, float]
Array = npt.NDArray[np.float64]

POINTS, RADIUS = "points", "radius"
MOST_POINTS, FARTHEST_M = 60, 10_000.0
# A turn of more than this is led around its corner by more than one point.
WIDEST_RAD = math.radians(120.0)
LEAST_END_M = 4.0
# More points than these nobody drags; of a curve those are kept that it goes by so near.
MOST_DRAGGED, NEAR_M, MOST_PIECES = 24, 0.1, 49
_HEAD = re.compile(r"\s*\[\[?\s*[A-Za-z_][\w.\-]*\s*\]\]?\s*(#.*)?$")
_PATH_HEAD = re.compile(r"\s*\[\s*path\s*\]\s*(#.*)?$")


@dataclass(frozen=True)
class PathPoints:
    """A path through points, with a turn at each but the ends. [m]"""

    points: tuple[Point, ...]
    radius_m: float

    def as_values(self) -> dict[str, str]:
        """Return it as the page sends it."""
        text = ";".join(f"{x:.10g},{y:.10g}" for x, y in self.points)
        return {POINTS: text, RADIUS: f"{self.radius_m:.10g}"}


def points_from(values: dict[str, str]) -> PathPoints | None:
    """Read the path that the page sent; None if it sent none.

    Raises
    ------
    RequestError
        If it is no path.
    """
    unknown = set(values) - {POINTS, RADIUS}
    if unknown:
        raise RequestError(f"unknown control {min(unknown)[:40]!r}; use {POINTS} and {RADIUS}")
    if not values:
        return None
    try:
        rows = [tuple(float(word) for word in row.split(",")) for row in values.get(POINTS, "").split(";")]
        radius = float(values.get(RADIUS, f"{TURN_RADIUS_M}"))
    except ValueError:
        raise RequestError("points of the path are no numbers; give x,y;x,y;... in metres") from None
    within = [len(row) == 2 and all(abs(each) <= FARTHEST_M for each in row) for row in rows]
    if not all(within) or not 2 <= len(rows) <= MOST_POINTS or not 0.1 <= radius <= FARTHEST_M:
        raise RequestError(
            f"the path has {len(rows)} points; give 2 to {MOST_POINTS} of two numbers each, within "
            f"{FARTHEST_M:g} m, and a radius from 0.1 m"
        )
    return PathPoints(tuple((row[0], row[1]) for row in rows), radius)


def points_of_pieces(
    pieces: tuple[Piece, ...], start_m: Point, heading_rad: float, way_m: float
) -> PathPoints:
    """Return the points that lead a way along its pieces: its start, the corner of every turn, its end.

    Parameters
    ----------
    pieces
        Length and bend of each. [m], [1/m]
    start_m, heading_rad
        Where it begins, and facing where. [m], [rad]
    way_m
        How far the body goes, so that the last point is beyond. [m]
    """
    place, heading = np.array(start_m), heading_rad
    points = [place.copy()]
    for length, bend in pieces:
        parts = max(1, math.ceil(abs(length * bend) / WIDEST_RAD)) if bend else 1
        for _ in range(parts):
            turn = length * bend / parts
            if bend:
                points.append(place + math.tan(turn / 2.0) / bend * _ahead(heading))
                place = points[-1] + math.tan(turn / 2.0) / bend * _ahead(heading + turn)
                heading += turn
            else:
                place = place + length * _ahead(heading)
    beyond = way_m - sum(length for length, _ in pieces)
    if beyond > 0.0 or not pieces:
        points.append(place + max(beyond, LEAST_END_M) * _ahead(heading))
    elif pieces[-1][1]:
        points.append(place + LEAST_END_M * _ahead(heading))
    else:
        points.append(place)
    radii = [1.0 / abs(bend) for _, bend in pieces if bend]
    apart = [points[0]] + [b for a, b in pairwise(points) if float(np.linalg.norm(b - a)) > 1e-6]
    if len(apart) > MOST_DRAGGED:  # a curve, of which the points that shape it are taken
        apart = _fewer(apart)
    rounded = tuple((round(float(x), 3) + 0.0, round(float(y), 3) + 0.0) for x, y in apart)
    return PathPoints(
        rounded, round(min(radii), 3) if radii and len(pieces) <= MOST_PIECES else TURN_RADIUS_M
    )


def _fewer(points: list[Array]) -> list[Array]:
    """Leave out points as long as the line through the rest stays near them."""
    line, near_m = shapely.linestrings(points), NEAR_M
    while len(kept := shapely.get_coordinates(line.simplify(near_m))) > MOST_DRAGGED:
        near_m *= 1.5
    return list(kept)


def _ahead(heading_rad: float) -> Array:
    return np.array([math.cos(heading_rad), math.sin(heading_rad)])


def with_path(text: str, path: PathPoints, where: str) -> str:
    """Put a path into the text of a shot file; all else of it stays as it is, comments too.

    Raises
    ------
    RequestError
        If the file says its path in a way that cannot be replaced.
    """
    lines = text.splitlines()
    heads = [k for k, line in enumerate(lines) if _PATH_HEAD.match(line)]
    table = _table(path)
    if heads:
        after = next((k for k in range(heads[0] + 1, len(lines)) if _HEAD.match(lines[k])), len(lines))
        gap = [""] if after < len(lines) else []
        lines[heads[0] : after] = [*table, *gap]
    else:
        lines += ["", *table]
    made = "\n".join(lines) + "\n"
    if not _differs_in_path_alone(text, made, path):
        raise RequestError(f"{where}: its path cannot be replaced; write it as a table [path] with points")
    return made


def _table(path: PathPoints) -> list[str]:
    def number(value: float) -> str:
        return f"{round(value, 3) + 0.0:g}"

    rows = [f"    [{number(x)}, {number(y)}]," for x, y in path.points]
    return ["[path]", "points = [", *rows, "]", f"radius = {number(path.radius_m)}"]


def _differs_in_path_alone(before: str, after: str, path: PathPoints) -> bool:
    """Tell whether two texts say the same, but for the path, and the second says this path."""
    try:
        old, new = (parse(text.encode(), "").content for text in (before, after))
    except AnimalError:
        return False
    points = [[round(x, 3) + 0.0, round(y, 3) + 0.0] for x, y in path.points]
    return {**old, "path": {"points": points, "radius": round(path.radius_m, 3)}} == new
