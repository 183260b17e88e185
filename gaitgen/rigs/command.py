"""What `gaitgen fit` and a cycle on a rig do, without the printing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.toml_table import nearest
from gaitgen.errors import Notice, OutputError, RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.in_place import SavedMeanwhileError
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.formats.record import digest, digest_of
from gaitgen.formats.write import write_files
from gaitgen.motion.motion import Motion
from gaitgen.numerics.standard_input import is_standard_input
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.as_skeleton import as_skeleton
from gaitgen.rigs.cycle import RigClip, load_rig, names_notice, refuse_what_is_the_rigs
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.map_file import is_map
from gaitgen.rigs.map_text import write_map
from gaitgen.rigs.rig import Rig, make_rig
from gaitgen.rigs.rig_map import RigMap
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
    """

    path: Path
    rig: Rig
    notices: tuple[Notice, ...]

    @property
    def map(self) -> RigMap:
        """Which joint is what."""
        return self.rig.map

    @property
    def doubts(self) -> tuple[Notice, ...]:
        """What was guessed and may be wrong."""
        return tuple(notice for notice in self.notices if isinstance(notice, Doubt))


def fit(rig_path: Path, map_path: Path | None, *, animal: str | None = None, force: bool = False) -> Fitted:
    """Find the parts of a rig and write its map.

    Parameters
    ----------
    rig_path
        A BVH file.
    map_path
        Where to write the map; None writes nothing.
    animal
        The animal that lends limb laws, feet and manner; the one whose limbs are most alike if not given.
    force
        Whether to replace a map that is there and says something else.

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
    if map_path is not None and is_standard_input(rig_path):
        raise RequestError("a map names the file of its rig, which the standard input is not; give the file")
    data = read_bvh_bytes(rig_path)
    found, notices = find_rig(read_bvh(data, str(rig_path)), str(rig_path), animal)
    found, notices = with_sane_walk(data, str(rig_path), found, notices, animal)
    rig = make_rig(data, str(rig_path), found, load_animal(found.template))
    _, said = as_skeleton(rig, load_animal(found.template))
    notices = (*notices, *said, *names_notice(rig))
    if map_path is not None:
        text = write_map(found, rig_path, map_path)
        there = digest_of(map_path)
        edited = OutputError(
            f"cannot write {map_path}: there is a map already, perhaps edited; choose another name, or "
            "--force to replace it"
        )
        if not force and there not in {None, digest(text)}:
            raise edited
        try:
            write_files({map_path: text}, {} if force else {map_path: there})
        except SavedMeanwhileError:
            raise edited from None
    return Fitted(rig_path, rig, notices)
