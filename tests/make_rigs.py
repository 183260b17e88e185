"""Makes rigs of invented animals: a table of places in, BVH text out.

A place is (forward, left, up) in metres. Names are our own inventions.
"""

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

HERE = Path(__file__).parent / "rigs"
UNITS = {"cm": 0.01, "m": 1.0, "in": 0.0254, "mm": 0.001, "dm": 0.1, "ft": 0.3048, "100 m": 100.0}


@dataclass
class Plan:
    """One rig before it is written: name -> (parent, place), pairs written once with {} in the name."""

    joints: dict = field(default_factory=dict)
    ends: dict = field(default_factory=dict)  # joint -> place
    unit: str = "cm"
    axes: tuple = ((0, 0, 1), (1, 0, 0), (0, 1, 0))  # where forward, left and up point in the file
    order: str = "ZXY"
    orders: dict = field(default_factory=dict)  # joint -> letters of its rotation channels
    turned: int | None = None  # seed of rest rotations written into frame 1
    rests: dict = field(default_factory=dict)  # joint -> its rest rotation, turns about x, y, z in degrees
    at: tuple = (0, 0, 0)  # where the root's positions put the rig in frame 1, in the unit of the file
    aimed: bool = False  # the first axis of every joint lies along its bone; it stands in frame 1
    places: str = ""  # positions on joints under the root: "replace" their OFFSET, or "add" to it
    with_places: tuple = ()  # the joints that have them; all if none is named
    root_at_zero: bool = False
    tab: str = "\t"
    line_end: str = "\n"


def base():
    """A made-up grazing animal, 1.5 m at the shoulder."""
    return Plan(
        joints={
            "hub": (None, (0.02, 0, 1.38)),
            "loin": ("hub", (0.20, 0, 1.37)),
            "girth": ("loin", (0.55, 0, 1.33)),
            "brisket": ("girth", (0.85, 0, 1.25)),
            "crest_a": ("brisket", (1.12, 0, 1.20)),
            "crest_b": ("crest_a", (1.30, 0, 1.38)),
            "skull": ("crest_b", (1.50, 0, 1.62)),
            "chin": ("skull", (1.53, 0, 1.54)),
            "lug_{}": ("skull", (1.50, 0.06, 1.70)),
            "brush_a": ("hub", (-0.25, 0, 1.34)),
            "brush_b": ("brush_a", (-0.38, 0, 1.20)),
            "brush_c": ("brush_b", (-0.42, 0, 1.00)),
            "blade_{}": ("brisket", (0.93, 0.09, 1.36)),
            "point_{}": ("blade_{}", (1.09, 0.14, 1.03)),
            "bow_{}": ("point_{}", (0.94, 0.13, 0.79)),
            "knee_{}": ("bow_{}", (0.94, 0.12, 0.40)),
            "ankle_{}": ("knee_{}", (0.94, 0.12, 0.15)),
            "sole_{}": ("ankle_{}", (1.01, 0.12, 0.055)),
            "rump_{}": ("hub", (-0.19, 0.12, 1.20)),
            "flank_{}": ("rump_{}", (-0.13, 0.15, 0.84)),
            "heelbone_{}": ("flank_{}", (-0.29, 0.12, 0.49)),
            "rear_ankle_{}": ("heelbone_{}", (-0.29, 0.12, 0.15)),
            "rear_sole_{}": ("rear_ankle_{}", (-0.22, 0.12, 0.055)),
        },
        ends={
            "chin": (1.72, 0, 1.22),
            "lug_{}": (1.52, 0.08, 1.84),
            "brush_c": (-0.43, 0, 0.75),
            "sole_{}": (1.08, 0.12, 0.0),
            "rear_sole_{}": (-0.15, 0.12, 0.0),
        },
    )


def without(plan, *names):
    """Take joints out; what hangs on them hangs on their parents."""
    joints, ends = dict(plan.joints), dict(plan.ends)
    for name in names:
        above, _ = joints.pop(name)
        joints = {n: (above if p == name else p, at) for n, (p, at) in joints.items()}
        if name in ends:
            ends[above] = ends.pop(name)
    return replace(plan, joints=joints, ends=ends)


def between(plan, above, below, share, name):
    """Put a joint on the line between two others."""
    a, b = np.array(plan.joints[above][1]), np.array(plan.joints[below][1])
    joints = dict(plan.joints)
    joints[name] = (above, tuple(a + share * (b - a)))
    joints[below] = (name, joints[below][1])
    return replace(plan, joints=joints)


def moved(plan, factor):
    """Scale a plan about the origin, by one number or by forward, left and up."""
    f = np.broadcast_to(np.asarray(factor, dtype=float), 3)
    return replace(
        plan,
        joints={n: (p, tuple(f * np.array(at))) for n, (p, at) in plan.joints.items()},
        ends={n: tuple(f * np.array(at)) for n, at in plan.ends.items()},
    )


def _sides(plan):
    """Write the pairs out."""
    joints, ends = {}, {}
    for name, (above, at) in plan.joints.items():
        for side, flip in (("a", 1), ("b", -1)) if "{}" in name else (("", 1),):
            place = np.array(at, dtype=float) * (1, flip, 1)
            joints[name.format(side)] = (above and above.format(side), place)
            if name in plan.ends:
                ends[name.format(side)] = np.array(plan.ends[name], dtype=float) * (1, flip, 1)
    return joints, ends


def _along(to_file, joints, ends, children, name):
    """Turn a joint so that its first axis points along its bone."""
    ahead = [joints[c][1] for c in children[name]] or [
        ends.get(name, joints[name][1] + np.array([1.0, 0, 0]))
    ]
    bone = to_file @ (ahead[0] - joints[name][1])
    bone = bone / np.linalg.norm(bone)
    aside = np.cross(bone, np.eye(3)[int(np.argmin(np.abs(bone)))])
    aside = aside / np.linalg.norm(aside)
    return Rotation.from_matrix(np.stack([bone, aside, np.cross(bone, aside)], axis=1))


def _has_places(plan, name):
    """Tell whether a joint under the root has position channels."""
    return bool(plan.places) and (not plan.with_places or name in plan.with_places)


def digits(numbers):
    """Write numbers with six digits; a zero has no sign, which is a processor's last digit."""
    return " ".join(f"{value:.6f}" for value in np.round(np.asarray(numbers, dtype=float), 6) + 0.0)


def text(plan, frames=2):  # noqa: C901  a table of switches
    """Write a plan as BVH."""
    joints, ends = _sides(plan)
    to_file = np.array(plan.axes, dtype=float).T / UNITS[plan.unit]
    random = np.random.default_rng(plan.turned or 0)
    world = {
        n: Rotation.random(rng=random) if plan.turned is not None else Rotation.identity() for n in joints
    }
    children = {n: [c for c, (p, _) in joints.items() if p == n] for n in joints}
    world |= {n: Rotation.from_euler("xyz", turn, degrees=True) for n, turn in plan.rests.items()}
    if plan.aimed:
        world = {n: _along(to_file, joints, ends, children, n) for n in joints}
    lines, angles = ["HIERARCHY"], []

    def walk(name, depth):
        tab, inner = plan.tab * depth, plan.tab * (depth + 1)
        above, place = joints[name]
        letters = plan.orders.get(name, plan.order)
        offset = to_file @ place if above is None else to_file @ (place - joints[above][1])
        if above is None and plan.root_at_zero:
            offset = np.zeros(3)
        local = world[name]
        if above is not None:
            offset = world[above].inv().apply(offset)
            local = world[above].inv() * world[name]
        with_places = above is None or _has_places(plan, name)
        words = ["Xposition", "Yposition", "Zposition"] if with_places else []
        words += [f"{letter}rotation" for letter in letters]
        lines.append(f"{tab}{'JOINT' if above else 'ROOT'} {name}")
        lines.append(f"{tab}{{")
        lines.append(f"{inner}OFFSET " + digits(offset))
        lines.append(f"{inner}CHANNELS {len(words)} {' '.join(words)}".rstrip())
        if above is None:
            angles.extend(to_file @ place + plan.at)
        elif with_places:
            angles.extend(offset if plan.places == "replace" else np.zeros(3))
        if len(letters) == 3:
            angles.extend(local.as_euler(letters.upper(), degrees=True))
        else:
            angles.extend([0.0] * len(letters))
        for child in children[name]:
            walk(child, depth + 1)
        if name in ends:
            tip = world[name].inv().apply(to_file @ (ends[name] - place))
            lines.extend(
                [
                    f"{inner}End Site",
                    f"{inner}{{",
                    f"{inner}{plan.tab}OFFSET " + digits(tip),
                    f"{inner}}}",
                ]
            )
        elif not children[name]:
            lines.extend([f"{inner}End Site", f"{inner}{{", f"{inner}{plan.tab}OFFSET 0 0 0", f"{inner}}}"])
        lines.append(f"{tab}}}")

    walk(next(iter(joints)), 0)
    row = digits(angles)
    lines += ["MOTION", f"Frames: {frames}", "Frame Time: 0.041667", *[row] * frames]
    return plan.line_end.join(lines) + plan.line_end


def yawed(plan, degrees):
    """Let the rig face another way in its file."""
    turn = Rotation.from_rotvec(np.radians(degrees) * np.array(plan.axes[2], dtype=float))
    return replace(plan, axes=tuple(map(tuple, turn.apply(np.array(plan.axes, dtype=float)))))


def renamed(plan):
    """Give every joint a name that says nothing."""
    new = {n: f"n{i:02d}" + ("_{}" if "{}" in n else "") for i, n in enumerate(plan.joints)}
    return replace(
        plan,
        joints={new[n]: (p and new[p], at) for n, (p, at) in plan.joints.items()},
        ends={new[n]: at for n, at in plan.ends.items()},
    )


Z_UP = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
X_UP = ((0, 1, 0), (0, 0, 1), (1, 0, 0))


def plans():
    """Every hand-made rig, each different in one way from the first."""
    first = base()
    noscapula = without(first, "blade_{}")
    twist = between(between(first, "bow_{}", "knee_{}", 0.5, "twirl_{}"), "hub", "rump_{}", 0.4, "socket_{}")
    extra = replace(
        twist, joints={**twist.joints, "rib_{}": ("girth", (0.6, 0.3, 1.0)), "belly": ("loin", (0.3, 0, 0.9))}
    )
    toes = replace(
        first,
        joints={
            **first.joints,
            "claw_{}": ("ankle_{}", (1.01, 0.17, 0.055)),
            "rear_claw_{}": ("rear_ankle_{}", (-0.22, 0.17, 0.055)),
        },
        ends={**first.ends, "claw_{}": (1.06, 0.18, 0.0), "rear_claw_{}": (-0.17, 0.18, 0.0)},
    )
    return {
        "plain": first,
        "nameless": renamed(first),
        "no_scapula": noscapula,
        "two_joint_spine": without(first, "loin", "girth"),
        "merged_pastern": without(first, "sole_{}", "rear_sole_{}"),
        "cannon_to_hoof": without(first, "ankle_{}", "rear_ankle_{}"),
        "extra_joints": extra,
        "toes": toes,
        "z_up_metres": replace(first, unit="m", axes=Z_UP, order="XYZ"),
        "x_up_inches": replace(first, unit="in", axes=X_UP, order="YZX"),
        "facing_aside": yawed(first, 37.0),
        "facing_away": replace(first, axes=((0, 0, -1), (-1, 0, 0), (0, 1, 0)), unit="mm"),
        "turned_joints": replace(first, turned=7, order="YXZ"),
        "mixed_orders": replace(
            first,
            orders={f"bow_{s}": "ZYX" for s in "ab"} | {"hub": "XZY", "skull": "YZX", "crest_a": "XYZ"},
        ),
        "root_at_zero": replace(first, root_at_zero=True, tab="  ", line_end="\r\n"),
        "few_channels": replace(
            first,
            orders={f"{n}_{s}": "X" for n in ("bow", "knee", "flank", "heelbone") for s in "ab"}
            | {"loin": "", "chin": "X"},
        ),
        "small": moved(noscapula, (0.33, 0.4, 0.3)),
    }


def odd_plans():
    """Rigs that differ in more than one way, or are harder to read."""
    first = base()
    on_stage = {n: ("stage" if p is None else p, at) for n, (p, at) in first.joints.items()}
    from_core = {
        n: ("core" if n in ("hub", "girth") else p, at) for n, (p, at) in first.joints.items() if n != "loin"
    }
    short = without(first, "ankle_{}", "sole_{}", "rear_ankle_{}", "rear_sole_{}", "blade_{}")
    no_head = without(first, "crest_a", "crest_b", "skull", "chin", "lug_{}", "brush_a", "brush_b", "brush_c")
    no_head.ends = {n: at for n, at in no_head.ends.items() if "sole" in n}
    paws = moved(without(first, "sole_{}", "rear_sole_{}"), (0.42, 0.42, 0.38))
    for name, above, place in (
        ("knee_{}", "bow_{}", (0.39, 0.05, 0.11)),
        ("ankle_{}", "knee_{}", (0.42, 0.05, 0.03)),
        ("heelbone_{}", "flank_{}", (-0.13, 0.05, 0.13)),
        ("rear_ankle_{}", "heelbone_{}", (-0.08, 0.05, 0.03)),
    ):
        paws.joints[name] = (above, place)
    paws.ends |= {"ankle_{}": (0.455, 0.05, 0.0), "rear_ankle_{}": (-0.045, 0.05, 0.0)}
    straight = moved(first, 1.0)
    for name, x, z in (
        ("point_{}", 1.00, 1.03),
        ("bow_{}", 0.96, 0.75),
        ("knee_{}", 0.96, 0.40),
        ("ankle_{}", 0.96, 0.15),
        ("flank_{}", -0.20, 0.84),
        ("heelbone_{}", -0.24, 0.49),
        ("rear_ankle_{}", -0.25, 0.15),
    ):
        above, place = straight.joints[name]
        straight.joints[name] = (above, (x, place[1], z))
    named = {"hub": "rig:hub.01", "skull": "skull-top"}
    return {
        "root on the ground": replace(first, joints={"stage": (None, (0, 0, 0)), **on_stage}),
        "root between hips and chest": replace(first, joints={"core": (None, (0.38, 0, 1.35)), **from_core}),
        "three joints a leg": short,
        "no head and no tail": no_head,
        "paws": paws,
        "nearly straight legs": straight,
        "names that readers stumble over": replace(
            first, joints={named.get(n, n): (named.get(p, p), at) for n, (p, at) in first.joints.items()}
        ),
    }


if __name__ == "__main__":
    HERE.mkdir(exist_ok=True)
    for name, plan in plans().items():
        (HERE / f"{name}.bvh").write_bytes(text(plan).encode("ascii"))
