"""Fewer points for the same figure: capsules that follow one another become one outline."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

import numpy as np
import numpy.typing as npt

from gaitgen.pictures.views import ARC_POINTS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]

# Two capsules are joined where their sides meet within this share of the width there.
JOIN_SHARE = 0.12


def lean_axes(axes: Axes) -> Axes:
    """Return axes to paint on that join capsules before they are drawn."""
    return cast("Axes", _LeanAxes(axes))


class _LeanAxes:
    """Takes collections of polygons and passes them on with chains of capsules joined."""

    def __init__(self, axes: Axes) -> None:
        self.axes = axes

    def add_collection(self, collection: Any) -> None:  # noqa: ANN401
        """Join what can be joined and draw it all as one path."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        outlines = joined([path.vertices[:-1] for path in collection.get_paths()])
        if not outlines:
            return
        points = [np.concatenate([outline, outline[:1]]) for outline in outlines]
        codes = [
            np.array([Path.MOVETO, *[Path.LINETO] * (len(outline) - 1), Path.CLOSEPOLY], dtype=np.uint8)
            for outline in outlines
        ]
        patch = PathPatch(
            Path(np.concatenate(points), np.concatenate(codes)),
            facecolor=_tone(collection.get_facecolor()),
            edgecolor=_tone(collection.get_edgecolor()),
            linewidth=float(np.max(collection.get_linewidth())),
            joinstyle="round",
            zorder=collection.get_zorder(),
        )
        self.axes.add_artist(patch)


def _tone(colours: Array) -> tuple[float, ...] | str:
    """Return the one colour of a collection, or that it has none."""
    return tuple(float(value) for value in colours[0]) if len(colours) else "none"


def joined(polygons: list[Array]) -> list[Array]:
    """Join outlines of capsules, each (2 ARC_POINTS, 2), that follow one another; keep other polygons.

    The outline of a chain is that of a thick line: an arc at each end and the two sides, filled by
    non-zero winding.
    """
    if not polygons or any(polygon.shape != (2 * ARC_POINTS, 2) for polygon in polygons):
        return polygons
    capsules = np.stack(polygons)
    right, left = capsules[:, [ARC_POINTS - 1, ARC_POINTS]], capsules[:, [0, -1]]  # (n, start and end, 2)
    width = np.linalg.norm(left - right, axis=2)  # (n, 2)
    gap = np.maximum(
        np.linalg.norm(right[1:, 0] - right[:-1, 1], axis=1),
        np.linalg.norm(left[1:, 0] - left[:-1, 1], axis=1),
    )
    follows = gap < JOIN_SHARE * np.minimum(width[1:, 0], width[:-1, 1])
    starts = np.flatnonzero(np.concatenate([[True], ~follows]))
    ends = np.concatenate([starts[1:], [len(polygons)]])
    outlines = []
    for start, end in zip(starts, ends, strict=True):
        chain = capsules[start:end]
        outlines.append(
            np.concatenate(
                [
                    chain[0, :ARC_POINTS],
                    right[start:end].reshape(-1, 2)[1:-1],
                    chain[-1, ARC_POINTS:],
                    left[start:end].reshape(-1, 2)[1:-1][::-1],
                ]
            )
        )
    return outlines
