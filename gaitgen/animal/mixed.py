"""An animal, or a style, between two ways of going."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from gaitgen.animal.animal import Animal

T = TypeVar("T")


def mixed(first: T, second: T, share: float) -> T:
    """Return what lies between two values of one kind: numbers by a share of the way, all else as the first.

    Parameters
    ----------
    first, second
        Numbers, tuples, or dataclasses of these.
    share
        0 is the first, 1 the second.
    """
    return _mixed(first, second, share)  # type: ignore[no-any-return]


def _mixed(first: Any, second: Any, share: float) -> Any:  # noqa: ANN401
    if first is second:
        return first
    if isinstance(first, float) and isinstance(second, float):
        between = first + (second - first) * share
        return first if first == second or between != between else between  # noqa: PLR0124
    if isinstance(first, tuple) and len(first) == len(second):
        return tuple(_mixed(a, b, share) for a, b in zip(first, second, strict=True))
    if is_dataclass(first) and not isinstance(first, type):
        parts = {
            item.name: _mixed(getattr(first, item.name), getattr(second, item.name), share)
            for item in fields(first)
            if item.init
        }
        return replace(first, **parts)
    return first


def between_gaits(first: Animal, second: Animal, share: float) -> Animal:
    """Return an animal between two of its own ways of going."""
    if first is second:
        return first
    return replace(
        first,
        back=mixed(first.back, second.back, share),
        tempo=mixed(first.tempo, second.tempo, share),
        limbs=mixed(first.limbs, second.limbs, share),
        hanging=mixed(first.hanging, second.hanging, share),
    )
