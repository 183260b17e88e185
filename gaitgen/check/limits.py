"""Limits of the check: one file an animal, and a file of the user's that changes some of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path

from gaitgen.animal.toml_table import Table, nearest, parse, read_bytes
from gaitgen.errors import RequestError

LARGEST = 1e6
ANIMALS = ("horse",)


@dataclass(frozen=True)
class Limit:
    """What is let through.

    Attributes
    ----------
    least, most
        None where there is no such side.
    unit
        ``mm`` limits grow with the animal: they are for the reference hip height.
    why
        Reason or source.
    """

    least: float | None
    most: float | None
    unit: str
    why: str

    @property
    def top(self) -> float:
        """The upper side."""
        return LARGEST if self.most is None else self.most

    @property
    def bottom(self) -> float:
        """The lower side."""
        return -LARGEST if self.least is None else self.least


@dataclass(frozen=True)
class Limits:
    """All limits for one animal, by kind of finding."""

    animal: str
    hip_height_m: float
    known: Mapping[str, Limit]

    def __getitem__(self, kind: str) -> Limit:
        """Return one limit."""
        return self.known[kind]

    def for_hip_height(self, height_m: float) -> Limits:
        """Scale the limits in mm to an animal of another size. [m]"""
        size = height_m / self.hip_height_m

        def scaled(value: float | None, unit: str) -> float | None:
            return value * size if value is not None and unit == "mm" else value

        known = {
            kind: replace(limit, least=scaled(limit.least, limit.unit), most=scaled(limit.most, limit.unit))
            for kind, limit in self.known.items()
        }
        return replace(self, hip_height_m=height_m, known=known)


def load_limits(animal: str = "horse", changes: Path | None = None) -> Limits:
    """Read the limits of an animal, and a file that changes some.

    Raises
    ------
    RequestError
        If nothing is known of the animal.
    AnimalError
        If the file cannot be read, is not TOML, or names a limit that there is not.
    """
    if animal not in ANIMALS:
        raise RequestError(
            f"there are no limits for {animal!r}{nearest(animal, ANIMALS)}; use one of {', '.join(ANIMALS)}, "
            "and change its limits with --limits FILE"
        )
    name = f"{animal}.toml"
    data = (resources.files("gaitgen.check") / "limits" / name).read_bytes()
    limits = _merged(parse(data, name), Limits(animal, 1.0, {}), may_add=True)
    if changes is not None:
        limits = _merged(parse(read_bytes(changes), str(changes)), limits, may_add=False)
    return limits


def _merged(top: Table, base: Limits, *, may_add: bool) -> Limits:
    if top.number("format", 1, 1) != 1:
        raise top.fail("format must be 1")
    hip = base.hip_height_m
    if top.has("reference"):
        reference = top.table("reference")
        hip = reference.number("hip_height_m", 0.02, 20.0)
        reference.no_more()
    table = top.table("limits")
    known = dict(base.known)
    for kind in list(_names(table)):
        if not may_add and kind not in known:
            raise table.fail(
                f"has {kind!r}, which is no limit{nearest(kind, known)}; use {', '.join(sorted(known))}"
            )
        known[kind] = _limit(table.table(kind), known.get(kind))
    table.no_more()
    top.no_more()
    return Limits(base.animal, hip, known)


def _names(table: Table) -> Iterable[str]:
    return table.content.keys()


def _limit(table: Table, base: Limit | None) -> Limit:
    sides = {
        side: table.number(side, -LARGEST, LARGEST)
        if table.has(side)
        else (None if base is None else getattr(base, side))
        for side in ("least", "most")
    }
    unit = table.text("unit") if base is None or table.has("unit") else base.unit
    if base is not None and unit != base.unit:
        raise table.fail(f"unit is {unit!r}; this limit is in {base.unit}, so write that or leave it out")
    why = table.text("why") if base is None or table.has("why") else "your limit"
    table.no_more()
    limit = Limit(sides["least"], sides["most"], unit, why)
    if limit.least is not None and limit.most is not None and limit.least >= limit.most:
        raise table.fail(f"least is {limit.least:g}, most is {limit.most:g}; write the lower one under least")
    return limit
