"""What is seen of a leg of the far side beside what lies over it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

from gaitgen.pictures.silhouette import Silhouette, silhouette

# As shares of the height of a figure: a far leg ends so far before what lies over it, so that the two do not
# touch; what is thinner is no leg but a line; and a piece of no more than the square of this is a crumb.
GAP_SHARE, THIN_SHARE, CRUMB_SHARE = 0.011, 0.008, 0.03
# How round a torso ends where what stands out on the far side is cut off.
ROUND_SHARE = 0.04
# What looks out of a far thigh or shoulder without the leg below it is trunk up to the square of this.
ALONE_SHARE = 0.14
LOWER_SHARE = 0.2


def with_rounded(torso: Silhouette, more: Sequence[Any]) -> Silhouette:
    """Unite a torso with cut pieces, whose corners are rounded off."""
    round_m = ROUND_SHARE * torso.height_m
    rounded = shapely.union_all([torso.shape, *more]).buffer(-round_m).buffer(round_m)
    return silhouette([], torso.height_m, [torso.shape, rounded])


def upper_alone(leg: Any, upper: Any, over: Sequence[Any], height_m: float) -> Any:  # noqa: ANN401
    """Return the small pieces of a leg that look out from what lies over it with little but shoulder or thigh."""
    gap_m = GAP_SHARE * height_m
    pieces = shapely.get_parts(leg.difference(shapely.union_all([shape.buffer(gap_m) for shape in over])))
    own = upper.buffer(THIN_SHARE * height_m)
    small_m2 = (ALONE_SHARE * height_m) ** 2
    kept = [
        piece
        for piece in pieces
        if piece.area < small_m2 and piece.difference(own).area < LOWER_SHARE * piece.area
    ]
    return shapely.union_all(kept).buffer(1.5 * gap_m).intersection(leg)


def seen_part(leg: Any, over: Sequence[Any], height_m: float) -> tuple[Any, Any]:  # noqa: ANN401
    """Return what is seen of a shape under others, and those of its own edges that bound it.

    Where it is cut by what lies over it, it has no edge of its own. Of what looks out, threads and crumbs
    are left out. [m]
    """
    beside = shapely.union_all([shape.buffer(GAP_SHARE * height_m) for shape in over])
    seen = leg.difference(beside)
    half_m = THIN_SHARE * height_m / 2.0
    thick = seen.buffer(-half_m).buffer(1.5 * half_m)
    pieces = shapely.get_parts(seen.intersection(thick))
    kept = [piece for piece in pieces if piece.area > (CRUMB_SHARE * height_m) ** 2]
    seen = shapely.union_all(kept)
    return seen, leg.boundary.intersection(seen.buffer(1e-4 * height_m))
