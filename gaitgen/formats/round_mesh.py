"""Triangles of a tapered capsule: the convex hull of two balls."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Sections around grow with the radius, so that facets are evenly long; an even number, in limits.
LEAST_SECTIONS, MOST_SECTIONS = 8, 24
ARC_STEPS = 7
"""Rings from pole to pole of a ball."""


def round_mesh(ends_m: Array, radii_m: Array, facet_m: float) -> tuple[Array, Array, Array, Ints]:
    """Turn a profile around the axis of two balls.

    Parameters
    ----------
    ends_m
        (2, 3) centres of the balls; they may coincide. [m]
    radii_m
        (2,) radii, above 0. [m]
    facet_m
        About how long a facet is. [m]

    Returns
    -------
    vertices_m
        (vertices, 3). [m]
    normals
        (vertices, 3) exact unit normals of the round shape.
    along
        (vertices,) place along the axis of the ball that each vertex lies on, 0 to 1.
    triangles
        (triangles, 3), counter-clockwise from outside.
    """
    from trimesh.creation import revolve

    axis = ends_m[1] - ends_m[0]
    length = float(np.linalg.norm(axis))
    along, lean = _profile(length, radii_m)
    radius = radii_m[0] + along * (radii_m[1] - radii_m[0])
    rings = np.stack([radius * np.sin(lean), along * length + radius * np.cos(lean)], axis=1)
    rings[[0, -1], 0] = 0.0
    facets = 2 * round(np.pi * float(radii_m.max()) / facet_m)
    sections = int(np.clip(facets, LEAST_SECTIONS, MOST_SECTIONS))
    shape = revolve(rings, sections=sections, process=False)
    angle = np.repeat(2.0 * np.pi * np.arange(sections) / sections, len(along))
    lean = np.tile(lean, sections)
    out = np.stack([np.sin(lean) * np.cos(angle), np.sin(lean) * np.sin(angle), np.cos(lean)], axis=1)
    frame = _frame_along(axis)
    vertices = ends_m[0] + np.asarray(shape.vertices) @ frame.T
    return vertices, out @ frame.T, np.tile(along, sections), np.asarray(shape.faces, dtype=np.int64)


def _profile(length_m: float, radii_m: Array) -> tuple[Array, Array]:
    """Return place along the axis (0 to 1) and angle from it of each ring, from pole to pole. [rad]

    Both balls have rings up to the circle where the cone touches them; a ball that the other one hides
    has none.
    """
    if length_m <= abs(radii_m[1] - radii_m[0]) + 1e-9:
        lean = np.linspace(np.pi, 0.0, ARC_STEPS + 1)
        return np.full_like(lean, float(np.argmax(radii_m))), lean
    touch = float(np.arccos((radii_m[0] - radii_m[1]) / length_m))
    first = np.linspace(np.pi, touch, 1 + max(1, round((1.0 - touch / np.pi) * ARC_STEPS)))
    second = np.linspace(touch, 0.0, 1 + max(1, round(touch / np.pi * ARC_STEPS)))
    return np.repeat([0.0, 1.0], [len(first), len(second)]), np.concatenate([first, second])


def _frame_along(axis: Array) -> Array:
    """Return a right-handed frame (3, 3) whose third column is the axis; the first is across."""
    length = np.linalg.norm(axis)
    third = axis / length if length > 0.0 else np.array([0.0, 0.0, 1.0])
    # Most capsules run far from the left-right axis; both sides then are mirror images.
    aside = np.array([0.0, 1.0, 0.0]) if abs(third[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    first = np.cross(aside, third)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(third, first), third], axis=1)
