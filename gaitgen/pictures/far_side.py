"""The far side of a figure beside what lies over it: what of it is trunk, and what is seen of its legs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.animal.flesh import Body
from gaitgen.pictures.flat import Flat
from gaitgen.pictures.overlay import common, together, without
from gaitgen.pictures.silhouette import Silhouette, silhouette

Bools = npt.NDArray[np.bool_]

# How wide a hollow between a far thigh and the belly the skin spans, as a share of the figure's height.
FOLD_SHARE = 0.09
# How round the trunk is drawn where neck and back meet, as a share of the figure's height.
BEND_SHARE = 0.04
# As shares of the height of a figure: what is seen of a far leg and is thinner is no leg but a line; and a
# piece of no more than the square of this is a crumb. A far leg goes on up to what lies over it: with a gap
# between them it looks cut in two.
THIN_SHARE, CRUMB_SHARE = 0.01, 0.04
# How round a torso ends where what stands out on the far side is cut off.
ROUND_SHARE = 0.04
# What looks out of a far thigh or shoulder without the leg below it is trunk up to the square of this.
ALONE_SHARE = 0.14
LOWER_SHARE, NECK_SHARE = 0.2, 0.008
# A tail is thinner than twice this, and a loop that it closes no larger than the square of that.
TAIL_SHARE, LOOP_SHARE = 0.03, 0.12


@dataclass(frozen=True, eq=False)
class Sides:
    """A figure's far legs, and what lies over them. [m]

    Attributes
    ----------
    torso
        The trunk with shoulders and hips.
    far_legs
        The whole of each far leg with its foot.
    near_legs, tail
        What lies over them but for the torso.
    """

    torso: Silhouette
    far_legs: Mapping[str, Any]
    near_legs: Any
    tail: Any

    def seen(self, limb: str, nearer: Sequence[str], *, has_tail_over: bool) -> tuple[Any, Any]:
        """Return what is seen of a far leg under others, and its own edges. [m]"""
        over = [self.near_legs, self.torso.rounded(BEND_SHARE), *(self.far_legs[name] for name in nearer)]
        return seen_part(
            self.far_legs[limb], [*over, self.tail] if has_tail_over else over, self.torso.height_m
        )


def sides_of(
    flat: Flat,
    body: Body,
    behind: Sequence[str],
    near: Sequence[str],
    levels_m: Mapping[str, float],
    *,
    is_front: bool,
    has_folds: bool,
) -> Sides:
    """Tell the trunk from legs.

    Where shoulder and hip pass into the trunk, those of the far side do too. So does what of them is higher
    than the joint that they hang on (``levels_m`` in the picture), and what looks out without the leg below
    it. From the front all of them are trunk.
    """
    uppers, trunk = body.is_upper & body.limbs(behind), body.layer("trunk")
    passing = uppers & ~body.has_line & (is_front | ~body.is_bone)
    legs = {}
    for limb in behind:
        upper = uppers & body.limbs([limb]) & ~passing
        folds = [fold(flat, upper, trunk)] if has_folds else []
        legs[limb] = flat.limb(body, limb, ~passing, folds)
    tail = flat.shape(body.layer("tail")).shape
    near_legs = together([flat.limb(body, limb, np.ones_like(trunk)) for limb in near])
    torso = flat.shape(passing | trunk | (body.is_upper & ~body.has_line & body.limbs(near)))
    if is_front:
        return Sides(torso, legs, near_legs, tail)
    shoulders = {limb: uppers & body.limbs([limb]) for limb in behind}
    torso = with_rounded(torso, [flat.above(shoulders[limb], levels_m[limb]) for limb in behind])
    beside = torso.rounded(BEND_SHARE)
    alone = [
        upper_alone(legs[limb], flat.shape(shoulders[limb]).shape, near_legs, beside, flat.height_m)
        for limb in behind
    ]
    torso = silhouette([], flat.height_m, [torso.shape, *alone])
    loops = tail_loops(torso.rounded(BEND_SHARE), near_legs, tail, flat.height_m)
    return Sides(silhouette([], flat.height_m, [torso.shape, loops]), legs, near_legs, tail)


def fold(flat: Flat, which: Bools, parts: Bools) -> Any:  # noqa: ANN401
    """Return the skin in hollows between a limb and the trunk, on the side on which the trunk is. [m]"""
    own, other = flat.shape(which), flat.shape(parts)
    if own.shape.is_empty:
        return own.shape
    skin = without(flat.shape(which | parts).rounded(FOLD_SHARE), other.rounded(FOLD_SHARE))
    left, low, right, high = own.shape.buffer(2.0 * FOLD_SHARE * flat.height_m).bounds
    middle, is_ahead = own.shape.centroid.x, other.shape.centroid.x > own.shape.centroid.x
    return common(skin, shapely.box(middle if is_ahead else left, low, right if is_ahead else middle, high))


def with_rounded(torso: Silhouette, more: Sequence[Any]) -> Silhouette:
    """Unite a torso with cut pieces, whose corners are rounded off."""
    round_m = ROUND_SHARE * torso.height_m
    rounded = together([torso.shape, *more]).buffer(-round_m).buffer(round_m)
    return silhouette([], torso.height_m, [torso.shape, rounded])


def upper_alone(leg: Any, upper: Any, over: Any, beside: Any, height_m: float) -> Any:  # noqa: ANN401
    """Return the small pieces of a far leg that look out with little but its shoulder or thigh.

    ``over`` are near legs, which lie over it; ``beside`` is the torso. [m]
    """
    pieces = shapely.get_parts(without(without(leg, over), beside).buffer(-NECK_SHARE * height_m))
    own = upper.buffer(THIN_SHARE * height_m)
    small_m2 = (ALONE_SHARE * height_m) ** 2
    kept = [
        piece
        for piece in pieces
        if piece.area < small_m2 and without(piece, own).area < LOWER_SHARE * piece.area
    ]
    return common(together(kept).buffer(NECK_SHARE * height_m), leg)


def tail_loops(torso: Any, near: Any, tail: Any, height_m: float) -> Any:  # noqa: ANN401
    """Return the small loops that a tail, of hair or thin and of skin, closes with a body and its legs."""
    thin_m = TAIL_SHARE * height_m
    tails = together([without(torso, torso.buffer(-thin_m).buffer(1.1 * thin_m)), tail])
    parts = shapely.get_parts(together([torso, near, tail]))
    holes = [shapely.Polygon(hole) for part in parts for hole in part.interiors]
    small_m2, near_m = (LOOP_SHARE * height_m) ** 2, 1e-3 * height_m
    return together(
        [hole for hole in holes if hole.area < small_m2 and hole.buffer(near_m).intersects(tails)]
    ).buffer(near_m)


def seen_part(leg: Any, over: Sequence[Any], height_m: float) -> tuple[Any, Any]:  # noqa: ANN401
    """Return what is seen of a shape under others, and those of its own edges that bound it.

    Where it is cut by what lies over it, it has no edge of its own. Of what looks out, threads and crumbs
    are left out. [m]
    """
    seen = without(leg, together(over))
    half_m = THIN_SHARE * height_m / 2.0
    thick = seen.buffer(-half_m).buffer(1.5 * half_m)
    pieces = shapely.get_parts(common(seen, thick))
    kept = [piece for piece in pieces if piece.area > (CRUMB_SHARE * height_m) ** 2]
    seen = together(kept)
    return seen, common(leg.boundary, seen.buffer(1e-4 * height_m))
