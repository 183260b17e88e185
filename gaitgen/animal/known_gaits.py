"""Names of the gaits that come with gaitgen, which the files of animals name."""

from __future__ import annotations

from functools import cache
from importlib import resources

from gaitgen.animal.toml_table import Table, nearest


@cache
def gait_names() -> tuple[str, ...]:
    """List the gaits that come with gaitgen, in alphabetical order."""
    folder = resources.files("gaitgen") / "gaits"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def read_gaits(top: Table) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Read which gaits an animal uses, and which others it has numbers for: ``gaits``, ``gaits_if_asked``.

    A gait that is only taken if it is asked for may be one of the user's own, in a file; a name that is
    nearly that of a known gait is a slip.

    Raises
    ------
    AnimalError
        If a gait is not known.
    """
    known = gait_names()
    gaits = top.names("gaits")
    asked = top.names("gaits_if_asked") if top.has("gaits_if_asked") else ()
    for key, names in (("gaits", gaits), ("gaits_if_asked", asked)):
        for name in names:
            hint = nearest(name, known)
            if name not in known and (hint or key == "gaits"):
                raise top.fail(f"{key} has {name!r}, which is no gait{hint}; use {', '.join(known)}")
    return gaits, asked
