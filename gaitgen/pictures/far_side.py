"""What is seen of a leg of the far side beside what lies over it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

# As shares of the height of a figure: a far leg ends so far before what lies over it, so that the two do not
# touch; what is thinner is no leg but a line; and a piece of no more than the square of this is a crumb.
GAP_SHARE, THIN_SHARE, CRUMB_SHARE = 0.011, 0.008, 0.03


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
