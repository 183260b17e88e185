"""Rigs as strangers build them: other animals, helpers on the ground, extras, other habits of a file.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
from make_rigs import HERE, X_UP, Z_UP, Plan, text

FOLDER = HERE / "strange"


def row(names, places, above):
    """Hang a row of joints one on the other."""
    return {
        name: (before, place) for name, before, place in zip(names, [above, *names], places, strict=False)
    }


def numbered(stem, count):
    """Name a row of joints."""
    return [f"{stem}{k + 1}" for k in range(count)]


def with_goals(plan, master):
    """Hang a goal for every foot, and a pointer before every knee, on the master."""
    goals = {}
    for word, end in (("front", "fore_tip"), ("back", "hind_tip")):
        x, y, _ = next(place for name, place in plan.ends.items() if name.startswith(end))
        goals[f"goal_{word}_{{}}"] = (master, (x - 0.05, y, 0.0))
        goals[f"pointer_{word}_{{}}"] = (master, (x + 0.6, y, 0.5 * plan.joints["sacrum"][1][2]))
    return replace(plan, joints={**plan.joints, **goals})


def hound():
    """A lean dog with toes, hind legs first in the file, a master, a mover, goals, positions everywhere."""
    joints = {
        "ground_ctl": (None, (0, 0, 0)),
        "mover": ("ground_ctl", (0.22, 0, 0.58)),
        "sacrum": ("mover", (0.0, 0, 0.60)),
        "thigh_{}": ("sacrum", (-0.10, 0.06, 0.56)),
        "shin_{}": ("thigh_{}", (0.02, 0.08, 0.36)),
        "hockbone_{}": ("shin_{}", (-0.13, 0.08, 0.17)),
        "hind_tip_{}": ("hockbone_{}", (-0.10, 0.08, 0.035)),
        "hind_toe_{}": ("hockbone_{}", (-0.11, 0.105, 0.035)),
        **row(
            numbered("whip", 4),
            [(-0.13, 0, 0.60), (-0.20, 0, 0.52), (-0.26, 0, 0.42), (-0.32, 0, 0.36)],
            "sacrum",
        ),
        "loin1": ("sacrum", (0.16, 0, 0.63)),
        "loin2": ("loin1", (0.31, 0, 0.63)),
        "ribcage": ("loin2", (0.46, 0, 0.60)),
        "shoulder_{}": ("ribcage", (0.43, 0.05, 0.66)),
        "arm_{}": ("shoulder_{}", (0.54, 0.08, 0.50)),
        "forearm_{}": ("arm_{}", (0.44, 0.08, 0.37)),
        "wrist_{}": ("forearm_{}", (0.45, 0.08, 0.12)),
        "fore_tip_{}": ("wrist_{}", (0.475, 0.08, 0.035)),
        "fore_toe_{}": ("wrist_{}", (0.47, 0.105, 0.035)),
        "nape1": ("ribcage", (0.56, 0, 0.66)),
        "nape2": ("nape1", (0.62, 0, 0.74)),
        "face": ("nape2", (0.68, 0, 0.83)),
        "chops": ("face", (0.70, 0, 0.79)),
        "flap_{}": ("face", (0.67, 0.05, 0.86)),
    }
    ends = {
        "chops": (0.85, 0, 0.73),
        "flap_{}": (0.64, 0.08, 0.77),
        "whip4": (-0.38, 0, 0.34),
        "hind_tip_{}": (-0.03, 0.08, 0.0),
        "hind_toe_{}": (-0.05, 0.115, 0.0),
        "fore_tip_{}": (0.54, 0.08, 0.0),
        "fore_toe_{}": (0.525, 0.115, 0.0),
    }
    plan = Plan(joints=joints, ends=ends, order="XYZ", places="replace")
    return with_goals(plan, "ground_ctl")


def mouser():
    """A cat with seven joints of back and eight of tail; each joint has positions, written as changes."""
    back = [(0.0, 0, 0.25), (0.045, 0, 0.255), (0.09, 0, 0.257), (0.135, 0, 0.255)]
    back += [(0.18, 0, 0.248), (0.225, 0, 0.237), (0.265, 0, 0.222)]
    tail = [(-0.06, 0, 0.245), (-0.09, 0, 0.232), (-0.115, 0, 0.21), (-0.135, 0, 0.182)]
    tail += [(-0.155, 0, 0.155), (-0.18, 0, 0.135), (-0.21, 0, 0.125), (-0.24, 0, 0.13)]
    joints = {
        **row(numbered("chain", 7), back, None),
        **row(["nk_a", "nk_b", "nut"], [(0.30, 0, 0.232), (0.325, 0, 0.247), (0.345, 0, 0.26)], "chain7"),
        "lobe_{}": ("nut", (0.35, 0.02, 0.285)),
        **row(["q1_{}", "q2_{}", "q3_{}", "q4_{}", "q5_{}"], FORE_PAW, "chain7"),
        **row(["p1_{}", "p2_{}", "p3_{}", "p4_{}"], HIND_PAW, "chain1"),
        **row(numbered("rope", 8), tail, "chain1"),
    }
    ends = {
        "nut": (0.41, 0, 0.238),
        "lobe_{}": (0.352, 0.028, 0.32),
        "q5_{}": (0.28, 0.03, 0.0),
        "p4_{}": (-0.03, 0.025, 0.0),
        "rope8": (-0.27, 0, 0.14),
    }
    return Plan(joints=joints, ends=ends, order="YXZ", places="add")


FORE_PAW = (
    (0.26, 0.022, 0.265),
    (0.295, 0.03, 0.205),
    (0.222, 0.03, 0.145),
    (0.245, 0.03, 0.055),
    (0.253, 0.03, 0.02),
)
HIND_PAW = ((-0.035, 0.02, 0.235), (0.03, 0.028, 0.152), (-0.078, 0.025, 0.078), (-0.06, 0.025, 0.018))


def stag():
    """A deer with antlers larger than its ears, in metres, z up."""
    joints = {
        "hindquarter": (None, (0.0, 0, 0.98)),
        **row(
            ["saddleback", "midback", "withers"],
            [(0.2, 0, 1.0), (0.42, 0, 0.99), (0.62, 0, 0.93)],
            "hindquarter",
        ),
        **row(numbered("stem", 3), [(0.74, 0, 1.02), (0.82, 0, 1.20), (0.88, 0, 1.38)], "withers"),
        "mask": ("stem3", (0.93, 0, 1.50)),
        "spike_{}": ("mask", (0.92, 0.05, 1.57)),
        "beam_{}": ("spike_{}", (0.86, 0.22, 1.76)),
        "tine_{}": ("beam_{}", (0.96, 0.36, 1.92)),
        "brow_{}": ("spike_{}", (1.02, 0.10, 1.68)),
        "leaf_{}": ("mask", (0.89, 0.07, 1.53)),
        "lip": ("mask", (0.95, 0, 1.46)),
        **row(
            ["f_blade_{}", "f_upper_{}", "f_lower_{}", "f_cane_{}", "f_joint_{}", "f_claw_{}"],
            [
                (0.62, 0.06, 1.0),
                (0.74, 0.10, 0.77),
                (0.60, 0.10, 0.63),
                (0.61, 0.10, 0.36),
                (0.61, 0.10, 0.10),
                (0.655, 0.10, 0.045),
            ],
            "withers",
        ),
        **row(
            ["h_upper_{}", "h_lower_{}", "h_cane_{}", "h_joint_{}", "h_claw_{}"],
            [
                (-0.10, 0.09, 0.88),
                (-0.02, 0.11, 0.66),
                (-0.20, 0.10, 0.43),
                (-0.16, 0.10, 0.10),
                (-0.115, 0.10, 0.045),
            ],
            "hindquarter",
        ),
        "scut": ("hindquarter", (-0.16, 0, 0.98)),
    }
    ends = {
        "lip": (1.14, 0, 1.36),
        "tine_{}": (0.90, 0.38, 2.10),
        "brow_{}": (1.08, 0.11, 1.74),
        "leaf_{}": (0.84, 0.20, 1.56),
        "f_claw_{}": (0.70, 0.10, 0.0),
        "h_claw_{}": (-0.07, 0.10, 0.0),
        "scut": (-0.22, 0, 0.90),
    }
    return Plan(joints=joints, ends=ends, unit="m", axes=Z_UP, order="ZYX")


def mammoth():
    """An elephant with a trunk of ten joints, tusks, broad ears and a seat on its back."""
    nose = [
        (2.62, 0, 1.95),
        (2.72, 0, 1.78),
        (2.78, 0, 1.60),
        (2.81, 0, 1.42),
        (2.82, 0, 1.24),
        (2.82, 0, 1.06),
        (2.82, 0, 0.89),
        (2.83, 0, 0.73),
        (2.86, 0, 0.58),
        (2.91, 0, 0.45),
    ]
    joints = {
        "basin": (None, (0.0, 0, 2.35)),
        **row(["small", "barrel", "yoke"], [(0.5, 0, 2.42), (1.1, 0, 2.42), (1.6, 0, 2.2)], "basin"),
        "seat": ("barrel", (0.95, 0, 2.95)),
        "collar": ("yoke", (1.85, 0, 2.30)),
        "dome": ("collar", (2.1, 0, 2.38)),
        **row(numbered("hose", 10), nose, "dome"),
        "ivory_{}": ("dome", (2.5, 0.2, 1.75)),
        "sail_{}": ("dome", (2.1, 0.4, 2.48)),
        "gum": ("dome", (2.35, 0, 1.9)),
        **row(
            ["s_{}", "u_{}", "r_{}", "m_{}"],
            [(1.55, 0.30, 2.30), (1.80, 0.38, 1.75), (1.65, 0.38, 1.20), (1.68, 0.38, 0.34)],
            "yoke",
        ),
        **row(
            ["f_{}", "t_{}", "pes_{}"],
            [(-0.20, 0.28, 1.95), (-0.05, 0.34, 1.15), (-0.15, 0.34, 0.27)],
            "basin",
        ),
        **row(numbered("cord", 3), [(-0.45, 0, 2.2), (-0.55, 0, 1.8), (-0.58, 0, 1.4)], "basin"),
    }
    ends = {
        "seat": (0.95, 0, 3.2),
        "hose10": (2.98, 0, 0.36),
        "ivory_{}": (3.1, 0.3, 1.35),
        "sail_{}": (1.85, 0.95, 1.55),
        "gum": (2.65, 0, 1.65),
        "m_{}": (1.92, 0.38, 0.0),
        "pes_{}": (0.15, 0.34, 0.0),
        "cord3": (-0.6, 0, 1.0),
    }
    return Plan(joints=joints, ends=ends, axes=X_UP, order="ZXY")


def cob():
    """A stout pony in tack: saddle, reins, a one-sided mane, a camera; a master, and a mover that lifts."""
    joints = {
        "place": (None, (0, 0, 0)),
        "shotcam": ("place", (3.2, 1.4, 1.5)),
        "lifter": ("place", (0.45, 0, 1.0)),
        "girdle": ("lifter", (0.0, 0, 1.02)),
        **row(["bk1", "bk2", "bk3"], [(0.22, 0, 1.03), (0.5, 0, 1.0), (0.78, 0, 0.95)], "girdle"),
        "leather": ("bk2", (0.48, 0, 1.18)),
        **row(["cr1", "cr2", "cr3"], [(0.95, 0, 0.98), (1.08, 0, 1.12), (1.18, 0, 1.24)], "bk3"),
        "hair1": ("cr1", (0.96, 0.05, 1.10)),
        "hair2": ("cr2", (1.05, 0.05, 1.24)),
        "poll_bone": ("cr3", (1.28, 0, 1.32)),
        "bit": ("poll_bone", (1.31, 0, 1.22)),
        **row(
            ["rein1_{}", "rein2_{}", "rein3_{}"],
            [(1.44, 0.06, 1.06), (1.2, 0.12, 1.04), (0.9, 0.10, 1.14)],
            "bit",
        ),
        "cone_{}": ("poll_bone", (1.27, 0.05, 1.39)),
        **row(
            ["sc_{}", "hu_{}", "ra_{}", "ca_{}", "fe_{}", "ho_{}"],
            [
                (0.80, 0.08, 1.02),
                (0.95, 0.13, 0.76),
                (0.82, 0.13, 0.60),
                (0.82, 0.12, 0.31),
                (0.82, 0.12, 0.12),
                (0.87, 0.12, 0.05),
            ],
            "bk3",
        ),
        **row(
            ["fm_{}", "ti_{}", "mt_{}", "pf_{}", "ph_{}"],
            [
                (-0.15, 0.12, 0.88),
                (-0.07, 0.15, 0.62),
                (-0.22, 0.12, 0.38),
                (-0.20, 0.12, 0.12),
                (-0.15, 0.12, 0.05),
            ],
            "girdle",
        ),
        **row(
            ["dock", "switch1", "switch2"], [(-0.26, 0, 0.98), (-0.36, 0, 0.82), (-0.38, 0, 0.6)], "girdle"
        ),
    }
    ends = {
        "bit": (1.46, 0, 1.05),
        "rein3_{}": (0.75, 0.08, 1.2),
        "cone_{}": (1.28, 0.07, 1.50),
        "leather": (0.48, 0, 1.3),
        "hair1": (0.94, 0.12, 0.95),
        "hair2": (1.03, 0.12, 1.08),
        "ho_{}": (0.93, 0.12, 0.0),
        "ph_{}": (-0.09, 0.12, 0.0),
        "switch2": (-0.38, 0, 0.35),
    }
    return Plan(joints=joints, ends=ends, unit="mm", order="XZY", places="replace", with_places=("lifter",))


def griffin():
    """A winged beast whose joint axes lie along its bones: it stands in frame 1 alone."""
    plan = hound()
    joints = {n: at for n, at in plan.joints.items() if not n.startswith(("goal", "pointer", "ground"))}
    joints = {
        n: ("sacrum" if p == "mover" else p, tuple(2.4 * np.array(at)))
        for n, (p, at) in joints.items()
        if n != "mover"
    }
    joints["sacrum"] = (None, joints["sacrum"][1])
    joints |= row(
        ["wing1_{}", "wing2_{}", "wing3_{}"],
        [(1.0, 0.15, 1.65), (0.85, 0.75, 1.95), (0.7, 1.45, 1.8)],
        "ribcage",
    )
    ends = {n: tuple(2.4 * np.array(at)) for n, at in plan.ends.items()} | {"wing3_{}": (0.3, 2.1, 1.7)}
    return Plan(joints=joints, ends=ends, order="ZYX", aimed=True)


def mule():
    """A walking frame with neither head nor tail, short and high, its legs of three joints; inches."""
    joints = {
        "deck": (None, (0.35, 0, 1.05)),
        "aft": ("deck", (0.05, 0, 1.05)),
        "bow": ("deck", (0.65, 0, 1.05)),
        **row(
            ["ll1_{}", "ll2_{}", "ll3_{}"], [(0.68, 0.2, 0.98), (0.56, 0.2, 0.52), (0.64, 0.2, 0.09)], "bow"
        ),
        **row(
            ["kk1_{}", "kk2_{}", "kk3_{}"], [(0.0, 0.2, 0.98), (0.10, 0.2, 0.52), (-0.02, 0.2, 0.09)], "aft"
        ),
    }
    ends = {"ll3_{}": (0.74, 0.2, 0.0), "kk3_{}": (0.08, 0.2, 0.0)}
    return Plan(joints=joints, ends=ends, unit="in", order="YZX")


def spread_out(plan, degrees, names):
    """Turn whole legs outward about the joint at their top."""
    joints, ends = dict(plan.joints), dict(plan.ends)
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    for chain in names:
        top = np.array(joints[chain[0]][1])

        def outward(place, top=top):
            x, y, z = np.array(place) - top
            return tuple(top + np.array([x, cos * y - sin * z, sin * y + cos * z]))

        for name in chain:
            above, place = joints[name]
            joints[name] = (above, outward(place))
            if name in ends:
                ends[name] = outward(ends[name])
    low = min(place[2] for place in ends.values())
    joints = {n: (p, (x, y, z - low)) for n, (p, (x, y, z)) in joints.items()}
    return replace(plan, joints=joints, ends={n: (x, y, z - low) for n, (x, y, z) in ends.items()})


def spread():
    """The deer without antlers, its legs turned 26 degrees outward as for painting its skin."""
    plan = stag()
    drop = ("spike_{}", "beam_{}", "tine_{}", "brow_{}")
    joints = {n: at for n, at in plan.joints.items() if n not in drop}
    ends = {n: at for n, at in plan.ends.items() if n not in drop}
    legs = [
        [n for n in joints if n.startswith("f_")][1:],
        [n for n in joints if n.startswith("h_")],
    ]
    return replace(spread_out(replace(plan, joints=joints, ends=ends), 26.0, legs), unit="cm", order="XYZ")


def strange_plans():
    """Every rig by the name of its file."""
    return {
        "hound": hound(),
        "mouser": mouser(),
        "stag": stag(),
        "mammoth": mammoth(),
        "cob": cob(),
        "griffin": griffin(),
        "mule": mule(),
        "spread": spread(),
    }


def write_all(folder: Path = FOLDER):
    """Write every rig."""
    folder.mkdir(exist_ok=True)
    for name, plan in strange_plans().items():
        (folder / f"{name}.bvh").write_bytes(text(plan).encode("ascii"))


if __name__ == "__main__":
    write_all()
