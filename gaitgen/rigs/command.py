"""What `gaitgen fit` and a cycle on a rig do, without the printing."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.toml_table import nearest
from gaitgen.errors import GaitgenError, Notice, OutputError, RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.in_place import SavedMeanwhileError
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.formats.record import digest, digest_of
from gaitgen.formats.write import write_files
from gaitgen.motion.motion import Motion
from gaitgen.numerics.standard_input import is_standard_input
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.as_skeleton import as_skeleton
from gaitgen.rigs.cycle import RigClip, load_rig, refuse_what_is_the_rigs
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.known_turns import turns_map
from gaitgen.rigs.map_file import is_map, map_in
from gaitgen.rigs.map_text import write_map
from gaitgen.rigs.one_fold import walk_map
from gaitgen.rigs.own_gaits import with_own_gaits
from gaitgen.rigs.rig import Rig, make_rig
from gaitgen.rigs.rig_map import Rest, RigMap
from gaitgen.rigs.said import names_notice
from gaitgen.rigs.sane_walk import with_sane_walk


def cycle_on_rig(map_path: str, request: Request, space: FileSpace | None = None) -> RigClip:
    """Make one cycle on the rig of a map.

    Parameters
    ----------
    map_path
        Path of the map.
    request
        What to make; its animal is replaced by the rig.
    space
        What was asked of the files; only what a rig can have is let through.

    Raises
    ------
    GaitgenError
        If map, rig or request are not usable; proportions are the rig's own and cannot be asked for.
    """
    refuse_what_is_the_rigs(map_path, request, space)
    return load_rig(map_path).cycle(request)


def motion_of(request: Request) -> Motion:
    """Make a cycle of any animal; of a rig's map, on the animal with the rig's proportions.

    Raises
    ------
    GaitgenError
        If the request is not usable.
    """
    if isinstance(request.animal, str) and is_map(request.animal):
        return cycle_on_rig(request.animal, request).clip
    return make_cycle(request)


@dataclass(frozen=True, eq=False)
class Fitted:
    """A rig and what was found in it.

    Attributes
    ----------
    path, rig
        Its file, and the rig with its map.
    notices
        What was guessed or is unusual; a Doubt may be wrong.
    files
        What was written.
    map_text
        The map, if it is wanted.
    """

    path: Path
    rig: Rig
    notices: tuple[Notice, ...]
    files: tuple[Path, ...] = ()
    map_text: bytes = b""

    @property
    def map(self) -> RigMap:
        """Which joint is what."""
        return self.rig.map

    @property
    def doubts(self) -> tuple[Notice, ...]:
        """What was guessed and may be wrong."""
        return tuple(notice for notice in self.notices if isinstance(notice, Doubt))


def fit(
    rig_path: Path,
    map_path: Path | None,
    *,
    animal: str | None = None,
    rest: Rest | None = None,
    force: bool = False,
) -> Fitted:
    """Find the parts of a rig and write its map.

    Parameters
    ----------
    rig_path
        A BVH file, or ``-``. One from the standard input is written beside the map, which names it.
    map_path
        Where to write the map; None writes nothing, and ``-`` gives back its text alone.
    animal
        The animal that lends limb laws, feet and manner; the one whose limbs are most alike if not given.
    rest
        The pose in which the rig stands; the one that stands better if not given.
    force
        Whether to replace a map, or a rig beside it, that is there and says something else.

    Raises
    ------
    GaitgenError
        If the rig cannot be read or is no standing quadruped, or the map cannot be written.
    """
    if animal is not None and animal not in animal_names():
        known = animal_names()
        raise RequestError(
            f"unknown animal {animal!r}{nearest(animal, known)}; use one of {', '.join(known)}"
        )
    is_piped = is_standard_input(rig_path)
    if map_path is not None and is_piped and is_standard_input(map_path):
        raise RequestError("a map names the file of its rig; give --map a file, beside which the rig is put")
    data = read_bvh_bytes(rig_path)
    found, notices = find_rig(read_bvh(data, str(rig_path)), str(rig_path), animal, rest)
    found, notices = with_sane_walk(data, str(rig_path), found, notices, animal, rest)
    rig, said = _walked(data, str(rig_path), found)
    notices = (*notices, *said, *names_notice(rig))
    if map_path is None:
        return Fitted(rig_path, rig, notices)
    own_path = map_path.with_suffix(".bvh") if is_piped else rig_path
    text = _with_turns(write_map(rig.map, own_path, map_path), rig, data, own_path, map_path)
    if is_standard_input(map_path):
        return Fitted(rig_path, rig, notices, map_text=text)
    files = {map_path: text, **({own_path: data} if is_piped else {})}
    _write_where_free(files, force=force)
    return Fitted(rig_path, rig, notices, tuple(files), text)


def _walked(data: bytes, where: str, found: RigMap) -> tuple[Rig, tuple[Notice, ...]]:
    """Make the rig of a map that says how its legs go at a walk, as far as it can walk, and what is said."""
    template = load_animal(found.template)
    rig = make_rig(data, where, found, template)
    with np.errstate(all="ignore"):  # what comes out of no animal is refused when it is to move
        _, said = as_skeleton(rig, template)
        with suppress(GaitgenError):
            walk = walk_map(with_own_gaits(rig, template)[0], template.name)
            rig = replace(rig, map=replace(found, walk=walk))
    return rig, said


def _with_turns(text: bytes, rig: Rig, data: bytes, rig_path: Path, map_path: Path) -> bytes:
    """Add to a map how far the joints of its rig turn in its gaits, found for the rig as the map is read."""
    where = str(rig_path)
    with suppress(GaitgenError), np.errstate(all="ignore"):
        read = map_in(text, str(map_path), where, data)
        turns = turns_map(make_rig(data, where, read, load_animal(read.template)))
        return write_map(replace(rig.map, turns=turns), rig_path, map_path)
    return text


def _write_where_free(files: dict[Path, bytes], *, force: bool) -> None:
    """Write a map, and a rig beside it, all or none, but not over others.

    Raises
    ------
    OutputError
        If one cannot be written, or is there and says something else.
    """
    there = {path: digest_of(path) for path in files}
    taken = [path for path, data in files.items() if there[path] not in {None, digest(data)}]
    with suppress(SavedMeanwhileError):
        if force or not taken:
            write_files(files, {} if force else there)
            return
    path = next(iter(taken or files))
    what = "map" if path.suffix.lower() == ".toml" else "rig"
    raise OutputError(
        f"cannot write {path}: there is a {what} already, perhaps edited; choose another name, or --force to "
        "replace it"
    )
