"""The animals that come with gaitgen, and skeleton files of the user's own."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

from gaitgen.animal.animal import Animal
from gaitgen.animal.proportions import Proportions, with_proportions
from gaitgen.animal.read_animal import FORMAT, animal_from_table
from gaitgen.animal.toml_table import NAME, Table, nearest, parse, read_bytes
from gaitgen.errors import AnimalError
from gaitgen.numerics.standard_input import is_file_name
from gaitgen.option import options_of

_PACKAGE = Path(__file__).resolve().parent.parent
# In an installed package the files lie beside the code, in a checkout at its top.
_FOLDERS = (_PACKAGE / "skeletons", _PACKAGE.parent / "skeletons")


@cache
def skeleton_folder() -> Path:
    """Return the folder with the animals that come with gaitgen.

    Raises
    ------
    AnimalError
        If it is not there: the installation is damaged.
    """
    for folder in _FOLDERS:
        if any(folder.glob("*.toml")):
            return folder
    raise AnimalError(f"no skeleton files in {_FOLDERS[0]}; install gaitgen again")


_JOINT_TABLE = re.compile(rb"^\[joints\.(\w+)\]", re.MULTILINE)


@cache
def animal_names() -> tuple[str, ...]:
    """List the animals that come with gaitgen, in alphabetical order."""
    return tuple(sorted(path.stem for path in skeleton_folder().glob("*.toml")))


def load_animal(animal: str, proportions: Proportions | None = None) -> Animal:
    """Read an animal that comes with gaitgen, or a skeleton file, and give it other proportions.

    Parameters
    ----------
    animal
        A name from :func:`animal_names`, or the path of a file that ends in ``.toml``.
    proportions
        What to change; nothing by default.

    Raises
    ------
    AnimalError
        If there is no such animal (the message suggests the nearest), or the file or the proportions
        are not usable.
    """
    own = animal in animal_names()
    skeleton = _own(animal) if own else read_skeleton(*skeleton_bytes(animal))
    return _proportioned(skeleton, proportions or Proportions())


def skeleton_bytes(animal: str) -> tuple[bytes, str]:
    """Return the file of an animal, and what it is called in complaints.

    Parameters
    ----------
    animal
        A name from :func:`animal_names`, or the path of a file that ends in ``.toml``.

    Raises
    ------
    AnimalError
        If there is no such animal (the message suggests the nearest), or its file cannot be read.
    """
    if is_file_name(animal):
        return read_bytes(Path(animal)), animal
    names = animal_names()
    if animal not in names:
        raise AnimalError(
            f"unknown animal {animal!r}{nearest(animal, names)}; use one of {', '.join(names)}, "
            "or the path of a skeleton file (.toml)"
        )
    return read_bytes(skeleton_folder() / f"{animal}.toml"), f"{animal}.toml"


def may_be_of(joint_names: Iterable[str]) -> tuple[str, ...]:
    """List the animals that come with gaitgen and may have no other joints than these, in alphabetical order.

    Told by the headings of their files alone, which takes a small part of the time that reading them does.
    """
    names = set(joint_names)
    names |= {name.removesuffix("_L").removesuffix("_R") for name in names}
    return tuple(animal for animal in animal_names() if names.issuperset(joints_in_file(animal)))


@cache
def joints_in_file(name: str) -> tuple[str, ...]:
    """List the joints of an animal that comes with gaitgen, those of a pair once, the root first."""
    data, _ = skeleton_bytes(name)
    found = tuple(heading.decode() for heading in _JOINT_TABLE.findall(data))
    return found or load_animal(name).joint_names  # of one that is made from another by proportions


@lru_cache(maxsize=64)
def _proportioned(animal: Animal, proportions: Proportions) -> Animal:
    return with_proportions(animal, proportions)


@cache
def _own(name: str) -> Animal:
    """Read an animal that comes with gaitgen."""
    return read_skeleton(*skeleton_bytes(name))


@lru_cache(maxsize=32)
def read_skeleton(data: bytes, where: str) -> Animal:
    """Read the bytes of a skeleton file: a whole animal, or one made from another by proportions.

    Parameters
    ----------
    data
        UTF-8 TOML.
    where
        Name of the file for complaints.

    Raises
    ------
    AnimalError
        If anything in it is not usable.
    """
    top = parse(data, where)
    if not top.has("base"):
        if top.has("proportions") and not top.has("limbs"):
            raise top.fail(
                'has [proportions] and no base; add base = "<animal>", the one that it starts from'
            )
        return animal_from_table(top)
    base = top.text("base", NAME, "the name of an animal")
    if base not in animal_names():
        known = animal_names()
        raise top.fail(f"base {base!r} is no animal{nearest(base, known)}; use one of {', '.join(known)}")
    if top.has("format"):
        top.number("format", 1, FORMAT)
    name = top.text("name", NAME, "a name of letters, digits and _")
    title = top.text("title") if top.has("title") else name
    proportions = Proportions()
    if not top.has("proportions") and not top.has("without"):
        raise top.fail(
            f"changes nothing of the {base}: it has neither [proportions] nor without; add [proportions], "
            "with withers_height_m, for example"
        )
    if top.has("proportions") or not top.has("without"):
        proportions = _proportions(top.table("proportions"))
    skeleton = _own(base)
    left_out = _left_out(top, skeleton)
    top.no_more({"source"})
    made = with_proportions(skeleton, proportions, name=name, title=title)
    return replace(made, outline=tuple(ball for ball in made.outline if ball[3] not in left_out))


def _left_out(top: Table, skeleton: Animal) -> set[str]:
    """Read which groups of the base's outline, such as a hump, the animal is without."""
    left_out = top.names("without") if top.has("without") else ()
    known = dict.fromkeys(group for _, _, _, group in skeleton.outline)
    for group in left_out:
        if group not in known:
            raise top.fail(
                f"without has {group!r}{nearest(group, known)}; {skeleton.name} has {', '.join(known)}"
            )
    return set(left_out)


def _proportions(table: Table) -> Proportions:
    known = {found.field: found.option.limits or (0.0, 20000.0) for found in options_of(Proportions)}
    given = {key: table.number(key, *limits) for key, limits in known.items() if table.has(key)}
    table.no_more({"source", *known})
    return Proportions(**given)
