"""Limits of the check: one set an animal, each on a wider one, and a file of the user's that changes some."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from pathlib import Path

from gaitgen.animal.toml_table import Table, nearest, parse, read_bytes
from gaitgen.errors import RequestError

LARGEST = 1e6
RUN = "run_"
UNEVEN, OF_A_JOINT = "off_the_even", ("_range", "_locked")


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
    """All limits for one animal, by kind of finding.

    Attributes
    ----------
    animal
        Name of the set.
    hip_height_m
        Of the animal that limits in mm are for. [m]
    known
        By kind; what a set says nothing of is not judged.
    if_guessed
        Name of the set that holds where a rig only looks like this animal.
    """

    animal: str
    hip_height_m: float
    known: Mapping[str, Limit]
    if_guessed: str = "any"

    def __getitem__(self, kind: str) -> Limit:
        """Return one limit."""
        return self.known[kind]

    def __contains__(self, kind: str) -> bool:
        """Whether there is such a limit."""
        return kind in self.known

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

    def from_standing(self, farther_deg: Mapping[str, tuple[float, float]]) -> Limits:
        """Widen ranges by how much less and more open joints stand than the animal's that the set is for.

        By joint word: at most 0, and at least 0. [degrees]
        """
        known = dict(self.known)
        for word, (less, more) in farther_deg.items():
            for kind in (f"{word}_range", f"{RUN}{word}_range"):
                if kind in known:
                    own = known[kind]
                    least = None if own.least is None else own.least + less
                    most = None if own.most is None else own.most + more
                    known[kind] = _moved(own, least, most, "as this rig stands with it elsewhere")
        return replace(self, known=known)

    def in_a_run(self) -> Limits:
        """Put the limits that a set has for runs, ``run_NAME``, in the place of those for any gait."""
        own = {kind.removeprefix(RUN): limit for kind, limit in self.known.items() if kind.startswith(RUN)}
        return replace(self, known={**self.known, **own})

    def in_any_gait(self) -> Limits:
        """Let through what is let through in a walk or in a run."""
        run = self.in_a_run().known
        known = {kind: _wider(limit, run[kind]) for kind, limit in self.known.items()}
        return replace(self, known=known)

    def without(self, ends: tuple[str, ...]) -> Limits:
        """Leave out limits whose names end so: what they are for is not judged."""
        return replace(self, known={k: limit for k, limit in self.known.items() if not k.endswith(ends)})

    def off_the_even(self) -> Limits:
        """Let joints go a little farther than their ranges, as far as a limit says: in changes, on slopes."""
        if UNEVEN not in self:
            return self
        room = self[UNEVEN].top
        known = {
            kind: _moved(
                limit,
                None if limit.least is None else limit.least - room,
                None if limit.most is None else limit.most + room,
                f"{room:g} {limit.unit} more where strides or ground change",
            )
            if kind.endswith(OF_A_JOINT)
            else limit
            for kind, limit in self.known.items()
        }
        return replace(self, known=known)


def _wider(one: Limit, other: Limit) -> Limit:
    """Return the limit that lets through what either does, for the reason of the wider one."""
    least = None if one.least is None or other.least is None else min(one.least, other.least)
    most = None if one.most is None or other.most is None else max(one.most, other.most)
    is_ones = (least, most) == (one.least, one.most)
    return replace(one, least=least, most=most, why=one.why if is_ones else other.why)


def _moved(limit: Limit, least: float | None, most: float | None, why: str) -> Limit:
    """Return a limit with other sides, which its reason tells if they are others."""
    if (least, most) == (limit.least, limit.most):
        return limit
    return replace(limit, least=least, most=most, why=f"{limit.why}; {why}")


@cache
def set_names() -> tuple[str, ...]:
    """List the sets of limits that come with gaitgen."""
    folder = resources.files("gaitgen.check") / "limits"
    return tuple(sorted(entry.name[:-5] for entry in folder.iterdir() if entry.name.endswith(".toml")))


def load_limits(name: str = "any", changes: Path | None = None) -> Limits:
    """Read a set of limits, and a file that changes some.

    Parameters
    ----------
    name
        One of :func:`set_names`, or the path of a file (.toml) with a set of its own.
    changes
        File with limits that stand for some of the set's.

    Raises
    ------
    RequestError
        If there is no such set.
    AnimalError
        If the file cannot be read, is not TOML, or names a limit that there is not.
    """
    limits = _of_file(Path(name)) if name.endswith(".toml") else _of_set(name)
    return with_changes(limits, changes)


def with_changes(limits: Limits, changes: Path | None) -> Limits:
    """Put limits from a file in place of some.

    Raises
    ------
    AnimalError
        If the file cannot be read, is not TOML, or names a limit that there is not.
    """
    return (
        limits
        if changes is None
        else _merged(parse(read_bytes(changes, "file of limits"), str(changes)), limits)
    )


@cache
def _of_set(name: str) -> Limits:
    if name not in set_names():
        raise RequestError(
            f"there are no limits for {name!r}{nearest(name, set_names())}; use one of "
            f"{', '.join(set_names())}, and change them with --limits FILE"
        )
    data = (resources.files("gaitgen.check") / "limits" / f"{name}.toml").read_bytes()
    return _whole(parse(data, f"{name}.toml"), name, may_add=True)


def _of_file(path: Path) -> Limits:
    return _whole(parse(read_bytes(path, "file of limits"), str(path)), path.stem, may_add=False)


def _whole(top: Table, name: str, *, may_add: bool) -> Limits:
    """Read a set: that of its base, and what it has of its own."""
    base = Limits(name, 1.0, {})
    if top.has("base"):
        base = replace(_of_set(_set_in(top, "base")), animal=name)
    guessed = _set_in(top, "if_guessed") if top.has("if_guessed") else "any"
    return replace(_merged(top, base, may_add=may_add), if_guessed=guessed)


def _set_in(top: Table, key: str) -> str:
    name = top.text(key)
    if name not in set_names():
        raise top.fail(f"{key} is {name!r}{nearest(name, set_names())}; use one of {', '.join(set_names())}")
    return name


def _merged(top: Table, base: Limits, *, may_add: bool = False) -> Limits:
    if top.number("format", 1, 1) != 1:
        raise top.fail("format must be 1")
    if top.has("reference"):
        reference = top.table("reference")
        hip = reference.number("hip_height_m", 0.02, 20.0)
        base = base.for_hip_height(hip) if base.known else replace(base, hip_height_m=hip)
        reference.no_more()
    table = top.table("limits")
    known = dict(base.known)
    for kind in list(_names(table)):
        if not may_add and kind not in known:
            names = _every_kind()
            if kind not in names:
                raise table.fail(
                    f"has {kind!r}, which is no limit{nearest(kind, names)}; use {', '.join(sorted(names))}"
                )
        known[kind] = _limit(table.table(kind), known.get(kind))
        if not may_add and f"{RUN}{kind}" not in table.content:
            known.pop(f"{RUN}{kind}", None)  # what somebody sets holds in every gait
    table.no_more()
    top.no_more()
    return replace(base, known=known)


@cache
def _every_kind() -> frozenset[str]:
    """Kinds of all sets."""
    return frozenset(kind for name in set_names() for kind in _of_set(name).known)


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
