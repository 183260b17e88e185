"""Gaits: read from the gait files, and named in the science's terms."""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass
from importlib import resources

from gaitgen.errors import GaitError

LIMBS = ("LF", "RF", "LH", "RH")
PerLimb = tuple[float, float, float, float]


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
        Least and greatest share of the stride a foot is down. [0 to 1]
    froude_limit
        Froude number above which the animal would change gait.
    least_frames
        Fewest frames in which the gait can be told.
    """

    name: str
    title: str
    lag: float
    duty_factor_range: tuple[float, float]
    froude_limit: float
    least_frames: int


def gait_names() -> tuple[str, ...]:
    """List the gaits that come with gaitgen, in alphabetical order."""
    folder = resources.files("gaitgen") / "gaits"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def load_gait(name: str) -> Gait:
    """Read one of the gaits that come with gaitgen.

    Raises
    ------
    GaitError
        If there is no such gait; the message suggests the nearest.
    """
    names = gait_names()
    if name not in names:
        near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]!r}; " if near else ""
        message = f"unknown gait {name!r}; {hint}use one of {', '.join(names)}"
        raise GaitError(message)
    text = (resources.files("gaitgen") / "gaits" / f"{name}.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    least, greatest = table["duty_factor_range"]
    return Gait(
        name=table["name"],
        title=table["title"],
        lag=float(table["lag"]),
        duty_factor_range=(float(least), float(greatest)),
        froude_limit=float(table["froude_limit"]),
        least_frames=int(table["least_frames"]),
    )
