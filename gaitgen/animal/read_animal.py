"""Read and check one skeleton file (TOML, format 1): every fault names file, table, key and remedy."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import (
    PAIR_CHAINS,
    Animal,
    BackMotion,
    Follower,
    Hoof,
)
from gaitgen.animal.joint_tables import read_joints
from gaitgen.animal.joint_tree import JointTree
from gaitgen.animal.standing import load_share_fore, stacked_offsets, standing_fault
from gaitgen.animal.toml_table import LARGEST_M, NAME, Table, nearest
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]
Ball = tuple[str, tuple[float, float, float], float, str]


FOLLOWERS = ("neck", "head", "ear", "jaw", "tail")

NEEDED_LANDMARKS = ("withers", "croup", "poll", "muzzle", "point_of_hip")


def skeleton_from_table(top: Table) -> Animal:
    """Build the skeleton that a file describes.

    Raises
    ------
    AnimalError
        If something is missing, unknown, out of bounds or contradictory, or the animal cannot stand.
    """
    if top.number("format", 1, 1) != 1:
        raise top.fail("format must be 1")
    name, title, species = top.text("name", NAME, "a plain name"), top.text("title"), top.text("species")
    size = top.table("size")
    hooves = {end: _hoof(top.table("hooves").table(end)) for end in PAIR_CHAINS}
    track, coupling = top.table("track"), top.table("coupling")
    tree = JointTree(read_joints(top, hooves))
    landmarks = {
        table.name.removeprefix("landmarks."): _landmark(table, tree) for table in top.tables("landmarks")
    }
    for needed in NEEDED_LANDMARKS:
        if needed not in landmarks:
            raise AnimalError(f"{top.where}: has no table [landmarks.{needed}]; add it")
    soles = {end: (tree.index[f"{end}_hoof_L"], hoof) for end, hoof in hooves.items()}
    positions = stacked_offsets(tree.parents, tree.offsets_m)
    skeleton = Animal(
        name=name,
        title=title,
        species=species,
        joint_names=tree.names,
        parents=tree.parents,
        offsets_m=tree.offsets_m,
        tips_m=tree.tips_m,
        mass_shares=tree.mass_shares,
        ranges_rad=tree.ranges_rad(landmarks["point_of_hip"][1]),
        standing_angles_rad=tree.standing_rad,
        radii_m=tree.radii_m,
        body_mass_kg=size.number("body_mass_kg", 0.001, 20000.0),
        withers_height_m=size.number("withers_height_m", 0.02, LARGEST_M),
        croup_height_m=size.number("croup_height_m", 0.02, LARGEST_M),
        hooves=hooves,
        track_m={end: track.number(f"{end}_m", 0.0, LARGEST_M) for end in PAIR_CHAINS},
        load_share_fore=load_share_fore(positions, tree.mass_centres_m, tree.mass_shares, soles),
        followers={part: _follower(top.table("followers").table(part)) for part in FOLLOWERS},
        back=_back(top.table("back")),
        landmarks_m=landmarks,
        outline=tuple(_outline(top, tree)),
        stifle_hock_ratio=coupling.number("stifle_hock_ratio", 0.3, 2.0),
        mass_centres_m=tree.mass_centres_m,
        mass_height_power=size.number("mass_height_power", 1.0, 5.0),
    )
    for table in (size, track, coupling):
        table.no_more({"source", "height_source", "mass_source", "mass_height_source"})
    top.no_more({"sources"})
    fault = standing_fault(skeleton)
    if fault:
        raise AnimalError(f"{top.where}: {fault}")
    return skeleton


def _hoof(table: Table) -> Hoof:
    hoof = Hoof(
        coffin_height_m=table.number("coffin_height_m", 0.001, 1.0),
        toe_m=table.number("toe_m", 0.001, 1.0),
        heel_m=table.number("heel_m", 0.001, 1.0),
        half_width_m=table.number("half_width_m", 0.001, 1.0),
    )
    table.no_more({"source"})
    return hoof


def _follower(table: Table) -> Follower:
    follower = Follower(
        natural_frequency_hz=table.number("natural_frequency_hz", 0.05, 50.0),
        damping_ratio=table.number("damping_ratio", 0.05, 2.0),
        drive=table.number("drive", 0.0, 10.0),
    )
    table.no_more({"source"})
    return follower


def _back(table: Table) -> BackMotion:
    names = ("flexion", "bending", "pelvis_axial", "chest_axial")
    flexion, bending, pelvis, chest = (np.radians(table.number(f"{n}_deg", 0.0, 60.0)) for n in names)
    table.no_more({"source"})
    return BackMotion(float(flexion), float(bending), float(pelvis), float(chest))


def _landmark(table: Table, tree: JointTree) -> tuple[str, tuple[float, float, float]]:
    joint = table.text("joint", NAME, "the name of a joint")
    if joint not in tree.index:
        raise table.fail(f"joint {joint!r} is no joint{nearest(joint, tree.index)}")
    x, y, z = table.vector("offset_m", 3, -LARGEST_M, LARGEST_M)
    table.no_more({"source"})
    return joint, (x, y, z)


def _outline(top: Table, tree: JointTree) -> list[Ball]:
    balls: list[Ball] = []
    for table in top.array("outline"):
        group = table.text("group", NAME, "a plain name")
        for ball in table.rows("balls"):
            fits = len(ball) == 5 and isinstance(ball[0], str) and ball[0] in tree.index
            if not fits:
                raise table.fail("has a ball that is not [joint, forward, left, up, radius]; mend it")
            x, y, z, radius = (table.checked(item, "balls", -LARGEST_M, LARGEST_M) for item in ball[1:])
            balls.append((str(ball[0]), (x, y, z), abs(radius), group))
        table.no_more({"source"})
    return balls
