"""Silhouettes: many outlines as one shape without inner lines, and its edges as paths to draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.pictures.overlay import common, together, without

if TYPE_CHECKING:
    from matplotlib.path import Path

Array = npt.NDArray[np.float64]

# As shares of the height of a figure: how wide a notch between two parts is filled, as skin would span it;
# how far a simplified outline may be from the exact one, a fortieth of a millimetre on a sheet; and how near
# an edge must be to a part to be counted as that part's.
NOTCH_SHARE, COARSE_SHARE, OWN_SHARE = 0.004, 0.0006, 0.003
# A hole whose area is a square of this side is filled.
HOLE_SHARE = 0.03
# A shorter piece of an edge says nothing.
SHORT_SHARE = 0.05
_ARC = 4


@dataclass(frozen=True, eq=False)
class Silhouette:
    """The union of some outlines.

    Attributes
    ----------
    shape
        A polygon, several of them, or nothing.
    height_m
        Height of the figure that it belongs to, which says how fine it is drawn. [m]
    """

    shape: Any
    height_m: float

    @cached_property
    def edge(self) -> Any:  # noqa: ANN401
        """Its boundary as lines."""
        return self.shape.boundary

    def edge_of(self, part: Silhouette, hidden: Silhouette | None = None) -> Any:  # noqa: ANN401
        """Return the edges that are a part's own, without those that another part has as well."""
        near_m = OWN_SHARE * self.height_m
        edge = common(self.edge, part.shape.buffer(near_m, quad_segs=_ARC))
        if hidden is not None:
            edge = without(edge, hidden.shape.buffer(near_m, quad_segs=_ARC))
        lines = shapely.get_parts(shapely.line_merge(edge))
        return shapely.multilinestrings(lines[shapely.length(lines) > SHORT_SHARE * self.height_m])

    def rounded(self, share: float) -> Any:  # noqa: ANN401
        """Return its shape with hollows no narrower than this, as a share of the figure's height."""
        round_m = share * self.height_m
        return closed(self.shape, round_m, 2 * _ARC)


def silhouette(polygons: Sequence[Array], height_m: float, united: Sequence[Any] = ()) -> Silhouette:
    """Unite polygons (each (corners, 2)) and what is united already, and fill the notches between. [m]"""
    if not polygons and not united:
        return Silhouette(shapely.Polygon(), height_m)
    whole = together([*united, unite(polygons)]) if united else unite(polygons)
    notch_m = NOTCH_SHARE * height_m
    filled = _without_holes(closed(whole, notch_m, _ARC), (HOLE_SHARE * height_m) ** 2)
    return Silhouette(filled.simplify(COARSE_SHARE * height_m), height_m)


def closed(shape: Any, round_m: float, quad_segs: int) -> Any:  # noqa: ANN401
    """Return a shape with its hollows closed that are narrower than twice a radius. [m]

    Nothing of the shape is lost by that, but the geometry library now and then gives back nothing of a part
    that it makes thinner again: then the shape is laid on a grid first, or else stays as it is.
    """
    for grid_m in (0.0, 1e-5, 1e-4):
        laid = shapely.set_precision(shape, grid_m) if grid_m else shape
        made = laid.buffer(round_m, quad_segs=quad_segs).buffer(-round_m, quad_segs=quad_segs)
        if made.area > 0.99 * shape.area:
            return made
    return shape


def unite(polygons: Sequence[Array]) -> Any:  # noqa: ANN401
    """Return the bare union of polygons, each (corners, 2). [m]"""
    sizes = np.array([len(polygon) for polygon in polygons], dtype=np.int64)
    if not sizes.size:
        return shapely.Polygon()
    owner = np.repeat(np.arange(sizes.size), sizes)
    rings = shapely.linearrings(np.concatenate(list(polygons)), indices=owner)
    return together(shapely.polygons(rings))


def _without_holes(shape: Any, largest_m2: float) -> Any:  # noqa: ANN401
    """Fill holes up to an area, as skin between a tendon and its bone does."""
    whole = []
    for part in shapely.get_parts(shape):
        holes = [hole for hole in part.interiors if shapely.Polygon(hole).area > largest_m2]
        whole.append(shapely.Polygon(part.exterior, holes))
    return shapely.multipolygons(whole)


def drawn_path(geometry: Any, shift_m: Array) -> Path | None:  # noqa: ANN401
    """Return the path of polygons or lines, moved; None if there is nothing to draw."""
    from matplotlib.path import Path

    lines = _lines(geometry)
    if not lines:
        return None
    codes = []
    for line in lines:
        steps = np.full(len(line), Path.LINETO, dtype=np.uint8)
        steps[0] = Path.MOVETO
        if np.array_equal(line[0], line[-1]):
            steps[-1] = Path.CLOSEPOLY
        codes.append(steps)
    return Path(np.concatenate(lines) + shift_m, np.concatenate(codes))


def _lines(geometry: Any) -> list[Array]:  # noqa: ANN401
    """Corners of every ring and line; holes turn the other way round than what they are in."""
    found: list[Array] = []
    parts = shapely.get_parts(geometry)
    for part in parts[~shapely.is_empty(parts)]:
        if part.geom_type == "Polygon":
            turned = shapely.geometry.polygon.orient(part)
            found += [np.asarray(ring.coords) for ring in (turned.exterior, *turned.interiors)]
        elif part.geom_type in {"LineString", "LinearRing"} and part.length > 0.0:
            found.append(np.asarray(part.coords))
    return found
