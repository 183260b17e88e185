"""What `gaitgen animals` does: the list, one animal in numbers and standing, all of them to scale."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.commands.delivery import put_in_place
from gaitgen.commands.terminal import say_aside
from gaitgen.numerics.json_text import report_text
from gaitgen.numerics.standard_input import is_file_name

if TYPE_CHECKING:
    from gaitgen.animal.animal import Animal


# Sources of an animal's file that a rig, which has its own lengths, does not rest on.
_LENGTHS = {"size height", "lengths"}


def any_animal(animal: str) -> Animal:
    """Return an animal by its name, from a skeleton file, or as it stands for the rig of a map.

    Raises
    ------
    GaitgenError
        If there is none such, or its file is not usable.
    """
    if is_file_name(animal):
        from gaitgen.rigs.map_file import is_map

        if is_map(animal):
            from gaitgen.rigs.cycle import load_rig

            return load_rig(animal).animal
    return load_animal(animal)


def _template(animal: str) -> str | None:
    """Return the animal that the rig of a map borrows from; None for what is no map."""
    if not is_file_name(animal):
        return None
    from gaitgen.rigs.map_file import is_map, read_map

    return read_map(Path(animal))[0].template if is_map(animal) else None


def list_animals(*, json: bool) -> str:
    """List the animals that come with gaitgen, with their size."""
    known = [load_animal(name) for name in animal_names()]
    if json:
        rows = [
            {
                "name": s.name,
                "title": s.title,
                "species": s.species,
                "withers_height_m": s.withers_height_m,
                "body_mass_kg": s.body_mass_kg,
                "joints": len(s.joint_names),
            }
            for s in known
        ]
        return report_text(rows) + "\n"
    from gaitgen.commands.animal_text import mass_words

    lines = [f"{'name':<16}{'withers':>9}{'mass':>9}{'joints':>8}  title"]
    lines += [
        f"{s.name:<16}{s.withers_height_m:>7.2f} m{mass_words(s.body_mass_kg):>9}"
        f"{len(s.joint_names):>8}  {s.title}"
        for s in known
    ]
    return "\n".join(lines) + "\n"


def show_animal(animal: str, *, json: bool) -> str:
    """Tell all about one animal."""
    from gaitgen.animal.sources import sources_of
    from gaitgen.commands.animal_text import as_json, as_text
    from gaitgen.gait.animal_facts import animal_facts

    template = _template(animal)
    note = "" if template is None else f"lengths are the rig's own; the rest is borrowed from {template}"
    own = set() if template is None else _LENGTHS
    sources = [source for source in sources_of(template or animal) if not set(source.about) <= own]
    write = as_json if json else as_text
    return write(animal_facts(any_animal(animal)), sources, note)


def portrait(animal: str, path: Path) -> bytes:
    """Draw one animal for a file of this name."""
    from gaitgen.commands.animal_text import mass_words
    from gaitgen.gait.animal_facts import animal_facts
    from gaitgen.pictures.page import check_suffix
    from gaitgen.pictures.portrait import write_portrait

    check_suffix(path.suffix, str(path))
    found = any_animal(animal)
    gaits = [
        f"{gait.title.lower()} {gait.slowest_m_s:.1f} to {gait.fastest_m_s:.1f} m/s"
        for gait in animal_facts(found).own_gaits
    ]
    words = f"{mass_words(found.body_mass_kg)}, {found.load_share_fore:.0%} of it on the forelegs; "
    return write_portrait(found, path.suffix, words + ", ".join(gaits))


def drawn_of_all(kind: str, own: str | None, path: Path) -> bytes:
    """Draw all animals, with one of the user's own among them, for a file of this name.

    ``kind`` is ``sheet``, as they stand to one scale, or ``scaling``, their strides against their size.
    """
    from gaitgen.pictures.line_up import write_line_up
    from gaitgen.pictures.page import check_suffix
    from gaitgen.pictures.scaling_plot import write_scaling

    check_suffix(path.suffix, str(path))
    names = animal_names()
    known = [load_animal(name) for name in names]
    if own is not None and own not in names:
        known.append(any_animal(own))
    return (write_line_up if kind == "sheet" else write_scaling)(known, path.suffix)


def put(pictures: Mapping[Path, bytes], *, force: bool) -> None:
    """Put pictures in place, all or none, and say on standard error where they are."""
    from gaitgen.formats.kept import FileSet

    written = put_in_place([FileSet.of_one(path, data) for path, data in pictures.items()], force=force)
    for notice in written.notices:
        say_aside(f"note: {notice.text}")
    for file in written.files:
        say_aside(f"wrote {file}")
