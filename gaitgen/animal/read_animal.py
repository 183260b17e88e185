"""Read and check one animal file (TOML, format 2): every fault names file, table, key and remedy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Ball
from gaitgen.animal.hanging_tables import read_hanging
from gaitgen.animal.joint_tables import Joint, read_joints
from gaitgen.animal.joint_tree import JointTree
from gaitgen.animal.known_gaits import read_gaits
from gaitgen.animal.law import law_fault
from gaitgen.animal.limb import Limb
from gaitgen.animal.limb_tables import read_feet, read_limbs
from gaitgen.animal.look import read_look
from gaitgen.animal.manner import Back, Going, Tempo
from gaitgen.animal.own_gait import overlays, read_own_gaits
from gaitgen.animal.standing import load_share_fore, stacked_offsets, standing_fault
from gaitgen.animal.toml_table import LARGEST_M, NAME, Table, nearest
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

NEEDED_LANDMARKS = ("withers", "croup")
LAYERS = ("tail", "trunk", "mane", "head", "flap", "marks")
FORMAT = 2
# A hump leans no farther: with more its force would fall below zero at one end of the stance.
EARLIEST_FORCES = 0.4
MOST_WAVE = 0.2  # of a stride: with more the ends of a back would bend against each other (estimate)
MOST_DRIVE = 0.2  # of the hip height; five times what horses do at a trot (estimate)


def animal_from_table(top: Table) -> Animal:
    """Build the animal that a file describes.

    Raises
    ------
    AnimalError
        If something is missing, unknown, out of bounds or contradictory, or the animal cannot stand.
    """
    _check_format(top)
    name = top.text("name", NAME, "a name of letters, digits and _")
    title, species = top.text("title"), top.text("species")
    size, body = top.table("size"), top.table("body")
    gaits, asked = read_gaits(top)
    feet = read_feet(top)
    joints = read_joints(top, dict(feet.values()))
    tree = JointTree(joints)
    by_name = {joint.name: joint for joint in joints}
    landmarks = {
        table.name.removeprefix("landmarks."): _landmark(table, tree) for table in top.tables("landmarks")
    }
    for needed in NEEDED_LANDMARKS:
        if needed not in landmarks:
            raise AnimalError(f"{top.where}: has no table [landmarks.{needed}]; add it")
    spine = _spine(body, by_name, tree)
    limbs = read_limbs(top, by_name, tree.index)
    soles = {limb.end: (limb.foot_joint, limb.foot) for limb in limbs[::2]}
    outline, layers, merged, ornaments = _outline(top, tree)
    moved = _moved(spine, tree, limbs)
    animal = Animal(
        name=name,
        title=title,
        species=species,
        joint_names=tree.names,
        parents=tree.parents,
        offsets_m=tree.offsets_m,
        tips_m=tree.tips_m,
        mass_shares=tree.mass_shares,
        ranges_rad=tree.ranges_rad(landmarks),
        standing_angles_rad=tree.standing_rad,
        angle_signs=tree.angle_signs,
        angle_names=tree.angle_names,
        angle_also=tree.angle_also,
        radii_m=tree.radii_m,
        body_mass_kg=size.number("body_mass_kg", 0.001, 20000.0),
        withers_height_m=size.number("withers_height_m", 0.02, LARGEST_M),
        croup_height_m=size.number("croup_height_m", 0.02, LARGEST_M),
        limbs=limbs,
        spine=spine,
        hanging=read_hanging(top, by_name, tree.index, moved),
        head=_head(body, by_name, tree),
        load_share_fore=load_share_fore(
            stacked_offsets(tree.parents, tree.offsets_m), tree.mass_centres_m, tree.mass_shares, soles
        ),
        back=_back(top.table("back")),
        tempo=_tempo(top.table("tempo")),
        gaits=gaits,
        own_gaits=read_own_gaits(top, (*gaits, *asked)),
        goings={
            gait: Going(
                back=_back(laid.table("back")),
                tempo=_tempo(laid.table("tempo")),
                limbs=read_limbs(laid, by_name, tree.index),
                hanging=read_hanging(laid, by_name, tree.index, moved),
            )
            for gait, laid in overlays(top).items()
        },
        landmarks_m=landmarks,
        outline=outline,
        outline_layers=layers,
        look=read_look(top, merged, ornaments),
        mass_centres_m=tree.mass_centres_m,
        mass_height_power=size.number("mass_height_power", 1.0, 5.0),
        limits=top.text(
            "limits", rf"{NAME}|[^/\\\\]+\.toml", "the name of a set of limits, or of a file beside"
        ),
    )
    size.no_more({"source", "height_source", "mass_source", "mass_height_source"})
    body.no_more({"source"})
    top.no_more({"sources"})
    _check_girdles(top, animal)
    fault = standing_fault(animal)
    if fault:
        raise AnimalError(f"{top.where}: {fault}")
    for limb in animal.limbs[::2]:
        fault = law_fault(animal, limb)
        if fault:
            raise AnimalError(f"{top.where}: [limbs.{limb.end}.law] cannot reach the ground: {fault}")
    return animal


def _check_format(top: Table) -> None:
    found = top.number("format", 1, 1000)
    if found < FORMAT:
        raise top.fail(
            f"format is {found:g}, an old one; write the tables [body], [tempo], [limbs] and [hanging] as in "
            f"riding_horse.toml, and format = {FORMAT}"
        )
    if found != FORMAT:
        raise top.fail(f"format is {found:g}, which this gaitgen cannot read; write format = {FORMAT}")


def _moved(spine: tuple[int, ...], tree: JointTree, limbs: tuple[Limb, ...]) -> dict[str, str]:
    """Say which joints the trunk and the limbs move, by name without side."""
    moved = {tree.names[row]: "the spine of [body]" for row in spine}
    for limb in limbs[::2]:
        rows = [row for row in (limb.sling, *limb.joints) if row is not None]
        moved |= {tree.names[row][:-2]: f"[limbs.{limb.end}]" for row in rows}
    return moved


def _check_girdles(top: Table, animal: Animal) -> None:
    for end, place, word in (("fore", animal.chest, "last"), ("hind", animal.spine[0], "first")):
        girdle = animal.limb(end).girdle
        if girdle != place:
            table = top.table("limbs").table(end)
            raise table.fail(
                f"girdle is {animal.joint_names[girdle]!r}; {end} limbs hang on the {word} joint of the "
                f"spine, {animal.joint_names[place]!r}, so write that, or another spine"
            )


def _spine(body: Table, joints: dict[str, Joint], tree: JointTree) -> tuple[int, ...]:
    names = body.names("spine")
    single = [name for name in joints if not joints[name].paired]
    for k, name in enumerate(names):
        if name not in single:
            raise body.fail(f"spine names {name!r}, which is no single joint{nearest(name, single)}")
        if k == 0 and joints[name].parent is not None:
            raise body.fail(f"spine begins with {name!r}; begin with the root, {tree.names[0]!r}")
        if k and joints[name].parent != names[k - 1]:
            raise joints[name].table.fail(
                f"parent is {joints[name].parent!r}; the spine of [body] needs {names[k - 1]!r}"
            )
        _check_middle(joints[name])
    if len(names) < 2:
        raise body.fail("spine has one joint; name the root and at least the chest")
    return tuple(tree.index[name] for name in names)


def _check_middle(joint: Joint) -> None:
    """Refuse a joint of the spine that is off the midline, and a root that is not over the origin."""
    x, y, z = (float(value) for value in joint.offset_m)
    if y != 0.0:
        raise joint.table.fail(
            f"offset_m is {y:g} m to the left; the spine is on the midline, write [{x:g}, 0.0, {z:g}]"
        )
    if joint.parent is None and x != 0.0:
        raise joint.table.fail(
            f"offset_m is {x:g} m forward; the root is over the origin, write [0.0, 0.0, {z:g}]"
        )


def _head(body: Table, joints: dict[str, Joint], tree: JointTree) -> int | None:
    if not body.has("head"):
        return None
    name = body.text("head", NAME, "the name of a joint")
    spine = body.names("spine")
    single = [joint for joint in joints if not joints[joint].paired and joint not in spine]
    if name not in single:
        raise body.fail(f"head {name!r} is no single joint in front of the spine{nearest(name, single)}")
    return tree.index[name]


def _back(table: Table) -> Back:
    names = ("flexion", "bending", "pelvis_axial", "chest_axial")
    flexion, bending, pelvis, chest = (float(np.radians(table.number(f"{n}_deg", 0.0, 60.0))) for n in names)
    gather = float(np.radians(table.number("gather_deg", 0.0, 120.0))) if table.has("gather_deg") else 0.0
    point = table.number("force_point_m", 0.01, LARGEST_M)
    runs, walks = (
        table.number(name, 0.0, most) if table.has(name) else 0.0
        for name, most in (("over_feet", 1.0), ("walks_over_feet", 3.0))
    )
    back = Back(flexion, bending, pelvis, chest, point, gather, runs, walks)
    if table.has("walk_flexion_share"):
        back = replace(back, walk_flexion_share=table.number("walk_flexion_share", 0.0, 1.0))
    if table.has("forces_early"):
        back = replace(back, forces_early=table.number("forces_early", -EARLIEST_FORCES, EARLIEST_FORCES))
    for name, most in (("walk_drive", MOST_DRIVE), ("run_drive", MOST_DRIVE), ("gather_wave", MOST_WAVE)):
        if table.has(name):
            back = replace(back, **{name: table.number(name, 0.0, most)})
    own = ("force_point", "gather", "over_feet", "walks_over_feet", "walk_flexion", "forces_early")
    more = ("walk_drive", "run_drive", "gather_wave")
    table.no_more({"source", *(f"{name}_source" for name in (*own, *more))})
    return back


def _tempo(table: Table) -> Tempo:
    tempo = Tempo(
        swing_time_s=table.number("swing_time_s", 0.02, 5.0),
        stance_distance_m=table.number("stance_distance_m", 0.005, LARGEST_M),
        settle_strides=table.number("settle_strides", 0.0, 0.25),
    )
    if table.has("slow_stride_s"):
        tempo = replace(
            tempo,
            slow_stride_s=table.number("slow_stride_s", 0.02, 20.0),
            slow_power=table.number("slow_power", 0.0, 1.0),
            slow_reach_power=table.number("slow_reach_power", 0.0, 4.0),
        )
    if table.has("settle_share"):
        tempo = replace(tempo, settle_share=table.number("settle_share", 0.0, 0.5))
    if table.has("slow_room_power"):
        tempo = replace(tempo, slow_room_power=table.number("slow_room_power", 0.0, 4.0))
    if table.has("kept_strides"):
        tempo = replace(tempo, kept_strides=table.number("kept_strides", 1.0, 2.0))
    if table.has("fast_stride_s"):
        tempo = replace(
            tempo,
            fast_stride_s=table.number("fast_stride_s", 0.02, 20.0),
            fast_reach_power=table.number("fast_reach_power", 0.0, 1.5),
        )
    table.no_more({"source", "settle_source", "slow_source", "fast_source"})
    return tempo


def _landmark(table: Table, tree: JointTree) -> tuple[str, tuple[float, float, float]]:
    joint = table.text("joint", NAME, "the name of a joint")
    if joint not in tree.index:
        left = f"{joint}_L"
        hint = f"; did you mean {left!r}" if left in tree.index else nearest(joint, tree.index)
        raise table.fail(f"joint {joint!r} is no joint{hint}")
    x, y, z = table.vector("offset_m", 3, -LARGEST_M, LARGEST_M)
    table.no_more({"source"})
    return joint, (x, y, z)


def _outline(top: Table, tree: JointTree) -> tuple[tuple[Ball, ...], dict[str, str], set[str], set[str]]:
    balls: list[Ball] = []
    layers: dict[str, str] = {}
    merged: set[str] = set()
    ornaments: set[str] = set()
    for table in top.array("outline"):
        group = table.text("group", NAME, "a name of letters, digits and _")
        if table.has("layer"):
            layers[group] = table.text("layer", "|".join(LAYERS), f"one of {', '.join(LAYERS)}")
        if table.flag("merged"):
            merged.add(group)
        if table.flag("ornament"):
            ornaments.add(group)
        for ball in table.rows("balls"):
            fits = len(ball) == 5 and isinstance(ball[0], str) and ball[0] in tree.index
            if not fits:
                raise table.fail("has a ball that is not [joint, forward, left, up, radius]; mend it")
            x, y, z, radius = (table.checked(item, "balls", -LARGEST_M, LARGEST_M) for item in ball[1:])
            balls.append((str(ball[0]), (x, y, z), abs(radius), group))
        table.no_more({"source"})
    return tuple(balls), layers, merged, ornaments
