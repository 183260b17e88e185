"""The map of a rig as an editable file: TOML, format 1; every fault names file, table, key and remedy."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.toml_table import Table, nearest, parse, read_bytes
from gaitgen.errors import AnimalError, RigError
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.formats.units import RIG_UNITS_M, unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.standard_input import is_file_name
from gaitgen.rigs.map_extras import read_hanging, read_legs, read_ranges, read_turns, read_walk
from gaitgen.rigs.map_names import MapNames, choice, strings
from gaitgen.rigs.rig import axes_of
from gaitgen.rigs.rig_map import FOLLOWS, NO_BONES, SLING, UPS, LimbMap, RigMap, Triple
from gaitgen.rigs.toes import with_toes

FARTHEST = 1e6


def is_map(path: str) -> bool:
    """Tell whether a path is a file with a table [rig]; False for whatever cannot be read."""
    if not is_file_name(path):
        return False
    try:
        return parse(read_bytes(Path(path)), path).has("rig")
    except AnimalError:
        return False


def read_map(path: Path) -> tuple[RigMap, Path, bytes]:
    """Read a map and the rig it names.

    Returns
    -------
    The map, the path of the rig, and the bytes of the rig.

    Raises
    ------
    GaitgenError
        If map or rig cannot be read, or the map does not fit the rig; one line with file, key and remedy.
    """
    where, map_data = str(path), read_bytes(path, "map")
    rig_path = path.parent / _rig_file(where, map_data)
    try:
        data = read_bvh_bytes(rig_path)
    except RigError as error:
        raise RigError(f"{where}: [rig] file: {error}") from None
    return map_in(map_data, where, str(rig_path), data), rig_path, data


@lru_cache(maxsize=32)
def _rig_file(where: str, map_data: bytes) -> str:
    """Return the path of the rig that a map names."""
    return _top(where, map_data).table("rig").text("file")


@lru_cache(maxsize=32)
def map_in(map_data: bytes, where: str, rig_path: str, data: bytes) -> RigMap:
    """Read a map and its rig, given as bytes and their paths for messages, each pair of files once.

    Raises
    ------
    GaitgenError
        As `read_map` does.
    """
    return map_from_table(_top(where, map_data), read_bvh(data, rig_path))


def _top(where: str, map_data: bytes) -> Table:
    top = parse(map_data, where)
    if top.number("format", 1, 1) != 1:
        raise top.fail("format must be 1")
    return top


def _unit(rig: Table) -> str:
    unit = rig.text("unit")
    try:
        unit_m(unit)
    except ValueError:
        known = tuple(RIG_UNITS_M)
        raise rig.fail(
            f"unit is {unit!r}{nearest(unit, known)}; use one of {', '.join(known)}, or the length of a unit "
            'in metres, like "100 m"'
        ) from None
    return unit


def map_from_table(top: Table, file: BvhFile) -> RigMap:
    """Build a map from its document and check it against the rig.

    Raises
    ------
    AnimalError
        If something is missing, unknown, or not as the rig has it.
    """
    rig, parts, limbs = top.table("rig"), top.table("parts"), top.table("limbs")
    rig.text("file")
    names = MapNames(file)
    template = load_animal(choice(rig, "template", animal_names()))
    found = RigMap(
        template=template.name,
        unit=_unit(rig),
        up=choice(rig, "up", UPS),
        forward=_triple(rig, "forward"),
        rest="zero" if choice(rig, "rest", ("zero", "first frame")) == "zero" else "first frame",
        legs=read_legs(rig),
        body=names.one(parts, "body", again=True),
        spine=names.line(parts, "spine", either_way=True),
        neck=names.line(parts, "neck"),
        head=names.one(parts, "head"),
        jaw=names.one(parts, "jaw"),
        ear_left=names.one(parts, "ear_left"),
        ear_right=names.one(parts, "ear_right"),
        tail=names.line(parts, "tail"),
        limbs={
            limb: _limb(limbs.table(limb), names, template.bones("fore" if limb[1] == "F" else "hind"))
            for limb in LIMBS
        },
        hanging=read_hanging(top, names, template),
        ranges_deg=read_ranges(top, names),
        walk=read_walk(top),
        turns=read_turns(top),
    )
    if not found.spine:
        raise parts.fail("spine is []; name at least the joint that carries the limbs")
    for limb, own in found.limbs.items():
        carrier = found.chest if limb[1] == "F" else found.pelvis
        if own.goal is not None and names.hangs(own.joints[0], own.goal):
            raise limbs.table(limb).fail(
                f"goal is {own.goal!r}, which carries the limb itself; name a helper beside it"
            )
        if not names.hangs(own.joints[0], carrier):
            end = "last" if limb[1] == "F" else "first"
            raise limbs.table(limb).fail(
                f"joints begin with {own.joints[0]!r}, which does not hang on {carrier!r}, the {end} of "
                "spine; correct one of them"
            )
    if found.body is not None and not (
        found.body == found.pelvis or names.hangs(found.pelvis, found.body) or found.body in found.spine
    ):
        raise parts.fail(
            f"body is {found.body!r}, on which {found.pelvis!r} does not hang; correct one of them"
        )
    try:
        axes_of(found)
    except RigError as error:
        raise rig.fail(str(error)) from None
    missing = {limb for limb in LIMBS if not limbs.table(limb).has("toe")}
    for table in (rig, parts, limbs):
        table.no_more()
    top.no_more()
    return with_toes(file, found, template, missing)


def _triple(table: Table, key: str) -> Triple:
    x, y, z = table.vector(key, 3, -FARTHEST, FARTHEST)
    return x, y, z


def _limb(table: Table, names: MapNames, chain: tuple[str, ...]) -> LimbMap:
    joints = names.line(table, "joints")
    bones = strings(table, "bones")
    if len(bones) != len(joints):
        raise table.fail(f"bones has {len(bones)} words for {len(joints)} joints; write one a joint")
    for bone in bones:
        if bone not in NO_BONES and bone not in chain:
            raise table.fail(
                f"bones has {bone!r}{nearest(bone, chain)}; use {', '.join(chain)}, {SLING!r} or {FOLLOWS!r}"
            )
    rows = [chain.index(bone) for bone in bones if bone not in NO_BONES]
    if len(rows) < 2 or any(b <= a for a, b in pairwise(rows)):
        raise table.fail(f"bones are not at least two, each once, in the order {', '.join(chain)}; mend that")
    if SLING in bones and any(bone != FOLLOWS for bone in bones[: bones.index(SLING)]):
        raise table.fail(f"bones has {SLING!r} below {bones[0]!r}; a sling carries the top of the limb")
    if bones.count(SLING) > 1:
        raise table.fail(f"bones has {SLING!r} twice; name it once")
    toe = _triple(table, "toe") if table.has("toe") else (0.0, 0.0, 0.0)
    limb = LimbMap(joints, bones, toe, names.one(table, "goal"))
    table.no_more()
    return limb
