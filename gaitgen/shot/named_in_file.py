"""What a shot file names: animals, gaits, and files beside it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gaitgen.animal.toml_table import Table, nearest
from gaitgen.gait.gait import gait_names, load_gait


@dataclass(frozen=True)
class Folder:
    """Where the files are that a shot file names.

    Attributes
    ----------
    path
        The folder of the shot file.
    copies
        Where a copy of one is to be read in its place, by the name that the shot file has for it.
    found
        Those that were found, by that name; they are noted as they are looked for.
    """

    path: Path
    copies: Mapping[str, Path] = field(default_factory=dict)
    found: dict[str, Path] = field(default_factory=dict)

    def places(self, name: str) -> tuple[Path, ...]:
        """Return where a file may be, the likeliest first."""
        return (self.copies[name],) if name in self.copies else (self.path / name, Path(name))


def named(table: Table, key: str, known: Collection[str], folder: Folder) -> str:
    """Read the name of something we have, or of a file of its kind beside the shot file.

    Raises
    ------
    AnimalError
        If it is none of these, with the nearest.
    """
    word = table.text(key)
    if word.endswith(".toml"):
        return str(beside(table, key, word, folder))
    if word not in known:
        hint = nearest(word, known)
        raise table.fail(
            f"{key} is {word!r}{hint}; write one of {', '.join(sorted(known))}, or a file (.toml)"
        )
    return word


def beside(table: Table, key: str, name: str, folder: Folder) -> Path:
    """Find a file that a shot file names: in the folder of that, else where the command was typed.

    Raises
    ------
    AnimalError
        If it is in neither, with both.
    """
    found = next((path for path in folder.places(name) if path.is_file()), None)
    if found is None:
        places = dict.fromkeys(map(str, folder.places(name)))
        raise table.fail(
            f"{key} is {name!r}, and there is no file {' or '.join(places)}; give one that is there"
        )
    folder.found[name] = found
    return found


def gait_ahead(table: Table, folder: Folder) -> str:
    """Read a gait that goes ahead, as shots do: a name, or a gait file beside the shot file.

    Raises
    ------
    GaitgenError
        If it is none of these, or goes backwards; with file and line.
    """
    ahead = [name for name in gait_names() if not load_gait(name).is_backward]
    word = table.text("gait")
    gait = word if word in gait_names() else named(table, "gait", ahead, folder)
    if load_gait(gait).is_backward:
        raise table.fail(
            f"gait is {word!r}, which goes backwards, and shots go ahead; make it alone, with "
            f"`gaitgen cycle`, and write one of {', '.join(ahead)} here"
        )
    return gait
