"""What shapes have in common, and what is left of them: never an error of the geometry library."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import shapely

# Where edges nearly touch, the library may give up on them as they are: they are then laid on a grid. [m]
GRID_M = 1e-6


def common(one: Any, other: Any) -> Any:  # noqa: ANN401
    """Return what two shapes have in common."""
    return _laid_over(shapely.intersection, one, other)


def without(one: Any, other: Any) -> Any:  # noqa: ANN401
    """Return what is left of a shape without another."""
    return _laid_over(shapely.difference, one, other)


def together(shapes: Sequence[Any]) -> Any:  # noqa: ANN401
    """Return shapes as one."""
    return _laid_over(shapely.union_all, shapes)


def _laid_over(work: Callable[..., Any], *shapes: Any) -> Any:  # noqa: ANN401
    try:
        return work(*shapes)
    except shapely.errors.GEOSException:
        return work(*(shapely.make_valid(shape) for shape in shapes), grid_size=GRID_M)
