"""Triangles of a foot: a rounded prism from its sole to its rim."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.foot_shape import ROUNDNESS, SECTIONS, foot_plan

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def foot_mesh(corners_m: Array) -> tuple[Array, Array, Ints]:
    """Loft a foot inside its box: a flat sole, a wall, a flat top.

    The outline touches the middle of each side of the box, so the ground point of the toe is a vertex.

    Parameters
    ----------
    corners_m
        (8, 3) corners, the four of the sole first. [m]

    Returns
    -------
    vertices_m
        (vertices, 3). [m]
    normals
        (vertices, 3) outward.
    triangles
        (triangles, 3), counter-clockwise from outside.
    """
    from trimesh.creation import revolve

    # Each ring of the profile is a radius and a level; the rims are there twice, for the edges' normals.
    radius, level = np.array([0.0, 1.0, 1.0, 1.0, 1.0, 0.0]), np.array([0, 0, 0, 1, 1, 1])
    rings = np.stack([radius, np.array([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])], axis=1)
    triangles = np.asarray(revolve(rings, sections=SECTIONS, process=False).faces, dtype=np.int64)
    boxes = corners_m.reshape(2, 4, 3)
    half = (boxes.max(axis=1) - boxes.min(axis=1))[:, :2] / 2.0  # (levels, 2)
    middle = (boxes.max(axis=1) + boxes.min(axis=1)) / 2.0  # (levels, 3)
    outline = foot_plan()
    plan = (outline[:, None] * half)[:, level] * radius[:, None]  # (sections, rings, 2)
    vertices = np.tile(middle[level], (SECTIONS, 1, 1))
    vertices[..., :2] += plan
    normals = np.zeros_like(vertices)
    normals[:, :2, 2], normals[:, 4:, 2] = -1.0, 1.0
    normals[:, 2:4] = _wall_normals(outline, half, vertices[:, 2:4])
    return vertices.reshape(-1, 3), normals.reshape(-1, 3), triangles


def _wall_normals(outline: Array, half_m: Array, wall_m: Array) -> Array:
    """Return the normals (sections, 2, 3) of the wall between two rings (sections, 2, 3)."""
    slope = np.sign(outline) * np.abs(outline) ** (ROUNDNESS - 1.0)  # gradient of the outline's equation
    across = slope[:, None] / half_m  # (sections, 2, 2)
    rise = wall_m[:, 1:] - wall_m[:, :1]
    up = -np.sum(across * rise[..., :2], axis=2) / rise[..., 2]
    normals = np.concatenate([across, up[..., None]], axis=2)
    return np.asarray(normals / np.linalg.norm(normals, axis=2, keepdims=True))
