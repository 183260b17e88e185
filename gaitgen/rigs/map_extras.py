"""What a rig's map may say beside parts and limbs: how legs are taken and go, what hangs, ranges."""

from __future__ import annotations

import re

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names
from gaitgen.animal.limb import ENDS
from gaitgen.animal.toml_table import Table, nearest
from gaitgen.rigs.map_names import MapNames, choice
from gaitgen.rigs.rig_map import HangingMap, Legs, Limits, TurnsMap, WalkMap, WalkOfEnd

LEGS: tuple[Legs, ...] = ("as they stand", "under the body")
AXES = ("pitch", "roll", "yaw")
# What hangs and has its place in [parts].
KNOWN_PARTS = ("neck", "head", "jaw", "tail", "ear", "ear_L", "ear_R")

# What a map may set: hips of any size [m], heels that leave within half a stance of the template's, and a
# fold that leaves a leg something of its lift (estimates).
HIPS_M, HEELS, FOLDS = (1e-6, 1e6), (-0.5, 0.5), (0.3, 1.5)
# No joint turns by more than a whole turn with as much to spare; what is found is far inside. [rad]
TURN_RAD = (-13.0, 13.0)
PAIRS = 2 * len(AXES)


def read_legs(rig: Table) -> Legs:
    """Return how the legs are taken; a map of before has no word for it."""
    if rig.has("legs") and choice(rig, "legs", LEGS) == "under the body":
        return "under the body"
    return "as they stand"


def read_hanging(top: Table, names: MapNames, template: Animal) -> dict[str, HangingMap]:
    """Read what else hangs: each row like a part of the template."""
    if not top.has("hanging"):
        return {}
    found = {}
    known = tuple(dict.fromkeys(_unsided(part.name) for part in template.hanging))
    for table in top.tables("hanging"):
        name = table.name.removeprefix("hanging.")
        if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,39}", name):
            raise table.fail("has a name that is not plain; use letters, digits and _")
        if template.part(name) is not None and name in KNOWN_PARTS:
            raise table.fail(f"is called {name}, which [parts] has; name the joints there")
        joints = names.line(table, "joints")
        if not joints:
            raise table.fail("joints is []; name the joints that hang, or leave the table out")
        like = table.text("like") if table.has("like") else name
        if _unsided(like) not in known:
            raise table.fail(f"like is {like!r}{nearest(like, known)}; use one of {', '.join(known)}")
        table.no_more()
        found[name] = HangingMap(joints, _unsided(like))
    return found


def _unsided(name: str) -> str:
    return name.removesuffix("_L").removesuffix("_R")


def read_ranges(top: Table, names: MapNames) -> dict[str, dict[str, Limits]]:
    """Read how far joints may turn."""
    if not top.has("ranges"):
        return {}
    found = {}
    for table in top.tables("ranges"):
        joint = table.name.removeprefix("ranges.")
        if joint not in names.index:
            raise table.fail(f"is about no joint of the rig{nearest(joint, names.index)}; correct the name")
        own = {axis: table.limits(f"{axis}_deg", -180.0, 180.0) for axis in AXES if table.has(f"{axis}_deg")}
        table.no_more()
        if not all(least <= 0.0 <= most for least, most in own.values()):
            raise table.fail("leaves out 0, in which the rig stands; give [least, greatest] around it")
        found[joint] = own
    return found


def read_walk(top: Table) -> WalkMap | None:
    """Read how the legs go at a walk; None if the map leaves it to be found."""
    if not top.has("walk"):
        return None
    walk = top.table("walk")
    template = choice(walk, "template", animal_names())
    found = WalkMap(
        template,
        walk.number("hip_height_m", *HIPS_M),
        {end: _walk_of_end(walk.table(end)) for end in ENDS},
    )
    walk.no_more()
    return found


def _walk_of_end(table: Table) -> WalkOfEnd:
    found = WalkOfEnd(table.number("heel_later", *HEELS), table.number("fold", *FOLDS))
    table.no_more()
    return found


def read_turns(top: Table) -> TurnsMap | None:
    """Read how far joints turn in the rig's gaits; None if the map leaves it to be found."""
    if not top.has("turns"):
        return None
    turns = top.table("turns")
    joints, swings = turns.table("joints_rad"), turns.table("swings_rad")
    found = TurnsMap(
        turns.text("of"),
        {name: joints.vector(name, PAIRS, *TURN_RAD) for name in joints.content},
        {name: swings.number(name, *TURN_RAD) for name in swings.content},
    )
    turns.no_more()
    return found
