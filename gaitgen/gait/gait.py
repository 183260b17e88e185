"""Gaits: read from the gait files, and named in the science's terms."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from importlib import resources
from pathlib import Path

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.own_gait import DUTY_LIMITS, FORE_MORE_LIMITS, FROUDE_LIMITS, LAG_LIMITS, OwnGait
from gaitgen.animal.toml_table import NAME, Table, nearest, parse, read_bytes
from gaitgen.errors import AnimalError, GaitError

__all__ = ["LIMBS", "Gait", "gait_names", "load_gait"]


@dataclass(frozen=True)
class Gait:
    """One symmetrical gait.

    Attributes
    ----------
    name, title
        ``walk``, ``Walk``.
    lag
        Share of a stride by which a fore foot lands after the hind foot of its side
        (Hildebrand 1965, Science 150:701-708). [0 to 1)
    duty_factor_range
        Least and greatest share of the stride a foot is down, fore and hind together. [0 to 1]
    fore_duty_more
        By how much more of the stride a fore foot is down than a hind foot.
    froude_limit
        Froude number above which the animal would change gait.
    least_frames
        Fewest frames in which the gait can be told.
    contacts, contact_frames
        Contacts and lift-offs read off film, and the length of that stride; None for a symmetrical gait
        given by its lag. [frames]
    """

    name: str
    title: str
    lag: float
    duty_factor_range: tuple[float, float]
    froude_limit: float
    least_frames: int
    contacts: str | None = None
    contact_frames: int | None = None
    fore_duty_more: float = 0.0

    def as_used_by(self, animal: Animal) -> Gait:
        """Return the gait with the numbers that an animal has its own way."""
        own = animal.own_gaits.get(self.name, OwnGait())
        given = {item.name: getattr(own, item.name) for item in fields(own)}
        return replace(self, **{name: value for name, value in given.items() if value is not None})


def gait_names() -> tuple[str, ...]:
    """List the gaits that come with gaitgen, in alphabetical order."""
    folder = resources.files("gaitgen") / "gaits"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def load_gait(name: str) -> Gait:
    """Read one of the gaits that come with gaitgen, or a gait file.

    Parameters
    ----------
    name
        A name from :func:`gait_names`, or the path of a file that ends in ``.toml``.

    Raises
    ------
    GaitError
        If there is no such gait (the message suggests the nearest), or the file is not usable.
    """
    if name.endswith(".toml"):
        try:
            return _gait(parse(read_bytes(Path(name)), name))
        except AnimalError as error:
            raise GaitError(str(error).replace("skeleton file", "gait file")) from None
    names = gait_names()
    if name not in names:
        raise GaitError(f"unknown gait {name!r}{nearest(name, names)}; use one of {', '.join(names)}")
    data = (resources.files("gaitgen") / "gaits" / f"{name}.toml").read_bytes()
    return _gait(parse(data, f"{name}.toml"))


def _gait(table: Table) -> Gait:
    least, greatest = table.limits("duty_factor_range", *DUTY_LIMITS)
    more = table.number("fore_duty_more", *FORE_MORE_LIMITS) if table.has("fore_duty_more") else 0.0
    gait = Gait(
        name=table.text("name", NAME, "a plain name"),
        title=table.text("title"),
        lag=table.number("lag", *LAG_LIMITS),
        duty_factor_range=(least, greatest),
        froude_limit=table.number("froude_limit", *FROUDE_LIMITS),
        least_frames=int(table.number("least_frames", 4, 1000)),
        contacts=table.text("contacts") if table.has("contacts") else None,
        contact_frames=int(table.number("contact_frames", 4, 2000)) if table.has("contacts") else None,
        fore_duty_more=more,
    )
    table.no_more({"lag_source", "duty_factor_source", "froude_source", "source"})
    return gait
