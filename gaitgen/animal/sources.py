"""Where the numbers of an animal are from: the sources that its file names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from gaitgen.animal.library import animal_names, skeleton_bytes
from gaitgen.animal.toml_table import parse

# Numbers of a file with proportions that take the place of a table of the base, and what is said of them.
SIZES = {"withers_height_m": "size height", "body_mass_kg": "size mass"}
OWN = "your own file, which names no source"


@dataclass(frozen=True)
class Source:
    """One source of an animal's file.

    Attributes
    ----------
    about
        What rests on it: tables of the file and what of them, such as ``size mass``.
    text
        Its words; "estimate" where nobody measured.
    """

    about: tuple[str, ...]
    text: str


def sources_of(animal: str) -> tuple[Source, ...]:
    """List the sources that an animal's file names, each once, in the order of the file.

    Parameters
    ----------
    animal
        A name of an animal, or the path of a skeleton file; of a file that is made from another animal by
        proportions, the sources of both, but for a size that the file gives itself.

    Raises
    ------
    AnimalError
        If there is no such file, or it is no TOML.
    """
    content = parse(*skeleton_bytes(animal)).content
    said = list(_said(content, ""))
    if isinstance(base := content.get("base"), str) and base in animal_names():
        inherited = _said(parse(*skeleton_bytes(base)).content, "")
        own = _own_size(content)
        if not said:
            said += [(about, OWN) for about in own]
        said += [(about, text) for about, text in inherited if about not in own]
    found: dict[str, list[str]] = {}
    for about, text in said:
        found.setdefault(text, []).append(about)
    return tuple(Source(tuple(dict.fromkeys(about)), text) for text, about in found.items())


def _own_size(content: Mapping[str, object]) -> list[str]:
    """Name what of its size a file with proportions gives itself, in the words of ``about``."""
    given = content.get("proportions")
    return [about for key, about in SIZES.items() if isinstance(given, Mapping) and key in given]


def _said(content: Mapping[str, object], place: str) -> Iterator[tuple[str, str]]:
    """Walk through tables: what a source is about, and its words."""
    for key, value in content.items():
        if isinstance(value, str) and (place == "sources" or key.endswith("source")):
            part = key if place == "sources" else key.removesuffix("source").rstrip("_").replace("_", " ")
            yield " ".join(word for word in (place.removeprefix("sources"), part) if word), value
        elif isinstance(value, Mapping):
            yield from _said(value, f"{place} {key}".strip())
        elif isinstance(value, list):
            for item in value:
                if isinstance(item, Mapping):
                    yield from _said(item, f"{place} {key}".strip())
