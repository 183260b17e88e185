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
LOWER_SHARE, NECK_SHARE = 0.2, 0.008
# A tail is thinner than twice this, and a loop that it closes no larger than the square of that.
TAIL_SHARE, LOOP_SHARE = 0.03, 0.08


def with_rounded(torso: Silhouette, more: Sequence[Any]) -> Silhouette:
    """Unite a torso with cut pieces, whose corners are rounded off."""
    round_m = ROUND_SHARE * torso.height_m
    rounded = shapely.union_all([torso.shape, *more]).buffer(-round_m).buffer(round_m)
    return silhouette([], torso.height_m, [torso.shape, rounded])


def upper_alone(leg: Any, upper: Any, over: Any, beside: Any, height_m: float) -> Any:  # noqa: ANN401
    """Return the small pieces of a far leg that look out with little but its shoulder or thigh.

    ``over`` are near legs, which lie over it; ``beside`` is a torso with its tail, beside which it ends. [m]
    """
    gap_m = GAP_SHARE * height_m
    pieces = shapely.get_parts(leg.difference(over).difference(beside).buffer(-NECK_SHARE * height_m))
    own = upper.buffer(THIN_SHARE * height_m)
    small_m2 = (ALONE_SHARE * height_m) ** 2
    kept = [
        piece
        for piece in pieces
        if piece.area < small_m2 and piece.difference(own).area < LOWER_SHARE * piece.area
    ]
    return shapely.union_all(kept).buffer(gap_m + NECK_SHARE * height_m).intersection(leg)


def tail_loops(torso: Any, near: Any, tail: Any, height_m: float) -> Any:  # noqa: ANN401
    """Return the small loops that a tail, whether thin and of skin or of hair, closes with a body and its legs."""
    thin_m = TAIL_SHARE * height_m
    tails = shapely.union_all([torso.difference(torso.buffer(-thin_m).buffer(1.1 * thin_m)), tail])
    parts = shapely.get_parts(shapely.union_all([torso, near, tail]))
    holes = [shapely.Polygon(hole) for part in parts for hole in part.interiors]
    small_m2, near_m = (LOOP_SHARE * height_m) ** 2, 1e-3 * height_m
    return shapely.union_all(
        [hole for hole in holes if hole.area < small_m2 and hole.buffer(near_m).intersects(tails)]
    ).buffer(near_m)


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
