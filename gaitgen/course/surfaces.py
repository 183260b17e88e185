"""Grounds that are made of something: steps, a height map, a mesh."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground, Heights
from gaitgen.errors import CourseError

Array = npt.NDArray[np.float64]

LEAST_AREA_M2 = 1e-12  # of a triangle seen from above; less is a wall


def stairs(steps_m: list[tuple[float, float]], heading_rad: float, name: str = "the ground") -> Heights:
    """Make steps across one direction, level between them.

    Parameters
    ----------
    steps_m
        (distance, rise) of each step along the direction, from the origin; a negative rise goes down. [m]
    heading_rad
        The direction, to the left of x. [rad]
    name
        What it is called in messages.

    Raises
    ------
    CourseError
        If the distances do not rise.
    """
    at, rises = np.array(steps_m, dtype=np.float64).T
    if np.diff(at, prepend=-np.inf).min() <= 0.0:
        raise CourseError("the distances of the steps do not rise; give each one after the last")
    heights = np.concatenate([[0.0], np.cumsum(rises)])
    ahead = np.array([np.cos(heading_rad), np.sin(heading_rad)])

    def height_m(place_m: Array) -> Array:
        return np.asarray(heights[np.searchsorted(at, place_m @ ahead, side="right")])

    return Heights(heights_m=height_m, name=name, rise_m=float(np.abs(rises).max()))


def height_map(
    heights_m: Array, metres_per_pixel: float, corner_m: tuple[float, float], name: str = "the ground"
) -> Heights:
    """Make ground of a picture of heights, smooth between pixels.

    Parameters
    ----------
    heights_m
        (rows, columns) heights; x rises along a row, y from the last row to the first; nan is a hole. [m]
    metres_per_pixel
        Distance of pixels. [m]
    corner_m
        (x, y) of the lower left pixel. [m]
    name
        What it is called in messages.
    """
    from scipy.interpolate import RectBivariateSpline
    from scipy.ndimage import distance_transform_edt

    rows = heights_m[::-1]
    hole = ~np.isfinite(rows)
    if hole.all() or min(rows.shape) < 4:
        raise CourseError(f"{name} has no ground; give at least 4 by 4 pixels that are not clear")
    if hole.any():  # so that the spline beside a hole is that of the ground beside it
        near = distance_transform_edt(hole, return_distances=False, return_indices=True)
        rows = rows[tuple(near)]
    y, x = (corner_m[1 - k] + metres_per_pixel * np.arange(rows.shape[k]) for k in (0, 1))
    spline = RectBivariateSpline(y, x, rows)

    def height_m(place_m: Array) -> Array:
        column = (place_m[..., 0] - corner_m[0]) / metres_per_pixel
        row = (place_m[..., 1] - corner_m[1]) / metres_per_pixel
        last_row, last_column = rows.shape[0] - 1, rows.shape[1] - 1
        inside = (column >= 0.0) & (column <= last_column) & (row >= 0.0) & (row <= last_row)
        k, m = (np.where(inside, np.round(each), 0.0).astype(np.int64) for each in (row, column))
        inside &= ~hole[k, m]
        return np.where(inside, spline.ev(place_m[..., 1], place_m[..., 0]), np.nan)

    return Heights(heights_m=height_m, name=name)


def mesh_ground(triangles_m: Array, name: str = "the ground") -> Heights:
    """Make ground of a mesh: at each place its highest triangle.

    Parameters
    ----------
    triangles_m
        (triangles, 3, 3) corners. [m]
    name
        What it is called in messages.

    Raises
    ------
    CourseError
        If none of it can be stood on.
    """
    import shapely

    first, second, third = (triangles_m[:, k] for k in range(3))
    a, b = second - first, third - first
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    flat = np.abs(area) > LEAST_AREA_M2
    if not flat.any():
        raise CourseError(f"{name} has no face that can be stood on; give a mesh with its up axis up")
    first, a, b, area = first[flat], a[flat], b[flat], area[flat]
    corners = triangles_m[flat, :, :2]
    tree = shapely.STRtree(shapely.polygons(np.concatenate([corners, corners[:, :1]], axis=1)))

    def height_m(place_m: Array) -> Array:
        places = place_m.reshape(-1, 2)
        point, face = tree.query(shapely.points(places), predicate="intersects")
        off = places[point] - first[face, :2]
        u = (off[:, 0] * b[face, 1] - off[:, 1] * b[face, 0]) / area[face]
        v = (a[face, 0] * off[:, 1] - a[face, 1] * off[:, 0]) / area[face]
        heights = np.full(len(places), -np.inf)
        np.maximum.at(heights, point, first[face, 2] + u * a[face, 2] + v * b[face, 2])
        return np.where(np.isfinite(heights), heights, np.nan).reshape(place_m.shape[:-1])

    return Heights(heights_m=height_m, name=name)


def with_block(
    ground: Ground, place_m: tuple[float, float], heading_rad: float, size_m: tuple[float, float, float]
) -> Heights:
    """Stand a block on a ground.

    Parameters
    ----------
    ground
        The ground.
    place_m, heading_rad
        Middle of the block (x, y), and the way that leads over it. [m], [rad]
    size_m
        How thick it is along that way, how wide across it, and how high.
    """
    ahead = np.array([np.cos(heading_rad), np.sin(heading_rad)])
    across = np.array([-ahead[1], ahead[0]])
    thick, wide, high = size_m

    def height_m(points_m: Array) -> Array:
        away = points_m - np.array(place_m)
        inside = (np.abs(away @ ahead) <= thick / 2.0) & (np.abs(away @ across) <= wide / 2.0)
        return np.asarray(ground.known_m(points_m) + np.where(inside, high, 0.0))

    return Heights(ground.grade, ground.uphill_rad, height_m, ground.called, high)
