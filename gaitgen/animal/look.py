"""What an animal looks like beside its shape: its colours, and parts that pass into what is under them."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.animal.toml_table import Table

COLOUR = "#[0-9a-f]{6}"


@dataclass(frozen=True)
class Look:
    """Colours, as ``#rrggbb``, and merged parts.

    Attributes
    ----------
    skin, hair, horn
        Colour of the body, of mane and tail, and of feet of horn; neutral greys if the file has none.
    merged
        Groups of the outline that pass into the trunk under them without a line.
    ornaments
        Groups that are of this kind of animal alone, such as antlers: a rig that borrows its flesh has none.
    """

    skin: str = "#a8a39c"
    hair: str = "#5d5954"
    horn: str = "#46433f"
    merged: frozenset[str] = frozenset()
    ornaments: frozenset[str] = frozenset()


def read_look(top: Table, merged: set[str], ornaments: set[str]) -> Look:
    """Read the table ``[look]``, which may be missing, and add what groups of the outline say of themselves.

    Raises
    ------
    AnimalError
        For a colour that is none.
    """
    own = Look(merged=frozenset(merged), ornaments=frozenset(ornaments))
    if not top.has("look"):
        return own
    table = top.table("look")
    colours = {
        name: table.text(name, COLOUR, "a colour such as #a8a39c") if table.has(name) else getattr(own, name)
        for name in ("skin", "hair", "horn")
    }
    table.no_more({"source"})
    return Look(**colours, merged=own.merged, ornaments=own.ornaments)
