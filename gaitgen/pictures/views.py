"""Directions to look from, and the flat outlines of discs, capsules and feet: no drawing library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ARC_POINTS = 14


@dataclass(frozen=True)
class View:
    """One direction to look from, orthographic.

    Attributes
    ----------
    name
        ``side``, ``front`` or ``three_quarter``.
    right, up, towards
        Unit vectors of the picture in world axes: to the right, upward, and towards the viewer.
    """

    name: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    towards: tuple[float, float, float]

    def project(self, points_m: Array) -> Array:
        """Turn points (..., 3) into picture coordinates (..., 2). [m]"""
        return np.stack([points_m @ np.array(self.right), points_m @ np.array(self.up)], axis=-1)

    def nearness(self, points_m: Array) -> Array:
        """Return how near the viewer points (..., 3) are. [m]"""
        return np.asarray(points_m @ np.array(self.towards))


def turned_view(name: str, azimuth_deg: float, elevation_deg: float) -> View:
    """Look from an azimuth, counted from the animal's front to its right, and an elevation. [deg]"""
    azimuth, elevation = np.radians(azimuth_deg), np.radians(elevation_deg)
    flat = np.array([np.cos(azimuth), -np.sin(azimuth), 0.0])
    towards = np.cos(elevation) * flat + np.array([0.0, 0.0, np.sin(elevation)])
    right = np.array([np.sin(azimuth), np.cos(azimuth), 0.0])
    up = np.cross(towards, right)
    return View(name, *((float(v[0]), float(v[1]), float(v[2])) for v in (right, up, towards)))


VIEWS: Mapping[str, View] = {
    "side": turned_view("side", 90.0, 0.0),
    "front": turned_view("front", 0.0, 0.0),
    "three_quarter": turned_view("three_quarter", 40.0, 12.0),
}


def capsule_outlines(ends: Array, radii: Array) -> Array:
    """Draw round pairs of discs: (..., 2, 2) and (..., 2) to closed polygons (..., 2 ARC_POINTS, 2).

    The convex hull of two discs: two arcs and their common tangents. Where one disc hides the other,
    the bigger one.
    """
    along = ends[..., 1, :] - ends[..., 0, :]
    length = np.maximum(np.linalg.norm(along, axis=-1), 1e-9)
    heading = np.arctan2(along[..., 1], along[..., 0])
    lean = np.arccos(np.clip((radii[..., 0] - radii[..., 1]) / length, -1.0, 1.0))
    share = np.linspace(0.0, 1.0, ARC_POINTS)
    first = (heading + lean)[..., None] + share * (2.0 * np.pi - 2.0 * lean)[..., None]
    second = (heading - lean)[..., None] + share * (2.0 * lean)[..., None]
    arcs = [
        ends[..., k, None, :] + radii[..., k, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        for k, angle in enumerate((first, second))
    ]
    return np.concatenate(arcs, axis=-2)


def hull(points: Array) -> Array:
    """Return the convex hull of a few points (points, 2), counter-clockwise, by turning around them."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    rest = points[order]

    def half(sequence: Array) -> list[Array]:
        chain: list[Array] = []
        for point in sequence:
            while len(chain) > 1 and _left_turn(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return np.array(half(rest) + half(rest[::-1]))


def _left_turn(a: Array, b: Array, c: Array) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
