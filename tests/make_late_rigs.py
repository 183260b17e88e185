"""Ten more invented rigs: eyes and whiskers beside ears, manes, a harness, wings, few bones, spread legs.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

import numpy as np
from make_rigs import X_UP, Z_UP, Plan
from make_strange_rigs import numbered, row, spread_out

L = {}


def hung(names, above, places):
    """Hang a row of joints on one that is there."""
    return row(names, places, above)


def even(first, last, count):
    """Return places at equal distances on a line."""
    first, last = np.array(first, dtype=float), np.array(last, dtype=float)
    return [tuple(first + (last - first) * k / (count - 1)) for k in range(count)]


# A long low dog; axes along the bones, ears of three joints.
L["teckel"] = Plan(
    joints={
        "wortel": (None, (0, 0, 0.0)),
        "zwaartepunt": ("wortel", (0.14, 0, 0.20)),
        "bekken": ("zwaartepunt", (0.0, 0, 0.205)),
        **hung(numbered("rug", 6), "bekken", even((0.04, 0, 0.21), (0.29, 0, 0.205), 6)),
        "borst": ("rug6", (0.34, 0, 0.20)),
        **hung(["hals1", "hals2", "hals3"], "borst", [(0.39, 0, 0.215), (0.42, 0, 0.245), (0.445, 0, 0.275)]),
        "kop": ("hals3", (0.465, 0, 0.30)),
        "kaak": ("kop", (0.475, 0, 0.285)),
        **hung(
            ["oor1_{}", "oor2_{}", "oor3_{}"],
            "kop",
            [(0.46, 0.03, 0.315), (0.46, 0.045, 0.29), (0.462, 0.048, 0.265)],
        ),
        **hung(numbered("staart", 5), "bekken", even((-0.03, 0, 0.205), (-0.18, 0, 0.20), 5)),
        **hung(
            ["blad_{}", "bovenarm_{}", "onderarm_{}", "draai_{}", "pols_{}", "voorpoot_{}"],
            "borst",
            [
                (0.335, 0.025, 0.215),
                (0.385, 0.04, 0.15),
                (0.335, 0.042, 0.105),
                (0.338, 0.042, 0.07),
                (0.341, 0.042, 0.045),
                (0.352, 0.042, 0.018),
            ],
        ),
        **hung(
            ["dij_{}", "kuit_{}", "hak_{}", "achterpoot_{}"],
            "bekken",
            [(-0.01, 0.035, 0.185), (0.03, 0.042, 0.115), (-0.035, 0.042, 0.065), (-0.025, 0.042, 0.018)],
        ),
    },
    ends={
        "kop": (0.555, 0, 0.275),
        "kaak": (0.545, 0, 0.265),
        "oor3_{}": (0.464, 0.05, 0.245),
        "staart5": (-0.21, 0, 0.198),
        "voorpoot_{}": (0.378, 0.042, 0.0),
        "achterpoot_{}": (0.005, 0.042, 0.0),
    },
    aimed=True,
    order="XYZ",
)

# A hare in inches: eyes and whiskers beside the ears.
L["zajac"] = Plan(
    joints={
        "miednica": (None, (0.0, 0, 0.19)),
        **hung(
            numbered("grzbiet", 4),
            "miednica",
            [(0.05, 0, 0.215), (0.10, 0, 0.22), (0.16, 0, 0.20), (0.21, 0, 0.17)],
        ),
        **hung(["szyja1", "szyja2"], "grzbiet4", [(0.245, 0, 0.18), (0.26, 0, 0.21)]),
        "glowa": ("szyja2", (0.27, 0, 0.245)),
        "zuchwa": ("glowa", (0.28, 0, 0.235)),
        **hung(
            [f"ucho{k}_{{}}" for k in range(1, 5)],
            "glowa",
            [(0.265, 0.015, 0.265), (0.255, 0.02, 0.295), (0.245, 0.022, 0.325), (0.235, 0.024, 0.35)],
        ),
        "oko_{}": ("glowa", (0.29, 0.025, 0.25)),
        "was_{}": ("glowa", (0.315, 0.012, 0.232)),
        **hung(["ogon1", "ogon2"], "miednica", [(-0.03, 0, 0.195), (-0.045, 0, 0.21)]),
        **hung(
            ["lopatka_{}", "ramie_{}", "przedramie_{}", "nadgarstek_{}", "lapa_{}"],
            "grzbiet4",
            [
                (0.195, 0.02, 0.195),
                (0.225, 0.03, 0.14),
                (0.19, 0.03, 0.10),
                (0.20, 0.03, 0.035),
                (0.208, 0.03, 0.012),
            ],
        ),
        **hung(
            ["udo_{}", "golen_{}", "skok_{}", "stopa_{}"],
            "miednica",
            [(-0.005, 0.035, 0.17), (0.055, 0.045, 0.105), (-0.035, 0.045, 0.045), (0.025, 0.045, 0.012)],
        ),
    },
    ends={
        "zuchwa": (0.315, 0, 0.222),
        "glowa": (0.325, 0, 0.235),
        "ucho4_{}": (0.228, 0.026, 0.37),
        "ogon2": (-0.055, 0, 0.225),
        "lapa_{}": (0.225, 0.03, 0.0),
        "stopa_{}": (0.05, 0.045, 0.0),
        "oko_{}": (0.293, 0.03, 0.25),
        "was_{}": (0.33, 0.05, 0.235),
    },
    unit="in",
    axes=Z_UP,
    order="ZYX",
)

# A boar that faces -y, in mm: joints at one place, tusks on the jaw, a snout, bristles.
L["vadkan"] = Plan(
    joints={
        "gyoker": (None, (0.1, 0, 0.62)),
        "medence": ("gyoker", (0.05, 0, 0.63)),
        "medence_fordit": ("medence", (0.05, 0, 0.63)),
        **hung(
            ["derek1", "derek2", "mellkas"],
            "medence_fordit",
            [(0.22, 0, 0.68), (0.42, 0, 0.71), (0.62, 0, 0.68)],
        ),
        **hung(["nyak1", "nyak2"], "mellkas", [(0.80, 0, 0.66), (0.87, 0, 0.63)]),
        "fej": ("nyak2", (0.94, 0, 0.60)),
        "pofa": ("fej", (0.97, 0, 0.52)),
        "orr": ("fej", (1.17, 0, 0.46)),
        "agyar_{}": ("pofa", (1.08, 0.05, 0.46)),
        "ful_{}": ("fej", (0.93, 0.08, 0.68)),
        **hung(
            numbered("serte", 4),
            "mellkas",
            [(0.75, 0, 0.78), (0.62, 0, 0.83), (0.48, 0, 0.83), (0.34, 0, 0.80)],
        ),
        **hung(numbered("farok", 3), "medence", [(-0.10, 0, 0.62), (-0.14, 0, 0.56), (-0.15, 0, 0.48)]),
        **hung(
            ["lapocka_{}", "vall_{}", "vall_nulla_{}", "konyok_{}", "csuklo_{}", "labto_{}", "pata_{}"],
            "mellkas",
            [
                (0.66, 0.08, 0.70),
                (0.74, 0.12, 0.47),
                (0.74, 0.12, 0.47),
                (0.63, 0.125, 0.36),
                (0.645, 0.12, 0.20),
                (0.645, 0.12, 0.09),
                (0.67, 0.12, 0.045),
            ],
        ),
        **hung(
            ["comb_{}", "comb_nulla_{}", "terd_{}", "csank_{}", "hlabto_{}", "hpata_{}"],
            "medence",
            [
                (0.02, 0.10, 0.58),
                (0.02, 0.10, 0.58),
                (0.10, 0.13, 0.38),
                (-0.04, 0.11, 0.24),
                (-0.03, 0.11, 0.09),
                (-0.005, 0.11, 0.045),
            ],
        ),
        "fattyu_{}": ("labto_{}", (0.62, 0.135, 0.05)),
    },
    ends={
        "orr": (1.24, 0, 0.44),
        "agyar_{}": (1.10, 0.07, 0.54),
        "ful_{}": (0.90, 0.11, 0.80),
        "serte4": (0.22, 0, 0.76),
        "farok3": (-0.15, 0, 0.40),
        "pata_{}": (0.71, 0.12, 0.0),
        "hpata_{}": (0.035, 0.11, 0.0),
        "fattyu_{}": (0.61, 0.14, 0.02),
    },
    unit="mm",
    axes=((0, -1, 0), (1, 0, 0), (0, 0, 1)),
    order="YXZ",
)

# A giraffe: a mane on its neck that reaches farther than the head, knobs beside the ears, a camera.
L["twiga"] = Plan(
    joints={
        "dunia": (None, (0, 0, 0)),
        "kamera": ("dunia", (3.0, 4.0, 2.0)),
        "nyonga": ("dunia", (0.0, 0, 1.75)),
        **hung(
            ["mgongo1", "mgongo2", "mgongo3"], "nyonga", [(0.25, 0, 1.85), (0.55, 0, 1.98), (0.85, 0, 2.10)]
        ),
        "kifua": ("mgongo3", (1.05, 0, 2.15)),
        **hung(numbered("shingo", 7), "kifua", even((1.20, 0, 2.20), (1.72, 0, 3.75), 7)),
        "kichwa": ("shingo7", (1.80, 0, 3.95)),
        "taya": ("kichwa", (1.83, 0, 3.88)),
        "pembe_{}": ("kichwa", (1.79, 0.06, 4.05)),
        "sikio_{}": ("kichwa", (1.76, 0.09, 4.0)),
        **hung(numbered("unywele", 5), "shingo5", even((1.50, 0, 3.30), (1.10, 0, 2.45), 5)),
        **hung(
            numbered("mkia", 4),
            "nyonga",
            [(-0.28, 0, 1.70), (-0.36, 0, 1.45), (-0.38, 0, 1.2), (-0.38, 0, 1.0)],
        ),
        **hung(
            ["bega_{}", "mkono_{}", "kiwiko_{}", "goti_{}", "kifundo_{}", "ukwato_{}"],
            "kifua",
            [
                (1.02, 0.12, 2.20),
                (1.22, 0.20, 1.75),
                (1.05, 0.20, 1.45),
                (1.06, 0.19, 0.78),
                (1.06, 0.19, 0.20),
                (1.14, 0.19, 0.08),
            ],
        ),
        **hung(
            ["paja_{}", "ugoko_{}", "kano_{}", "nkifundo_{}", "nukwato_{}"],
            "nyonga",
            [
                (-0.16, 0.16, 1.60),
                (-0.02, 0.21, 1.22),
                (-0.22, 0.19, 0.74),
                (-0.20, 0.19, 0.20),
                (-0.12, 0.19, 0.08),
            ],
        ),
    },
    ends={
        "taya": (2.10, 0, 3.62),
        "kichwa": (2.18, 0, 3.66),
        "pembe_{}": (1.77, 0.07, 4.22),
        "sikio_{}": (1.68, 0.22, 4.03),
        "unywele5": (1.02, 0, 2.3),
        "mkia4": (-0.38, 0, 0.7),
        "ukwato_{}": (1.24, 0.19, 0.0),
        "nukwato_{}": (-0.02, 0.19, 0.0),
    },
    unit="m",
    order="XZY",
)

# A tapir: three joints in each leg, a short trunk.
L["tapir"] = Plan(
    joints={
        "kalca": (None, (0.0, 0, 0.80)),
        **hung(["bel1", "bel2", "gogus"], "kalca", [(0.30, 0, 0.84), (0.58, 0, 0.82), (0.85, 0, 0.74)]),
        **hung(["boyun1", "boyun2"], "gogus", [(1.02, 0, 0.78), (1.12, 0, 0.84)]),
        "kafa": ("boyun2", (1.22, 0, 0.90)),
        "cene": ("kafa", (1.25, 0, 0.82)),
        **hung(
            numbered("hortum", 4),
            "kafa",
            [(1.46, 0, 0.83), (1.52, 0, 0.80), (1.56, 0, 0.75), (1.57, 0, 0.70)],
        ),
        "kulak_{}": ("kafa", (1.18, 0.07, 0.97)),
        "kuyruk": ("kalca", (-0.22, 0, 0.78)),
        **hung(
            ["ust_{}", "alt_{}", "el_{}"],
            "gogus",
            [(0.93, 0.13, 0.60), (0.84, 0.14, 0.42), (0.86, 0.14, 0.13)],
        ),
        **hung(
            ["uyluk_{}", "baldir_{}", "ayak_{}"],
            "kalca",
            [(-0.05, 0.12, 0.68), (0.06, 0.16, 0.45), (-0.10, 0.15, 0.24)],
        ),
    },
    ends={
        "cene": (1.42, 0, 0.75),
        "hortum4": (1.57, 0, 0.66),
        "kulak_{}": (1.16, 0.10, 1.05),
        "kuyruk": (-0.28, 0, 0.70),
        "el_{}": (0.92, 0.14, 0.0),
        "ayak_{}": (-0.03, 0.15, 0.0),
    },
    order="YZX",
)

# An elk: antlers, saddle and reins, legs spread.
elk = Plan(
    joints={
        "lantio": (None, (0.0, 0, 1.55)),
        **hung(
            numbered("selka", 4),
            "lantio",
            [(0.20, 0, 1.60), (0.50, 0, 1.64), (0.80, 0, 1.70), (1.02, 0, 1.66)],
        ),
        **hung(["kaula1", "kaula2", "kaula3"], "selka4", [(1.30, 0, 1.62), (1.46, 0, 1.72), (1.58, 0, 1.84)]),
        "paa": ("kaula3", (1.70, 0, 1.95)),
        "leuka": ("paa", (1.76, 0, 1.84)),
        "korva_{}": ("paa", (1.67, 0.09, 2.03)),
        **hung(
            ["sarvi1_{}", "sarvi2_{}", "sarvi3_{}"],
            "paa",
            [(1.70, 0.06, 2.04), (1.66, 0.35, 2.10), (1.60, 0.60, 2.30)],
        ),
        "haara1_{}": ("sarvi1_{}", (1.80, 0.45, 2.25)),
        "haara2_{}": ("sarvi2_{}", (1.72, 0.68, 2.45)),
        **hung(["parta1", "parta2"], "leuka", [(1.72, 0, 1.70), (1.71, 0, 1.58)]),
        "satula": ("selka3", (0.62, 0, 1.86)),
        "jalustin_{}": ("satula", (0.62, 0.34, 1.15)),
        **hung(
            ["ohjas1_{}", "ohjas2_{}", "ohjas3_{}"],
            "leuka",
            [(1.98, 0.06, 1.66), (1.55, 0.20, 1.80), (1.10, 0.15, 1.98)],
        ),
        "hanta": ("lantio", (-0.27, 0, 1.50)),
        **hung(
            ["lapa_{}", "olka_{}", "kyynar_{}", "ranne_{}", "vuohis_{}", "kavio_{}"],
            "selka4",
            [
                (1.06, 0.10, 1.70),
                (1.24, 0.16, 1.28),
                (1.05, 0.16, 1.05),
                (1.07, 0.15, 0.55),
                (1.07, 0.15, 0.16),
                (1.13, 0.15, 0.06),
            ],
        ),
        **hung(
            ["reisi_{}", "saari_{}", "kinner_{}", "tvuohis_{}", "tkavio_{}"],
            "lantio",
            [
                (-0.14, 0.13, 1.40),
                (0.0, 0.17, 1.02),
                (-0.22, 0.15, 0.66),
                (-0.20, 0.15, 0.16),
                (-0.13, 0.15, 0.06),
            ],
        ),
    },
    ends={
        "leuka": (2.05, 0, 1.58),
        "paa": (2.10, 0, 1.64),
        "korva_{}": (1.60, 0.20, 2.10),
        "sarvi3_{}": (1.55, 0.72, 2.55),
        "haara1_{}": (1.90, 0.45, 2.38),
        "haara2_{}": (1.76, 0.74, 2.62),
        "parta2": (1.71, 0, 1.50),
        "ohjas3_{}": (0.75, 0.05, 2.0),
        "jalustin_{}": (0.62, 0.35, 1.10),
        "hanta": (-0.31, 0, 1.38),
        "kavio_{}": (1.22, 0.15, 0.0),
        "tkavio_{}": (-0.04, 0.15, 0.0),
    },
    order="ZXY",
)
L["hirvi"] = spread_out(
    elk,
    14.0,
    [
        ["olka_{}", "kyynar_{}", "ranne_{}", "vuohis_{}", "kavio_{}"],
        ["reisi_{}", "saari_{}", "kinner_{}", "tvuohis_{}", "tkavio_{}"],
    ],
)

# A winged reptile: the tips of folded wings and the tail hang near the ground; joints turned anyhow.
L["dreki"] = Plan(
    joints={
        "rot": (None, (0.3, 0, 0)),
        "mjodm": ("rot", (0.0, 0, 1.05)),
        **hung(numbered("hryggur", 5), "mjodm", even((0.15, 0, 1.10), (1.05, 0, 1.15), 5)),
        "bringa": ("hryggur5", (1.25, 0, 1.12)),
        **hung(
            numbered("hals", 6),
            "bringa",
            [
                (1.45, 0, 1.22),
                (1.6, 0, 1.38),
                (1.7, 0, 1.56),
                (1.78, 0, 1.74),
                (1.88, 0, 1.88),
                (2.0, 0, 1.96),
            ],
        ),
        "haus": ("hals6", (2.12, 0, 1.98)),
        "kjaftur": ("haus", (2.14, 0, 1.92)),
        "tunga": ("kjaftur", (2.2, 0, 1.93)),
        "horn_{}": ("haus", (2.10, 0.07, 2.07)),
        **hung(
            ["v1_{}", "v2_{}", "v3_{}"],
            "hryggur5",
            [(1.0, 0.18, 1.28), (0.55, 0.45, 1.85), (1.15, 0.75, 1.6)],
        ),
        "v4a_{}": ("v3_{}", (0.3, 0.70, 0.7)),
        "v4b_{}": ("v3_{}", (0.0, 0.70, 0.6)),
        "v4c_{}": ("v3_{}", (-0.3, 0.65, 0.65)),
        **hung(
            numbered("hali", 9),
            "mjodm",
            [
                (-0.25, 0, 1.0),
                (-0.5, 0, 0.9),
                (-0.75, 0, 0.75),
                (-1.0, 0, 0.58),
                (-1.25, 0, 0.42),
                (-1.5, 0, 0.30),
                (-1.75, 0, 0.2),
                (-2.0, 0, 0.12),
                (-2.25, 0, 0.08),
            ],
        ),
        **hung(
            ["oxl_{}", "upph_{}", "framh_{}", "ulnl_{}", "lopp_{}"],
            "bringa",
            [
                (1.22, 0.15, 1.10),
                (1.32, 0.24, 0.85),
                (1.12, 0.26, 0.55),
                (1.18, 0.26, 0.2),
                (1.24, 0.26, 0.08),
            ],
        ),
        **{f"fkl{k}_{{}}": ("lopp_{}", (1.30, 0.26 + 0.06 * d, 0.05)) for k, d in ((1, -1), (2, 0), (3, 1))},
        **hung(
            ["laeri_{}", "leggur_{}", "rist_{}", "tabein_{}"],
            "mjodm",
            [(-0.08, 0.18, 0.95), (0.14, 0.26, 0.62), (-0.16, 0.26, 0.34), (-0.08, 0.26, 0.08)],
        ),
        **{f"bkl{k}_{{}}": ("tabein_{}", (0.0, 0.26 + 0.06 * d, 0.05)) for k, d in ((1, -1), (2, 0), (3, 1))},
    },
    ends={
        "haus": (2.5, 0, 1.88),
        "kjaftur": (2.45, 0, 1.82),
        "tunga": (2.4, 0, 1.86),
        "horn_{}": (1.9, 0.12, 2.2),
        "v4a_{}": (-0.3, 0.75, 0.2),
        "v4b_{}": (-0.7, 0.7, 0.12),
        "v4c_{}": (-0.9, 0.6, 0.3),
        "hali9": (-2.5, 0, 0.05),
        **{f"fkl{k}_{{}}": (1.38, 0.26 + 0.07 * d, 0.0) for k, d in ((1, -1), (2, 0), (3, 1))},
        **{f"bkl{k}_{{}}": (0.09, 0.26 + 0.07 * d, 0.0) for k, d in ((1, -1), (2, 0), (3, 1))},
    },
    unit="m",
    axes=Z_UP,
    order="XYZ",
    turned=5,
)

# A pony in harness: the back begins in its middle, a bit and blinkers, goals on the ground.
L["konik"] = Plan(
    joints={
        "svet": (None, (0, 0, 0)),
        "cil_pl_{}": ("svet", (0.80, 0.13, 0.0)),
        "cil_zl_{}": ("svet", (-0.20, 0.12, 0.0)),
        "vuz": ("svet", (-1.8, 0, 0.7)),
        **hung(["oprat1_{}", "oprat2_{}"], "vuz", [(-1.0, 0.25, 1.0), (0.0, 0.25, 1.05)]),
        "teziste": ("svet", (0.35, 0, 0.95)),
        "bedra": ("teziste", (0.20, 0, 0.97)),
        "panev": ("bedra", (0.0, 0, 0.98)),
        "hrudnik1": ("teziste", (0.50, 0, 0.94)),
        "hrudnik2": ("hrudnik1", (0.68, 0, 0.90)),
        **hung(["krk1", "krk2", "krk3"], "hrudnik2", [(0.86, 0, 0.94), (0.98, 0, 1.06), (1.06, 0, 1.17)]),
        "hlava": ("krk3", (1.12, 0, 1.26)),
        "celist": ("hlava", (1.14, 0, 1.18)),
        "udidlo": ("hlava", (1.33, 0, 0.98)),
        "klapka_{}": ("hlava", (1.18, 0.09, 1.2)),
        "ucho_{}": ("hlava", (1.10, 0.04, 1.32)),
        "kstice": ("hlava", (1.14, 0, 1.30)),
        **hung(numbered("hriva", 3), "krk2", [(0.98, 0, 1.12), (0.95, 0.06, 1.02), (0.94, 0.08, 0.9)]),
        "sedlo": ("hrudnik1", (0.48, 0, 1.08)),
        "trmen_{}": ("sedlo", (0.48, 0.27, 0.6)),
        **hung(
            numbered("ohon", 4),
            "panev",
            [(-0.2, 0, 0.96), (-0.28, 0, 0.84), (-0.29, 0, 0.66), (-0.28, 0, 0.46)],
        ),
        **hung(
            ["lopata_{}", "rameno_{}", "loket_{}", "koleno_{}", "spenka_{}", "kopyto_{}"],
            "hrudnik2",
            [
                (0.70, 0.07, 0.99),
                (0.83, 0.12, 0.72),
                (0.70, 0.13, 0.58),
                (0.71, 0.125, 0.30),
                (0.71, 0.125, 0.10),
                (0.755, 0.125, 0.04),
            ],
        ),
        **hung(
            ["kycel_{}", "koleno_z_{}", "hlezno_{}", "spenka_z_{}", "kopyto_z_{}"],
            "panev",
            [
                (-0.13, 0.10, 0.86),
                (-0.04, 0.14, 0.62),
                (-0.19, 0.12, 0.38),
                (-0.18, 0.12, 0.10),
                (-0.135, 0.12, 0.04),
            ],
        ),
    },
    ends={
        "celist": (1.32, 0, 0.96),
        "hlava": (1.38, 0, 1.0),
        "ucho_{}": (1.09, 0.06, 1.42),
        "kstice": (1.24, 0, 1.16),
        "hriva3": (0.94, 0.09, 0.8),
        "udidlo": (1.36, 0, 0.97),
        "klapka_{}": (1.22, 0.1, 1.18),
        "trmen_{}": (0.48, 0.28, 0.55),
        "ohon4": (-0.27, 0, 0.26),
        "oprat2_{}": (0.9, 0.2, 1.1),
        "kopyto_{}": (0.81, 0.125, 0.0),
        "kopyto_z_{}": (-0.075, 0.12, 0.0),
    },
    unit="cm",
    places="add",
    order="ZXY",
)

# A cub that stands wide, in inches; a mane of pairs, claws.
cub = Plan(
    joints={
        "riza": (None, (0.25, 0, 0.50)),
        "lekani": ("riza", (0.0, 0, 0.52)),
        **hung(
            ["osfys1", "osfys2", "thorax1", "thorax2"],
            "lekani",
            [(0.12, 0, 0.54), (0.26, 0, 0.55), (0.40, 0, 0.53), (0.54, 0, 0.49)],
        ),
        **hung(["lemos1", "lemos2"], "thorax2", [(0.64, 0, 0.52), (0.71, 0, 0.57)]),
        "kefali": ("lemos2", (0.77, 0, 0.62)),
        "sagoni": ("kefali", (0.80, 0, 0.58)),
        "afti_{}": ("kefali", (0.77, 0.07, 0.69)),
        **{f"haiti{k}_{{}}": ("lemos1", (0.66 + 0.03 * k, 0.09, 0.60 - 0.05 * k)) for k in (1, 2, 3)},
        **hung(
            numbered("oura", 6),
            "lekani",
            [
                (-0.10, 0, 0.50),
                (-0.2, 0, 0.44),
                (-0.28, 0, 0.36),
                (-0.34, 0, 0.28),
                (-0.42, 0, 0.22),
                (-0.52, 0, 0.2),
            ],
        ),
        **hung(
            ["omoplati_{}", "omos_{}", "agkonas_{}", "agk_strofi_{}", "karpos_{}", "pelma_{}"],
            "thorax2",
            [
                (0.53, 0.05, 0.54),
                (0.61, 0.09, 0.40),
                (0.53, 0.09, 0.28),
                (0.54, 0.09, 0.18),
                (0.545, 0.09, 0.09),
                (0.575, 0.09, 0.03),
            ],
        ),
        "nyhi_{}": ("pelma_{}", (0.61, 0.105, 0.015)),
        **hung(
            ["miros_{}", "knimi_{}", "tarsos_{}", "ppelma_{}"],
            "lekani",
            [(-0.06, 0.07, 0.46), (0.05, 0.09, 0.29), (-0.12, 0.08, 0.15), (-0.09, 0.08, 0.03)],
        ),
        "pnyhi_{}": ("ppelma_{}", (-0.055, 0.095, 0.015)),
    },
    ends={
        "kefali": (0.92, 0, 0.56),
        "sagoni": (0.90, 0, 0.52),
        "afti_{}": (0.76, 0.10, 0.74),
        **{f"haiti{k}_{{}}": (0.62 + 0.03 * k, 0.15, 0.52 - 0.06 * k) for k in (1, 2, 3)},
        "oura6": (-0.6, 0, 0.22),
        "pelma_{}": (0.625, 0.09, 0.0),
        "nyhi_{}": (0.62, 0.11, 0.0),
        "ppelma_{}": (-0.04, 0.08, 0.0),
        "pnyhi_{}": (-0.045, 0.1, 0.0),
    },
    unit="in",
    axes=((0, 0, -1), (-1, 0, 0), (0, 1, 0)),
    order="YXZ",
)
L["liontari"] = spread_out(
    cub,
    20.0,
    [
        ["omos_{}", "agkonas_{}", "agk_strofi_{}", "karpos_{}", "pelma_{}", "nyhi_{}"],
        ["miros_{}", "knimi_{}", "tarsos_{}", "ppelma_{}", "pnyhi_{}"],
    ],
)


# A badger: five toes of two joints on each foot, axes along the bones, another axis up.
def toed(stem, above, x, y):
    """Hang five toes of two joints each on a foot."""
    joints, ends = {}, {}
    for k in range(5):
        aside = (k - 2) * 0.012
        ahead = x + 0.012 - abs(aside) * 0.4
        joints[f"{stem}{k + 1}a_{{}}"] = (above, (x, y + 0.8 * aside, 0.014))
        joints[f"{stem}{k + 1}b_{{}}"] = (f"{stem}{k + 1}a_{{}}", (ahead + 0.008, y + aside, 0.010))
        ends[f"{stem}{k + 1}b_{{}}"] = (ahead + 0.025, y + 1.1 * aside, 0.0)
    return joints, ends


(fore_toes, fore_ends), (hind_toes, hind_ends) = (
    toed("yubi", "te_{}", 0.335, 0.06),
    toed("ashiyubi", "ashi_{}", 0.03, 0.055),
)
L["anaguma"] = Plan(
    joints={
        "koshi_ne": (None, (0.0, 0, 0.24)),
        **hung(
            numbered("sebone", 5),
            "koshi_ne",
            [(0.06, 0, 0.255), (0.12, 0, 0.262), (0.18, 0, 0.258), (0.24, 0, 0.245), (0.29, 0, 0.228)],
        ),
        **hung(["kubi1", "kubi2"], "sebone5", [(0.345, 0, 0.225), (0.375, 0, 0.228)]),
        "atama": ("kubi2", (0.405, 0, 0.232)),
        "ago": ("atama", (0.415, 0, 0.218)),
        "mimi_{}": ("atama", (0.405, 0.03, 0.26)),
        **hung(numbered("o", 3), "koshi_ne", [(-0.05, 0, 0.235), (-0.09, 0, 0.22), (-0.13, 0, 0.20)]),
        **hung(
            ["kata_{}", "ude_{}", "hiji_{}", "te_{}"],
            "sebone5",
            [(0.30, 0.03, 0.235), (0.335, 0.055, 0.165), (0.29, 0.06, 0.115), (0.305, 0.06, 0.04)],
        ),
        **fore_toes,
        **hung(
            ["momo_{}", "sune_{}", "ashi_{}"],
            "koshi_ne",
            [(-0.015, 0.04, 0.215), (0.035, 0.055, 0.135), (-0.025, 0.055, 0.04)],
        ),
        **hind_toes,
    },
    ends={
        "atama": (0.495, 0, 0.205),
        "ago": (0.485, 0, 0.195),
        "mimi_{}": (0.40, 0.035, 0.275),
        "o3": (-0.17, 0, 0.185),
        **fore_ends,
        **hind_ends,
    },
    unit="cm",
    axes=X_UP,
    order="XYZ",
    root_at_zero=True,
    aimed=True,
)

LATE = {name: replace(plan) for name, plan in L.items()}
