"""Ten more invented rigs, odd in their trees: led from the tail or the head, flat, lopsided, without tips.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

import numpy as np
from make_late_rigs import even, hung
from make_rigs import Z_UP, Plan, text
from make_strange_rigs import numbered

N = {}

# A long-tailed hunter whose root is the tip of its tail: the tail leads to the hips, not from them.
TAIL = even((-0.62, 0, 0.3), (-0.12, 0, 0.46), 5)
N["ogonek"] = Plan(
    joints={
        "ogon5": (None, TAIL[0]),
        **hung(["ogon4", "ogon3", "ogon2", "ogon1"], "ogon5", TAIL[1:]),
        "krzyz": ("ogon1", (0.0, 0, 0.5)),
        **hung(numbered("kreg", 3), "krzyz", even((0.12, 0, 0.53), (0.38, 0, 0.52), 3)),
        "mostek": ("kreg3", (0.5, 0, 0.49)),
        **hung(["kark1", "kark2"], "mostek", [(0.58, 0, 0.53), (0.65, 0, 0.58)]),
        "leb": ("kark2", (0.71, 0, 0.62)),
        "szczeka": ("leb", (0.73, 0, 0.59)),
        "uszko_{}": ("leb", (0.7, 0.035, 0.67)),
        **hung(
            ["lop_{}", "ram_{}", "prz_{}", "nad_{}", "lap_{}"],
            "mostek",
            [
                (0.49, 0.05, 0.5),
                (0.57, 0.07, 0.38),
                (0.48, 0.075, 0.27),
                (0.49, 0.075, 0.1),
                (0.51, 0.075, 0.03),
            ],
        ),
        **hung(
            ["udo_{}", "gol_{}", "sto_{}", "pal_{}"],
            "krzyz",
            [(-0.03, 0.06, 0.45), (0.05, 0.075, 0.28), (-0.1, 0.075, 0.14), (-0.05, 0.075, 0.03)],
        ),
    },
    ends={
        "leb": (0.85, 0, 0.57),
        "szczeka": (0.83, 0, 0.54),
        "uszko_{}": (0.68, 0.06, 0.73),
        "lap_{}": (0.565, 0.075, 0),
        "pal_{}": (0.01, 0.075, 0),
    },
    order="XYZ",
)

# Two tails side by side; collar bone, shoulder blade and its twist one above the other; long horns.
N["dvojka"] = Plan(
    joints={
        "panev": (None, (0, 0, 0.98)),
        **hung(numbered("bedro", 4), "panev", even((0.16, 0, 1.0), (0.6, 0, 1.0), 4)),
        "hrud": ("bedro4", (0.78, 0, 0.96)),
        **hung(numbered("sije", 4), "hrud", even((0.9, 0, 1.0), (1.14, 0, 1.3), 4)),
        "temeno": ("sije4", (1.2, 0, 1.38)),
        "sanice": ("temeno", (1.22, 0, 1.31)),
        "boltec_{}": ("temeno", (1.18, 0.05, 1.43)),
        **hung(
            ["roh1_{}", "roh2_{}", "roh3_{}"],
            "temeno",
            [(1.2, 0.03, 1.44), (1.16, 0.06, 1.58), (1.06, 0.1, 1.64)],
        ),
        **hung(
            ["ocasA_{}", "ocasB_{}", "ocasC_{}"],
            "panev",
            [(-0.16, 0.05, 0.96), (-0.24, 0.08, 0.8), (-0.27, 0.1, 0.6)],
        ),
        **hung(
            [
                "klicek_{}",
                "blana_{}",
                "blana_otoc_{}",
                "paze_{}",
                "loket_{}",
                "zapesti_{}",
                "spenka_{}",
                "kopyto_{}",
            ],
            "hrud",
            [
                (0.82, 0.03, 0.9),
                (0.74, 0.09, 1.02),
                (0.77, 0.1, 0.92),
                (0.84, 0.12, 0.74),
                (0.73, 0.12, 0.6),
                (0.75, 0.12, 0.32),
                (0.75, 0.12, 0.1),
                (0.79, 0.12, 0.04),
            ],
        ),
        **hung(
            ["stehno_{}", "lytko_{}", "hlezno_{}", "sponka_{}", "spar_{}"],
            "panev",
            [
                (-0.08, 0.1, 0.86),
                (0.05, 0.12, 0.62),
                (-0.15, 0.12, 0.42),
                (-0.12, 0.12, 0.1),
                (-0.08, 0.12, 0.04),
            ],
        ),
    },
    ends={
        "temeno": (1.42, 0, 1.24),
        "sanice": (1.38, 0, 1.18),
        "boltec_{}": (1.12, 0.13, 1.45),
        "roh3_{}": (0.96, 0.12, 1.6),
        "ocasC_{}": (-0.28, 0.11, 0.42),
        "kopyto_{}": (0.84, 0.12, 0),
        "spar_{}": (-0.03, 0.12, 0),
    },
    unit="mm",
    axes=Z_UP,
)

# Legs of two joints each, on a back of two, without a tail; positions on every joint add.
N["knirps"] = Plan(
    joints={
        "hinten": (None, (0, 0, 0.3)),
        "vorn": ("hinten", (0.34, 0, 0.3)),
        "genick": ("vorn", (0.42, 0, 0.36)),
        "kopf": ("genick", (0.48, 0, 0.42)),
        "lauscher_{}": ("kopf", (0.46, 0.03, 0.48)),
        "arm_{}": ("vorn", (0.36, 0.07, 0.24)),
        "hand_{}": ("arm_{}", (0.33, 0.075, 0.12)),
        "bein_{}": ("hinten", (-0.01, 0.07, 0.25)),
        "fuss_{}": ("bein_{}", (0.03, 0.075, 0.13)),
    },
    ends={
        "kopf": (0.6, 0, 0.38),
        "lauscher_{}": (0.44, 0.05, 0.54),
        "hand_{}": (0.38, 0.075, 0),
        "fuss_{}": (0.0, 0.075, 0),
    },
    unit="m",
    places="add",
    order="YXZ",
)

# Three twists between shoulder and elbow, hind legs of seven joints; its names have left and right exchanged.
N["torsade"] = Plan(
    joints={
        "socle": (None, (0.4, 0, 0)),
        "centre": ("socle", (0.4, 0, 1.25)),
        "croupe": ("centre", (0, 0, 1.3)),
        "reins": ("centre", (0.45, 0, 1.3)),
        **hung(numbered("dos", 2), "reins", [(0.62, 0, 1.29), (0.8, 0, 1.27)]),
        "garrot": ("dos2", (0.95, 0, 1.24)),
        **hung(numbered("encolure", 5), "garrot", even((1.06, 0, 1.27), (1.5, 0, 1.62), 5)),
        "crane": ("encolure5", (1.58, 0, 1.68)),
        "ganache": ("crane", (1.6, 0, 1.6)),
        "pavillon_{}": ("crane", (1.56, 0.06, 1.77)),
        **hung(numbered("fouet", 4), "croupe", even((-0.22, 0, 1.24), (-0.34, 0, 0.7), 4)),
        **hung(
            [
                "omop_{}",
                "bras_{}",
                "vrille1_{}",
                "vrille2_{}",
                "vrille3_{}",
                "coude_{}",
                "avant_{}",
                "canon_{}",
                "boulet_{}",
                "sabot_{}",
            ],
            "garrot",
            [
                (0.92, 0.1, 1.28),
                (1.06, 0.15, 0.95),
                *even((1.02, 0.15, 0.89), (0.94, 0.15, 0.77), 3),
                (0.9, 0.15, 0.71),
                (0.905, 0.15, 0.55),
                (0.91, 0.15, 0.38),
                (0.91, 0.15, 0.14),
                (0.97, 0.15, 0.05),
            ],
        ),
        **hung(
            ["hanche_{}", "cuisse_{}", "grasset_{}", "jambe_{}", "jarret_{}", "paturon_{}", "pied_{}"],
            "croupe",
            [
                (-0.1, 0.08, 1.24),
                (-0.12, 0.14, 1.15),
                (0.02, 0.16, 0.84),
                (-0.08, 0.16, 0.68),
                (-0.2, 0.16, 0.5),
                (-0.18, 0.16, 0.14),
                (-0.12, 0.16, 0.05),
            ],
        ),
    },
    ends={
        "crane": (1.9, 0, 1.36),
        "ganache": (1.85, 0, 1.3),
        "pavillon_{}": (1.52, 0.1, 1.9),
        "fouet4": (-0.35, 0, 0.55),
        "sabot_{}": (1.04, 0.15, 0),
        "pied_{}": (-0.05, 0.16, 0),
    },
    order="ZYX",
)
N["torsade"] = replace(
    N["torsade"],
    joints={n: (p, (x, -y, z)) for n, (p, (x, y, z)) in N["torsade"].joints.items()},
    ends={n: (x, -y, z) for n, (x, y, z) in N["torsade"].ends.items()},
)

# It stands in frame 1 only: its zero pose lies on its side, fore part twisted off, neck thrown back.
N["scorcio"] = Plan(
    joints={
        "bacino": (None, (0, 0, 0.6)),
        **hung(numbered("schiena", 3), "bacino", even((0.15, 0, 0.64), (0.45, 0, 0.64), 3)),
        "petto": ("schiena3", (0.6, 0, 0.6)),
        **hung(numbered("collo", 3), "petto", even((0.7, 0, 0.66), (0.84, 0, 0.82), 3)),
        "muso": ("collo3", (0.88, 0, 0.88)),
        "mento": ("muso", (0.9, 0, 0.83)),
        "orecchio_{}": ("muso", (0.86, 0.04, 0.94)),
        **hung(numbered("frusta", 3), "bacino", even((-0.1, 0, 0.58), (-0.22, 0, 0.4), 3)),
        **hung(
            ["scapo_{}", "omero_{}", "ulna_{}", "carpo_{}", "zampa_{}"],
            "petto",
            [
                (0.58, 0.06, 0.62),
                (0.66, 0.08, 0.45),
                (0.57, 0.085, 0.33),
                (0.58, 0.085, 0.11),
                (0.61, 0.085, 0.03),
            ],
        ),
        **hung(
            ["coscia_{}", "stinco_{}", "tarso_{}", "dito_{}"],
            "bacino",
            [(-0.04, 0.07, 0.54), (0.06, 0.085, 0.34), (-0.1, 0.085, 0.17), (-0.05, 0.085, 0.035)],
        ),
    },
    ends={
        "muso": (1.05, 0, 0.82),
        "mento": (1.02, 0, 0.78),
        "orecchio_{}": (0.83, 0.07, 1.02),
        "frusta3": (-0.26, 0, 0.3),
        "zampa_{}": (0.67, 0.085, 0),
        "dito_{}": (0.02, 0.085, 0),
    },
    unit="in",
    order="YZX",
)
N["scorcio"].rests = {
    name.format(side): (90, 20, 0) if "scapo" not in name and "petto" not in name else (90, 20, 50)
    for name in N["scorcio"].joints
    for side in "ab"
}
N["scorcio"].rests |= {f"collo{k}": (90, -40, 0) for k in (1, 2, 3)}

# It lies in its rest pose: hips and elbows low, legs folded to less than half of their length.
N["lezak"] = Plan(
    joints={
        "zad": (None, (0, 0, 0.42)),
        **hung(numbered("hrbet", 3), "zad", even((0.15, 0, 0.45), (0.5, 0, 0.45), 3)),
        "predek": ("hrbet3", (0.66, 0, 0.4)),
        **hung(["sije1", "sije2", "sije3"], "predek", even((0.78, 0, 0.48), (0.92, 0, 0.72), 3)),
        "hlavicka": ("sije3", (0.96, 0, 0.78)),
        "usi_{}": ("hlavicka", (0.94, 0.04, 0.85)),
        **hung(["chvost1", "chvost2"], "zad", [(-0.12, 0, 0.38), (-0.2, 0, 0.28)]),
        **hung(
            ["lopa_{}", "rame_{}", "lokty_{}", "zapa_{}", "tlapa_{}"],
            "predek",
            [
                (0.62, 0.08, 0.44),
                (0.76, 0.11, 0.27),
                (0.54, 0.13, 0.17),
                (0.78, 0.13, 0.07),
                (0.84, 0.13, 0.02),
            ],
        ),
        **hung(
            ["kycel_{}", "koleno_{}", "hlezen_{}", "prsty_{}"],
            "zad",
            [(-0.05, 0.09, 0.35), (0.2, 0.15, 0.26), (-0.14, 0.13, 0.08), (0.05, 0.13, 0.02)],
        ),
    },
    ends={
        "hlavicka": (1.12, 0, 0.7),
        "usi_{}": (0.9, 0.06, 0.94),
        "chvost2": (-0.25, 0, 0.16),
        "tlapa_{}": (0.9, 0.13, 0),
        "prsty_{}": (0.11, 0.13, 0),
    },
    order="XZY",
)

# No End Site anywhere: hooves, muzzle, tips of ears and tail are joints themselves.
N["endlos"] = Plan(
    joints={
        "Kreuz": (None, (0, 0, 0.8)),
        **hung(numbered("Wirbel", 5), "Kreuz", even((0.1, 0, 0.82), (0.55, 0, 0.82), 5)),
        "Bug": ("Wirbel5", (0.66, 0, 0.78)),
        **hung(numbered("Hals", 3), "Bug", even((0.76, 0, 0.82), (0.92, 0, 1.0), 3)),
        "Haupt": ("Hals3", (0.97, 0, 1.06)),
        "Maul": ("Haupt", (1.18, 0, 0.94)),
        "Ohr_{}": ("Haupt", (0.95, 0.05, 1.12)),
        "Ohrspitze_{}": ("Ohr_{}", (0.91, 0.09, 1.2)),
        **hung(numbered("Wedel", 3), "Kreuz", even((-0.12, 0, 0.78), (-0.2, 0, 0.56), 3)),
        **hung(
            ["Blatt_{}", "Oberarm_{}", "Unterarm_{}", "Mittelhand_{}", "Fessel_{}", "Klaue_{}", "Spitze_{}"],
            "Bug",
            [
                (0.64, 0.07, 0.82),
                (0.73, 0.1, 0.62),
                (0.63, 0.1, 0.5),
                (0.645, 0.1, 0.27),
                (0.645, 0.1, 0.1),
                (0.68, 0.1, 0.04),
                (0.72, 0.1, 0.0),
            ],
        ),
        **hung(
            [
                "Keule_{}",
                "Unterschenkel_{}",
                "Mittelfuss_{}",
                "Hinterfessel_{}",
                "Hinterklaue_{}",
                "Hinterspitze_{}",
            ],
            "Kreuz",
            [
                (-0.06, 0.08, 0.7),
                (0.05, 0.1, 0.5),
                (-0.12, 0.1, 0.35),
                (-0.1, 0.1, 0.1),
                (-0.065, 0.1, 0.04),
                (-0.025, 0.1, 0.0),
            ],
        ),
    },
    unit="m",
    order="ZXY",
)

# Lopsided: a twist in one fore leg alone, a toe lost on one hind foot, every place a little off.
N["krumm"] = Plan(
    joints={
        "kern": (None, (0.0, 0.004, 0.66)),
        **hung(numbered("ruck", 3), "kern", [(0.14, -0.003, 0.69), (0.3, 0.004, 0.68), (0.44, 0.0, 0.66)]),
        "brust": ("ruck3", (0.55, 0.003, 0.63)),
        **hung(numbered("hals", 2), "brust", [(0.64, 0.0, 0.68), (0.74, -0.004, 0.77)]),
        "schaedel": ("hals2", (0.8, 0.0, 0.83)),
        "kiefer": ("schaedel", (0.82, 0.0, 0.78)),
        "ohr_a": ("schaedel", (0.78, 0.05, 0.89)),
        "ohr_b": ("schaedel", (0.785, -0.046, 0.893)),
        **hung(numbered("rute", 4), "kern", even((-0.1, 0.0, 0.64), (-0.3, 0.01, 0.4), 4)),
        **hung(
            ["sa_a", "oa_a", "dreh_a", "ua_a", "mh_a", "zeh_a"],
            "brust",
            [
                (0.53, 0.06, 0.66),
                (0.62, 0.09, 0.48),
                (0.575, 0.09, 0.42),
                (0.53, 0.092, 0.36),
                (0.54, 0.09, 0.12),
                (0.57, 0.09, 0.035),
            ],
        ),
        **hung(
            ["sa_b", "oa_b", "ua_b", "mh_b", "zeh_b"],
            "brust",
            [
                (0.535, -0.062, 0.655),
                (0.617, -0.088, 0.483),
                (0.533, -0.093, 0.357),
                (0.537, -0.091, 0.122),
                (0.568, -0.09, 0.036),
            ],
        ),
        **hung(
            ["os_a", "us_a", "mf_a", "hz_a"],
            "kern",
            [(-0.05, 0.07, 0.58), (0.05, 0.09, 0.37), (-0.12, 0.09, 0.19), (-0.07, 0.09, 0.035)],
        ),
        **hung(
            ["os_b", "us_b", "mf_b"],
            "kern",
            [(-0.048, -0.072, 0.582), (0.052, -0.088, 0.368), (-0.118, -0.092, 0.192)],
        ),
    },
    ends={
        "schaedel": (0.98, 0.0, 0.76),
        "kiefer": (0.95, 0.0, 0.71),
        "ohr_a": (0.74, 0.09, 0.96),
        "ohr_b": (0.742, -0.088, 0.962),
        "rute4": (-0.33, 0.01, 0.3),
        "zeh_a": (0.63, 0.09, 0.0),
        "zeh_b": (0.628, -0.09, 0.0),
        "hz_a": (-0.005, 0.09, 0.0),
        "mf_b": (-0.02, -0.091, 0.0),
    },
    order="ZYX",
    turned=11,
)

# Hips, loins, chest, neck and head all hang on the root; only the limbs are chains; positions on every joint.
N["ploche"] = Plan(
    joints={
        "osnova": (None, (0.3, 0, 0.0)),
        "taz": ("osnova", (0, 0, 0.9)),
        "poyas": ("osnova", (0.28, 0, 0.93)),
        "grud": ("osnova", (0.7, 0, 0.88)),
        "sheya": ("osnova", (0.84, 0, 0.95)),
        "bashka": ("osnova", (1.05, 0, 1.16)),
        "uho_{}": ("bashka", (1.03, 0.05, 1.23)),
        "hvost1": ("taz", (-0.16, 0, 0.86)),
        "hvost2": ("hvost1", (-0.24, 0, 0.6)),
        **hung(
            ["lopat_{}", "plecho_{}", "lokot_{}", "zapyast_{}", "kopyt_{}"],
            "grud",
            [(0.68, 0.08, 0.9), (0.78, 0.11, 0.66), (0.67, 0.11, 0.5), (0.68, 0.11, 0.25), (0.7, 0.11, 0.06)],
        ),
        **hung(
            ["bedr_{}", "kolen_{}", "skak_{}", "zadkop_{}"],
            "taz",
            [(-0.07, 0.09, 0.8), (0.05, 0.11, 0.54), (-0.15, 0.11, 0.34), (-0.1, 0.11, 0.06)],
        ),
    },
    ends={
        "bashka": (1.28, 0, 1.04),
        "uho_{}": (1.0, 0.09, 1.32),
        "hvost2": (-0.26, 0, 0.4),
        "kopyt_{}": (0.76, 0.11, 0),
        "zadkop_{}": (-0.03, 0.11, 0),
    },
    unit="m",
    places="replace",
)

# Names of several words in other letters, hips below the chest, a trunk of eight joints, far from the origin.
N["畑の獣"] = Plan(
    joints={
        "胸": (None, (0.9, 0, 1.75)),
        **hung(["背 1", "背 2", "背 3"], "胸", [(0.65, 0, 1.86), (0.4, 0, 1.86), (0.15, 0, 1.8)]),
        "腰": ("背 3", (-0.05, 0, 1.7)),
        "首": ("胸", (1.2, 0, 1.85)),
        "頭": ("首", (1.4, 0, 1.98)),
        "顎": ("頭", (1.45, 0, 1.78)),
        **hung([f"鼻 {k}" for k in range(1, 9)], "頭", [*even((1.68, 0, 1.86), (1.88, 0, 0.5), 8)]),
        "牙 {}": ("頭", (1.66, 0.12, 1.7)),
        **hung(
            ["耳 甲 {}", "耳 乙 {}", "耳 丙 {}"],
            "頭",
            [(1.34, 0.22, 2.05), (1.24, 0.42, 1.95), (1.18, 0.5, 1.7)],
        ),
        **hung(["尾 1", "尾 2", "尾 3"], "腰", even((-0.3, 0, 1.6), (-0.4, 0, 1.0), 3)),
        **hung(
            ["肩 {}", "腕 {}", "肘 {}", "手 {}"],
            "胸",
            [(0.88, 0.2, 1.7), (1.0, 0.28, 1.25), (0.9, 0.28, 0.85), (0.92, 0.28, 0.25)],
        ),
        **hung(
            ["股 {}", "膝 {}", "踵 {}"], "腰", [(-0.08, 0.22, 1.5), (0.02, 0.26, 0.85), (-0.06, 0.26, 0.25)]
        ),
    },
    ends={
        "顎": (1.66, 0, 1.62),
        "鼻 8": (1.88, 0, 0.35),
        "牙 {}": (1.95, 0.14, 1.5),
        "耳 丙 {}": (1.2, 0.5, 1.5),
        "尾 3": (-0.42, 0, 0.75),
        "手 {}": (1.08, 0.28, 0),
        "踵 {}": (0.1, 0.26, 0),
    },
    axes=((0, 0, -1), (-1, 0, 0), (0, 1, 0)),
    at=(2400.0, 0.0, -900.0),
)

NEWEST = N


def newest_text(name):
    """Write a rig as BVH; of the one without tips every End Site is left out."""
    written = text(NEWEST[name])
    if name != "endlos":
        return written
    lines, kept, skip = written.split("\n"), [], 0
    for line in lines:
        if line.strip() == "End Site":
            skip = 4
        if skip:
            skip -= 1
        else:
            kept.append(line)
    return "\n".join(kept)


def flat_text():
    """Write a rig of which every joint hangs on the root, as controls of feet and of a body do."""
    plan = NEWEST["ogonek"]
    joints = {n: (None if p is None else "ogon5", at) for n, (p, at) in plan.joints.items()}
    return text(replace(plan, joints=joints))


def upside_text():
    """Write a rig whose limbs grow from the feet up to the hips, each on a root on the ground."""
    plan = NEWEST["ogonek"]
    joints, ends = {"ziemia": (None, (0, 0, 0))}, dict(plan.ends)
    limbs = [
        [n for n in plan.joints if n[:3] in ws]
        for ws in (("lop", "ram", "prz", "nad", "lap"), ("udo", "gol", "sto", "pal"))
    ]
    body = {
        n: (p or "ziemia", at) for n, (p, at) in plan.joints.items() if not any(n in limb for limb in limbs)
    }
    joints |= body
    for limb in limbs:
        ends.pop(limb[-1])
        before = "ziemia"
        for name in reversed(limb):
            joints[name] = (before, plan.joints[name][1])
            before = name
    return text(replace(plan, joints=joints, ends={n: np.array(at) for n, at in ends.items()}))
