"""Animal files that differ from the riding horse's: other names, other joints, fewer parts. All invented."""

import copy
import json
import tomllib

import numpy as np

from gaitgen.animal.library import read_skeleton, skeleton_folder


def riding_horse():
    """Return the tables of the riding horse's file."""
    return tomllib.loads((skeleton_folder() / "riding_horse.toml").read_text(encoding="utf-8"))


def text(tables):
    """Write tables as TOML."""
    lines = []

    def walk(table, name):
        plain = {key: value for key, value in table.items() if not is_table(value)}
        if name and (plain or not table):
            lines.append(f"[{name}]")
        lines.extend(f"{key} = {json.dumps(value)}" for key, value in plain.items())
        for key, value in table.items():
            inner = f"{name}.{key}" if name else key
            if isinstance(value, dict):
                walk(value, inner)
            elif is_table(value):
                for item in value:
                    lines.append(f"[[{inner}]]")
                    lines.extend(f"{k} = {json.dumps(v)}" for k, v in item.items())

    def is_table(value):
        return isinstance(value, dict) or (isinstance(value, list) and value and isinstance(value[0], dict))

    walk(tables, "")
    return "\n".join(lines) + "\n"


def animal(tables, name="made_up.toml"):
    """Read tables as a file; what it has its own way in a gait goes with the parts it is about."""
    return read_skeleton(text(_with_fitting_gaits(tables)).encode(), name)


def _with_fitting_gaits(tables):
    tables = copy.deepcopy(tables)
    for own in tables.get("gait", {}).values():
        hanging, known = own.get("hanging", {}), tables.get("hanging", {})
        own["hanging"] = {part: table for part, table in hanging.items() if part in known}
        for end, limb in own.get("limbs", {}).items():
            laws = tables["limbs"][end]["law"]
            limb["law"] = {joint: law for joint, law in limb.get("law", {}).items() if joint in laws}
            for number in {"glide_m", "ride_m"} & limb.keys() - tables["limbs"][end].keys():
                del limb[number]
    return tables


def renamed(tables, new):
    """Give every joint another name; ``new`` takes a name without side."""
    tables = copy.deepcopy(tables)
    joints = set(tables["joints"])

    def other(name):
        bare = name.removesuffix("_L").removesuffix("_R")
        return new(name) if name in joints else new(bare) + name[-2:] if bare in joints else name

    tables["joints"] = {other(name): table for name, table in tables["joints"].items()}
    limbs, outlines = tables["limbs"].values(), tables["outline"]
    for limb in (
        *limbs,
        *(limb for own in tables["gait"].values() for limb in own["limbs"].values()),
    ):
        # A gait may have other numbers of a limb and no law of its own.
        limb.update(law={other(name): law for name, law in limb.get("law", {}).items()})
    for table in (*tables["joints"].values(), tables["body"], *limbs, *tables["landmarks"].values()):
        for key in ("parent", "head", "girdle", "sling", "cannon", "joint"):
            if key in table:
                table[key] = other(table[key])
    for table in (tables["body"], *limbs, *tables["hanging"].values()):
        for key in ("spine", "joints"):
            if key in table:
                table[key] = [other(name) for name in table[key]]
    for outline in outlines:
        outline["balls"] = [[other(ball[0]), *ball[1:]] for ball in outline["balls"]]
    return tables


def without(tables, *names):
    """Take out joints on which only each other hang, and whatever is fixed to them."""
    tables = copy.deepcopy(tables)
    for name in names:
        del tables["joints"][name]
    for part in list(tables["hanging"]):
        if set(tables["hanging"][part]["joints"]) & set(names):
            del tables["hanging"][part]
    if tables["body"].get("head") in names:
        del tables["body"]["head"]

    def is_gone(joint):
        return joint.removesuffix("_L").removesuffix("_R") in names

    tables["landmarks"] = {k: v for k, v in tables["landmarks"].items() if not is_gone(v["joint"])}
    for outline in tables["outline"]:
        outline["balls"] = [ball for ball in outline["balls"] if not is_gone(ball[0])]
    tables["outline"] = [outline for outline in tables["outline"] if outline["balls"]]
    return tables


def without_parts(tables, *parts):
    """Let parts stay still that hung."""
    tables = copy.deepcopy(tables)
    for part in parts:
        del tables["hanging"][part]
    if not tables["hanging"]:
        del tables["hanging"]
    return tables


def _bone(joint):
    angle = np.radians(joint["direction_deg"])
    return joint["length_m"] * np.array([np.cos(angle), 0.0, np.sin(angle)])


def _set_bone(joint, bone):
    joint["length_m"] = float(np.linalg.norm(bone))
    joint["direction_deg"] = float(np.degrees(np.arctan2(bone[2], bone[0])))


def merged(tables, name):
    """Let a joint be one with its parent, from whose tip it goes on."""
    tables = copy.deepcopy(tables)
    gone = tables["joints"].pop(name)
    assert gone["attach"] == "tip"
    above = tables["joints"][gone["parent"]]
    at = _bone(above) + np.array(gone.get("offset_m", [0.0, 0.0, 0.0]))
    _set_bone(above, at * [1.0, 0.0, 1.0] + _bone(gone))
    above["mass_percent"] += gone["mass_percent"]
    above.pop("mass_centre_m", None)
    for joint in tables["joints"].values():
        if joint.get("parent") == name:
            joint["parent"] = gone["parent"]
            shift = at if joint["attach"] == "joint" else at * [0.0, 1.0, 0.0]
            joint["offset_m"] = _sum(joint.get("offset_m", [0.0, 0.0, 0.0]), shift)
    _left_out_of_rows(tables, name)
    for landmark in tables["landmarks"].values():
        landmark["joint"], landmark["offset_m"] = _moved(
            landmark["joint"], landmark["offset_m"], name, gone["parent"], at
        )
    for outline in tables["outline"]:
        for ball in outline["balls"]:
            ball[0], ball[1:4] = _moved(ball[0], ball[1:4], name, gone["parent"], at)
    return tables


def _sum(a, b):
    return [float(value) for value in np.array(a) + np.array(b)]


def _moved(joint, offset_m, name, above, at):
    """Fix a point of a joint that is gone to the one above."""
    bare = joint.removesuffix("_L")
    return (above + joint[len(bare) :], _sum(offset_m, at)) if bare == name else (joint, offset_m)


def _left_out_of_rows(tables, name):
    """Take a joint out of spine, limbs and what hangs."""
    if name in tables["body"]["spine"]:
        tables["body"]["spine"].remove(name)
    for limb in tables["limbs"].values():
        if name in limb["joints"]:
            limb["joints"].remove(name)
            limb["law"].pop(name, None)
    for which, part in tables["hanging"].items():
        if name in part["joints"]:
            place = part["joints"].index(name)
            part["joints"].pop(place)
            for gains in _gains_of(tables, which):
                gains.pop(place)


def _gains_of(tables, which):
    """What of a part that hangs has a number for each joint: its own, and those of gaits that lie over it."""
    tables_of = [tables["hanging"], *(gait.get("hanging", {}) for gait in tables["gait"].values())]
    return [table[which]["gains"] for table in tables_of if "gains" in table.get(which, {})]


def split(tables, name, lower, share, **limits):
    """Put a joint into a bone; what was fixed to the bone stays on its upper part."""
    tables = copy.deepcopy(tables)
    joints = {}
    for key, joint in tables["joints"].items():
        joints[key] = joint
        if joint.get("parent") == name and joint["attach"] == "tip":
            joint["parent"] = lower
        if key == name:
            left_above = {"offset_m", "mass_centre_m", "angle_from", "angle_name"}
            own = {k: v for k, v in joint.items() if k not in left_above}
            joints[lower] = own | {
                "parent": name,
                "attach": "tip",
                "length_m": (1.0 - share) * joint["length_m"],
                "mass_percent": (1.0 - share) * joint["mass_percent"],
                "source": "made up",
                **limits,
            }
            joint["length_m"] *= share
            joint["mass_percent"] *= share
            joint.pop("mass_centre_m", None)
    tables["joints"] = joints
    rows = [*(limb["joints"] for limb in tables["limbs"].values()), tables["body"]["spine"]]
    for row in rows:
        if name in row:
            row.insert(row.index(name) + 1, lower)
    for which, part in tables["hanging"].items():
        if name in part["joints"]:
            place = part["joints"].index(name)
            part["joints"].insert(place + 1, lower)
            for gains in _gains_of(tables, which):
                gains.insert(place + 1, gains[place])
    return tables


def without_sling(tables):
    """Let the shoulder blades hang on the chest itself."""
    tables = copy.deepcopy(tables)
    sling, blade = tables["joints"].pop("sling"), tables["joints"]["scapula"]
    offset = np.array(sling["offset_m"]) + blade["offset_m"]
    blade |= {"parent": sling["parent"], "attach": "tip", "offset_m": [float(v) for v in offset]}
    for key in ("sling", "ride_m", "glide_m"):
        del tables["limbs"]["fore"][key]
    return tables
