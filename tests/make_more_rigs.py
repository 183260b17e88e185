"""Ten more rigs of strangers: other languages, other hierarchies, helpers, twists, toes, slopes and sprawls.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

import numpy as np
from make_rigs import X_UP, Z_UP, Plan
from make_strange_rigs import numbered, row

M = {}


def feet(end, high, low, tips):
    """Put toes side by side on a foot: how far ahead, how far aside, how long each."""
    joints, ends = {}, {}
    for k, (x, y, long) in enumerate(tips):
        base, tip = f"{end}{k + 1}a_{{}}", f"{end}{k + 1}b_{{}}"
        joints |= {base: (high, (x, y, low)), tip: (base, (x + 0.5 * long, y, 0.6 * low))}
        ends[tip] = (x + long, y, 0.0)
    return joints, ends


# 1 a heavy browser, German words, three roots on the ground, hips and chest on the middle of the back
M["kaltblut"] = Plan(
    joints={
        "Szene": (None, (0, 0, 0)),
        "Tier": ("Szene", (0, 0, 0)),
        "Boden": ("Tier", (0, 0, 0)),
        "Mitte": ("Boden", (0.42, 0, 1.42)),
        "Lende": ("Mitte", (0.25, 0, 1.44)),
        "Becken": ("Lende", (0.0, 0, 1.42)),
        "Brust1": ("Mitte", (0.62, 0, 1.4)),
        "Brust2": ("Brust1", (0.86, 0, 1.34)),
        **row(
            numbered("Hals", 4),
            [(1.05, 0, 1.36), (1.16, 0, 1.5), (1.26, 0, 1.66), (1.36, 0, 1.82)],
            "Brust2",
        ),
        "Kopf": ("Hals4", (1.44, 0, 1.92)),
        "Kiefer": ("Kopf", (1.47, 0, 1.82)),
        "Ohr_{}": ("Kopf", (1.43, 0.07, 2.0)),
        "Schweif1": ("Becken", (-0.25, 0, 1.4)),
        "Schweif2": ("Schweif1", (-0.36, 0, 1.1)),
        **row(
            [f"{word}_{{}}" for word in ("Schulter", "Oberarm", "Unterarm", "Roehre", "Fessel", "Huf")],
            [
                (0.9, 0.13, 1.42),
                (1.08, 0.19, 1.05),
                (0.92, 0.19, 0.84),
                (0.93, 0.19, 0.42),
                (0.93, 0.19, 0.15),
                (1.01, 0.19, 0.06),
            ],
            "Brust2",
        ),
        **row(
            [f"{word}_{{}}" for word in ("Ober", "Unter", "Mittel", "HFessel", "HHuf")],
            [
                (-0.15, 0.16, 1.24),
                (-0.06, 0.2, 0.86),
                (-0.26, 0.18, 0.5),
                (-0.24, 0.18, 0.15),
                (-0.16, 0.18, 0.06),
            ],
            "Becken",
        ),
        "Ziel_v_{}": ("Boden", (0.98, 0.19, 0.0)),
        "Ziel_h_{}": ("Boden", (-0.2, 0.18, 0.0)),
    },
    ends={
        "Kopf": (1.85, 0, 1.5),
        "Kiefer": (1.76, 0, 1.45),
        "Ohr_{}": (1.45, 0.1, 2.14),
        "Schweif2": (-0.4, 0, 0.6),
        "Huf_{}": (1.09, 0.19, 0),
        "HHuf_{}": (-0.08, 0.18, 0),
    },
    order="YZX",
    places="replace",
    with_places=("Tier", "Boden", "Mitte", "Ziel_v_a", "Ziel_v_b", "Ziel_h_a", "Ziel_h_b"),
)
# 2 a sprawling reptile: upper bones outward, a tail longer than the body, z up
M["lagarto"] = Plan(
    joints={
        **row(numbered("espina", 5), [(0.16 * k, 0, 0.27) for k in range(5)], None),
        **row(["cuello1", "cuello2"], [(0.74, 0, 0.28), (0.84, 0, 0.29)], "espina5"),
        "cabeza": ("cuello2", (0.93, 0, 0.3)),
        "mandibula": ("cabeza", (0.95, 0, 0.27)),
        **row(
            ["hombro.{}", "codo.{}", "mano.{}", "dedo.{}"],
            [(0.62, 0.1, 0.26), (0.58, 0.3, 0.26), (0.62, 0.32, 0.07), (0.68, 0.33, 0.03)],
            "espina5",
        ),
        **row(
            ["cadera.{}", "rodilla.{}", "pie.{}", "dedop.{}"],
            [(-0.03, 0.09, 0.26), (0.06, 0.3, 0.25), (-0.04, 0.3, 0.07), (0.04, 0.31, 0.03)],
            "espina1",
        ),
        **row(
            numbered("cola", 8),
            [(-0.12 - 0.14 * k, 0, 0.25 - 0.02 * k) for k in range(8)],
            "espina1",
        ),
    },
    ends={
        "cabeza": (1.2, 0, 0.26),
        "mandibula": (1.18, 0, 0.23),
        "dedo.{}": (0.75, 0.33, 0),
        "dedop.{}": (0.11, 0.32, 0),
        "cola8": (-1.28, 0, 0.08),
    },
    unit="m",
    axes=Z_UP,
    order="ZYX",
)
# 3 upper arm nearly straight, no scapula, twist joints in it and in the forearm, roll joints off the line
_arm = [(0.5, 0.09, 0.58), (0.47, 0.09, 0.36), (0.485, 0.09, 0.1), (0.5, 0.09, 0.03)]
M["twist"] = Plan(
    joints={
        **row(["hipc", "ribc"], [(0, 0, 0.62), (0.28, 0, 0.64)], None),
        "chst": ("ribc", (0.48, 0, 0.62)),
        **row(["nk1", "nk2"], [(0.58, 0, 0.68), (0.66, 0, 0.76)], "chst"),
        "hd": ("nk2", (0.72, 0, 0.84)),
        "ea_{}": ("hd", (0.71, 0.04, 0.89)),
        **row(
            ["uarm_{}", "utwist_{}", "farm_{}", "ftwist_{}", "hand_{}", "finger_{}"],
            [
                _arm[0],
                tuple(0.5 * (np.array(_arm[0]) + _arm[1])),
                _arm[1],
                tuple(0.6 * np.array(_arm[1]) + 0.4 * np.array(_arm[2])),
                _arm[2],
                _arm[3],
            ],
            "chst",
        ),
        **row(
            ["uleg_{}", "lleg_{}", "foot_{}", "toe_{}"],
            [(-0.04, 0.08, 0.58), (0.06, 0.09, 0.36), (-0.1, 0.09, 0.16), (-0.06, 0.09, 0.03)],
            "hipc",
        ),
        "uleg_roll_{}": ("uleg_{}", (0.01, 0.085, 0.47)),
        "lleg_roll_{}": ("lleg_{}", (-0.02, 0.09, 0.26)),
        **row(numbered("tl", 3), [(-0.1, 0, 0.6), (-0.18, 0, 0.5), (-0.24, 0, 0.4)], "hipc"),
    },
    ends={
        "hd": (0.9, 0, 0.78),
        "ea_{}": (0.7, 0.06, 0.97),
        "finger_{}": (0.56, 0.09, 0),
        "toe_{}": (0.0, 0.09, 0),
        "uleg_roll_{}": (0.012, 0.085, 0.469),
        "lleg_roll_{}": (-0.021, 0.09, 0.259),
        "tl3": (-0.28, 0, 0.32),
    },
    order="XYZ",
)
# 4 a big cat's paws: four toes of two bones each, unlike in length, and a dew claw off the ground
_front, _front_ends = feet(
    "orteil",
    "poignet_{}",
    0.03,
    [(0.50, 0.10, 0.06), (0.515, 0.085, 0.07), (0.515, 0.065, 0.07), (0.50, 0.05, 0.055)],
)
_back, _back_ends = feet(
    "doigt",
    "talon_{}",
    0.03,
    [(-0.06, 0.10, 0.06), (-0.045, 0.085, 0.075), (-0.045, 0.065, 0.07), (-0.06, 0.05, 0.06)],
)
M["pattes"] = Plan(
    joints={
        **row(
            ["bassin", "reins", "dos", "garrot"],
            [(0, 0, 0.6), (0.18, 0, 0.62), (0.34, 0, 0.62), (0.48, 0, 0.58)],
            None,
        ),
        **row(["cou1", "cou2", "cou3"], [(0.56, 0, 0.6), (0.62, 0, 0.64), (0.68, 0, 0.68)], "garrot"),
        "tete": ("cou3", (0.73, 0, 0.72)),
        "machoire": ("tete", (0.75, 0, 0.68)),
        "oreille_{}": ("tete", (0.72, 0.05, 0.78)),
        **row(
            ["omoplate_{}", "bras_{}", "avantbras_{}", "poignet_{}"],
            [(0.46, 0.05, 0.64), (0.56, 0.075, 0.46), (0.46, 0.075, 0.33), (0.475, 0.075, 0.09)],
            "garrot",
        ),
        **_front,
        "ergot_{}": ("poignet_{}", (0.47, 0.06, 0.075)),
        **row(
            ["cuisse_{}", "jambe_{}", "talon_{}"],
            [(-0.06, 0.06, 0.55), (0.04, 0.08, 0.35), (-0.12, 0.075, 0.17)],
            "bassin",
        ),
        **_back,
        **row(
            numbered("queue", 6),
            [
                (-0.12, 0, 0.6),
                (-0.22, 0, 0.52),
                (-0.32, 0, 0.44),
                (-0.42, 0, 0.37),
                (-0.52, 0, 0.33),
                (-0.62, 0, 0.31),
            ],
            "bassin",
        ),
    },
    ends={
        "machoire": (0.88, 0, 0.6),
        "tete": (0.92, 0, 0.65),
        "oreille_{}": (0.71, 0.06, 0.83),
        **_front_ends,
        **_back_ends,
        "ergot_{}": (0.48, 0.055, 0.06),
        "queue6": (-0.72, 0, 0.31),
    },
    order="ZXY",
)
# 5 a small rodent in millimetres with a nose that goes on as a row, right before left, x up
M["topo"] = Plan(
    joints={
        **row(["k1", "k2", "k3"], [(0, 0, 0.05), (0.04, 0, 0.055), (0.08, 0, 0.05)], None),
        "k4": ("k3", (0.1, 0, 0.052)),
        "k5": ("k4", (0.115, 0, 0.055)),
        "k6": ("k5", (0.14, 0, 0.045)),
        "oo{}": ("k5", (0.115, 0.012, 0.067)),
        **row(
            ["fa{}", "fb{}", "fc{}", "fd{}"],
            [(0.08, 0.015, 0.048), (0.095, 0.02, 0.034), (0.077, 0.02, 0.022), (0.082, 0.02, 0.005)],
            "k3",
        ),
        **row(
            ["ha{}", "hb{}", "hc{}", "hd{}"],
            [(-0.008, 0.018, 0.045), (0.016, 0.022, 0.032), (-0.016, 0.02, 0.017), (-0.006, 0.02, 0.004)],
            "k1",
        ),
        "w1": ("k1", (-0.02, 0, 0.047)),
    },
    ends={
        "k6": (0.155, 0, 0.042),
        "oo{}": (0.112, 0.018, 0.078),
        "fd{}": (0.094, 0.02, 0),
        "hd{}": (0.012, 0.02, 0),
        "w1": (-0.03, 0, 0.046),
    },
    unit="mm",
    axes=X_UP,
    order="YXZ",
)
# 6 a hyena-like slope: withers far above the croup, joint axes along the bones, stands in frame 1
M["skraaning"] = Plan(
    joints={
        **row(
            ["bak", "lend", "bryst", "bog"],
            [(0, 0, 0.62), (0.2, 0, 0.7), (0.4, 0, 0.8), (0.55, 0, 0.84)],
            None,
        ),
        **row(numbered("nakke", 3), [(0.66, 0, 0.9), (0.76, 0, 0.98), (0.85, 0, 1.04)], "bog"),
        "hode": ("nakke3", (0.92, 0, 1.08)),
        "kjeve": ("hode", (0.94, 0, 1.03)),
        "ore_{}": ("hode", (0.9, 0.06, 1.15)),
        **row(
            ["blad_{}", "arm_{}", "under_{}", "hand_{}", "taa_{}"],
            [(0.54, 0.07, 0.88), (0.64, 0.1, 0.62), (0.55, 0.1, 0.46), (0.56, 0.1, 0.13), (0.58, 0.1, 0.03)],
            "bog",
        ),
        **row(
            ["laar_{}", "legg_{}", "fot_{}", "btaa_{}"],
            [(-0.04, 0.08, 0.56), (0.05, 0.1, 0.36), (-0.12, 0.1, 0.18), (-0.09, 0.1, 0.03)],
            "bak",
        ),
        **row(numbered("hale", 3), [(-0.1, 0, 0.6), (-0.14, 0, 0.5), (-0.16, 0, 0.4)], "bak"),
    },
    ends={
        "hode": (1.12, 0, 0.98),
        "kjeve": (1.08, 0, 0.95),
        "ore_{}": (0.88, 0.1, 1.26),
        "taa_{}": (0.64, 0.1, 0),
        "btaa_{}": (-0.03, 0.1, 0),
        "hale3": (-0.17, 0, 0.32),
    },
    order="XZY",
    aimed=True,
)
# 7 a walking machine: all knees forward, shanks of two bones, no neck, a turret, a mast, metres, -y up
M["maszyna"] = Plan(
    joints={
        "rama": (None, (0.8, 0, 1.4)),
        "wieza": ("rama", (0.9, 0, 1.7)),
        "maszt": ("rama", (0.4, 0, 1.7)),
        **row(
            ["bp_{}", "up_{}", "gp_{}", "sp_{}"],
            [(1.5, 0.45, 1.3), (1.75, 0.5, 0.75), (1.45, 0.5, 0.3), (1.5, 0.5, 0.1)],
            "rama",
        ),
        **row(
            ["bt_{}", "ut_{}", "gt_{}", "st_{}"],
            [(0.1, 0.45, 1.3), (0.35, 0.5, 0.75), (0.05, 0.5, 0.3), (0.1, 0.5, 0.1)],
            "rama",
        ),
    },
    ends={
        "wieza": (1.6, 0, 1.75),
        "maszt": (0.4, 0, 2.6),
        "sp_{}": (1.65, 0.5, 0),
        "st_{}": (0.25, 0.5, 0),
    },
    unit="m",
    axes=((1, 0, 0), (0, 0, 1), (0, -1, 0)),
    order="ZXY",
)
# 8 an antelope with horns of three joints, a beard, a hump, twist joints and random rest rotations
M["horn"] = Plan(
    joints={
        "sprite": (None, (0.0, 0, 0.95)),
        **row(["v1", "v2", "v3"], [(0.18, 0, 0.98), (0.38, 0, 0.97), (0.56, 0, 0.94)], "sprite"),
        "bump": ("v3", (0.52, 0, 1.08)),
        **row(["c1", "c2", "c3"], [(0.66, 0, 1.0), (0.74, 0, 1.12), (0.8, 0, 1.24)], "v3"),
        "pate": ("c3", (0.84, 0, 1.3)),
        "beard": ("pate", (0.9, 0, 1.18)),
        "chaps": ("pate", (0.86, 0, 1.25)),
        **row(["h1_{}", "h2_{}", "h3_{}"], [(0.83, 0.04, 1.36), (0.78, 0.06, 1.5), (0.7, 0.08, 1.6)], "pate"),
        "lo_{}": ("pate", (0.8, 0.07, 1.33)),
        **row(
            ["f1_{}", "f2_{}", "f3_{}", "f3t_{}", "f4_{}", "f5_{}", "f6_{}"],
            [
                (0.58, 0.06, 1.0),
                (0.7, 0.09, 0.74),
                (0.6, 0.09, 0.57),
                (0.605, 0.09, 0.44),
                (0.61, 0.09, 0.31),
                (0.615, 0.09, 0.11),
                (0.655, 0.09, 0.045),
            ],
            "v3",
        ),
        **row(
            ["b1_{}", "b1t_{}", "b2_{}", "b3_{}", "b4_{}", "b5_{}"],
            [
                (-0.1, 0.08, 0.84),
                (-0.06, 0.09, 0.71),
                (-0.02, 0.1, 0.58),
                (-0.18, 0.09, 0.36),
                (-0.16, 0.09, 0.11),
                (-0.12, 0.09, 0.045),
            ],
            "sprite",
        ),
        "stub": ("sprite", (-0.17, 0, 0.92)),
    },
    ends={
        "pate": (1.06, 0, 1.12),
        "chaps": (1.02, 0, 1.1),
        "beard": (0.9, 0, 1.08),
        "bump": (0.48, 0, 1.14),
        "h3_{}": (0.6, 0.1, 1.64),
        "lo_{}": (0.74, 0.15, 1.36),
        "f6_{}": (0.7, 0.09, 0),
        "b5_{}": (-0.075, 0.09, 0),
        "stub": (-0.21, 0, 0.84),
    },
    unit="in",
    order="XYZ",
    turned=19,
)
# 9 a bear on soles: hind foot of three bones on the ground, heavy, no tail, root at the chest
M["sole"] = Plan(
    joints={
        "kifua": (None, (0.62, 0, 0.82)),
        "mgongo": ("kifua", (0.32, 0, 0.86)),
        "kiuno": ("mgongo", (0.0, 0, 0.8)),
        **row(["shingo1", "shingo2"], [(0.76, 0, 0.84), (0.86, 0, 0.88)], "kifua"),
        "kichwa": ("shingo2", (0.95, 0, 0.9)),
        "taya": ("kichwa", (0.98, 0, 0.84)),
        "sikio_{}": ("kichwa", (0.96, 0.09, 0.99)),
        **row(
            ["bega_{}", "mkono_{}", "kigasha_{}", "kiganja_{}", "kidole_{}"],
            [
                (0.6, 0.1, 0.88),
                (0.74, 0.16, 0.6),
                (0.62, 0.17, 0.36),
                (0.66, 0.17, 0.08),
                (0.76, 0.17, 0.03),
            ],
            "kifua",
        ),
        **row(
            ["paja_{}", "goti_{}", "kifundo_{}", "unyayo_{}", "mpira_{}", "kucha_{}"],
            [
                (-0.06, 0.12, 0.72),
                (0.08, 0.16, 0.4),
                (-0.08, 0.16, 0.09),
                (0.0, 0.165, 0.05),
                (0.07, 0.165, 0.03),
                (0.12, 0.165, 0.02),
            ],
            "kiuno",
        ),
    },
    ends={
        "kichwa": (1.25, 0, 0.8),
        "taya": (1.2, 0, 0.74),
        "sikio_{}": (0.95, 0.11, 1.06),
        "kidole_{}": (0.86, 0.17, 0),
        "kucha_{}": (0.17, 0.165, 0),
    },
    order="ZYX",
    axes=((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
)
# 10 a draught beast with reins, a rider and wings; shoulder, hip and every joint with positions that add
M["reiter"] = Plan(
    joints={
        "alles": (None, (0, 0, 0)),
        "tier": ("alles", (0, 0, 1.2)),
        **row(
            ["p0", "p1", "p2", "p3"], [(0, 0, 1.22), (0.3, 0, 1.2), (0.6, 0, 1.19), (0.85, 0, 1.14)], "tier"
        ),
        **row(numbered("n", 3), [(1.0, 0, 1.2), (1.12, 0, 1.34), (1.24, 0, 1.48)], "p3"),
        "q": ("n3", (1.32, 0, 1.56)),
        "qj": ("q", (1.34, 0, 1.48)),
        "qe_{}": ("q", (1.31, 0.05, 1.63)),
        **row(
            ["zaum1_{}", "zaum2_{}", "zaum3_{}"],
            [(1.45, 0.06, 1.36), (1.1, 0.12, 1.34), (0.8, 0.14, 1.4)],
            "q",
        ),
        **row(["sitz", "leib", "haupt"], [(0.5, 0, 1.36), (0.5, 0, 1.7), (0.52, 0, 2.0)], "p2"),
        **row(
            ["bein1_{}", "bein2_{}", "bein3_{}"],
            [(0.52, 0.12, 1.34), (0.7, 0.3, 1.05), (0.55, 0.32, 0.68)],
            "sitz",
        ),
        **row(["fl1_{}", "fl2_{}"], [(0.7, 0.15, 1.3), (0.5, 0.9, 1.7)], "p3"),
        **row(
            ["S_{}", "H_{}", "R_{}", "C_{}", "P_{}", "F_{}"],
            [
                (0.88, 0.09, 1.24),
                (1.02, 0.13, 0.92),
                (0.88, 0.13, 0.72),
                (0.88, 0.13, 0.37),
                (0.88, 0.13, 0.14),
                (0.94, 0.13, 0.05),
            ],
            "p3",
        ),
        **row(
            ["f_{}", "t_{}", "m_{}", "h_{}", "z_{}"],
            [
                (-0.12, 0.12, 1.08),
                (-0.02, 0.15, 0.76),
                (-0.2, 0.13, 0.46),
                (-0.19, 0.13, 0.14),
                (-0.13, 0.13, 0.05),
            ],
            "p0",
        ),
        **row(
            numbered("sw", 4), [(-0.2, 0, 1.2), (-0.28, 0, 1.05), (-0.31, 0, 0.88), (-0.32, 0, 0.72)], "p0"
        ),
    },
    ends={
        "q": (1.62, 0, 1.24),
        "qj": (1.56, 0, 1.2),
        "qe_{}": (1.32, 0.07, 1.74),
        "zaum3_{}": (0.6, 0.1, 1.5),
        "haupt": (0.52, 0, 2.25),
        "bein3_{}": (0.68, 0.33, 0.62),
        "fl2_{}": (0.3, 1.7, 1.6),
        "F_{}": (1.0, 0.13, 0),
        "z_{}": (-0.07, 0.13, 0),
        "sw4": (-0.33, 0, 0.5),
    },
    unit="cm",
    order="ZXY",
    places="add",
)

MORE = {name: replace(plan) for name, plan in M.items()}
