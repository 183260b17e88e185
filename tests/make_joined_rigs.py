"""Four invented rigs: hips and shoulders in one joint each, joints of no length, three-jointed legs.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from make_late_rigs import even, hung
from make_rigs import Z_UP, Plan
from make_strange_rigs import numbered

J = {}

# One joint carries both hips, one both shoulders; the root is on the ground; no shoulder blades.
J["orkatz"] = Plan(
    joints={
        "erroa": (None, (0.3, 0, 0.0)),
        "gorputz": ("erroa", (0.3, 0, 0.82)),
        "aldaka": ("gorputz", (0.0, 0, 0.80)),
        **hung(numbered("biz", 3), "gorputz", [(0.4, 0, 0.83), (0.5, 0, 0.83), (0.6, 0, 0.81)]),
        "sorbalda": ("biz3", (0.62, 0, 0.80)),
        **hung(numbered("lepo", 3), "biz3", [(0.7, 0, 0.88), (0.76, 0, 0.97), (0.81, 0, 1.05)]),
        "buru": ("lepo3", (0.85, 0, 1.12)),
        "belarri_{}": ("buru", (0.83, 0.04, 1.18)),
        **hung(numbered("isats", 2), "aldaka", [(-0.12, 0, 0.78), (-0.17, 0, 0.7)]),
        **hung(
            ["beso_{}", "ukondo_{}", "eskumutur_{}", "behatz_{}", "apatx_{}"],
            "sorbalda",
            [
                (0.69, 0.07, 0.62),
                (0.6, 0.07, 0.48),
                (0.62, 0.07, 0.27),
                (0.62, 0.07, 0.09),
                (0.65, 0.07, 0.03),
            ],
        ),
        **hung(
            ["izter_{}", "belaun_{}", "orpo_{}", "boron_{}", "apatxa_{}"],
            "aldaka",
            [
                (-0.05, 0.07, 0.72),
                (0.05, 0.08, 0.53),
                (-0.12, 0.07, 0.35),
                (-0.1, 0.07, 0.1),
                (-0.07, 0.07, 0.03),
            ],
        ),
    },
    ends={
        "buru": (1.0, 0, 1.05),
        "belarri_{}": (0.81, 0.07, 1.27),
        "isats2": (-0.18, 0, 0.6),
        "apatx_{}": (0.69, 0.07, 0),
        "apatxa_{}": (-0.03, 0.07, 0),
    },
    unit="mm",
    axes=Z_UP,
    order="XZY",
)


def doubled(names, above, places):
    """Hang a row of joints, each on another one at its own place."""
    made = {}
    for name, place in zip(names, places, strict=True):
        made["z_" + name] = (above, place)
        made[name] = ("z_" + name, place)
        above = name
    return made


# A back of two joints with ribbons along it; before each joint of a leg another one of no length.
J["draig"] = Plan(
    joints={
        "clun": (None, (0, 0, 0.62)),
        "bron": ("clun", (0.55, 0, 0.64)),
        **{
            name: joint
            for k in range(5)
            for name, joint in hung(
                [f"rhuban{k}a", f"rhuban{k}b", f"rhuban{k}c"],
                "clun" if k < 3 else "bron",
                [(0.1 + 0.1 * k, 0, 0.70), (0.06 + 0.1 * k, 0, 0.74), (0.1 * k, 0, 0.72)],
            ).items()
        },
        "gwddf": ("bron", (0.66, 0, 0.72)),
        "pen": ("gwddf", (0.76, 0, 0.80)),
        "gen": ("pen", (0.79, 0, 0.76)),
        "clust_{}": ("pen", (0.74, 0.04, 0.86)),
        **hung(numbered("cynffon", 6), "clun", even((-0.12, 0, 0.6), (-0.5, 0, 0.3), 6)),
        **doubled(
            ["ysgwydd_{}", "braich_{}", "penelin_{}", "arddwrn_{}", "pawen_{}"],
            "bron",
            [
                (0.52, 0.06, 0.66),
                (0.62, 0.09, 0.47),
                (0.53, 0.09, 0.33),
                (0.54, 0.09, 0.12),
                (0.56, 0.09, 0.04),
            ],
        ),
        **doubled(
            ["morddwyd_{}", "penglin_{}", "sawdl_{}", "troed_{}"],
            "clun",
            [(-0.03, 0.08, 0.56), (0.06, 0.09, 0.36), (-0.11, 0.09, 0.19), (-0.06, 0.09, 0.04)],
        ),
    },
    ends={
        "pen": (0.92, 0, 0.74),
        "gen": (0.9, 0, 0.72),
        "clust_{}": (0.72, 0.06, 0.94),
        "cynffon6": (-0.6, 0, 0.25),
        "pawen_{}": (0.63, 0.09, 0),
        "troed_{}": (0.02, 0.09, 0),
        **{f"rhuban{k}c": (-0.06 + 0.1 * k, 0, 0.70) for k in range(5)},
    },
    unit="m",
    order="ZYX",
)

# A heavy beast on legs of three joints: a row of horns on its snout, one ear alone, plates on its back.
J["renoster"] = Plan(
    joints={
        "bekken": (None, (0, 0, 1.2)),
        "lende": ("bekken", (0.5, 0, 1.28)),
        "skof": ("lende", (1.1, 0, 1.25)),
        **hung(numbered("nek", 2), "skof", [(1.4, 0, 1.2), (1.6, 0, 1.12)]),
        "kop": ("nek2", (1.8, 0, 1.05)),
        "kaak": ("kop", (1.85, 0, 0.9)),
        **hung(numbered("horing", 3), "kop", [(2.25, 0, 0.95), (2.33, 0, 1.1), (2.36, 0, 1.25)]),
        "oor": ("kop", (1.78, 0.12, 1.25)),
        "plaat1": ("lende", (0.6, 0, 1.5)),
        "plaat2": ("skof", (1.1, 0, 1.55)),
        "plaat_{}": ("lende", (0.5, 0.4, 1.2)),
        **hung(numbered("stert", 2), "bekken", [(-0.3, 0, 1.15), (-0.36, 0, 0.9)]),
        **hung(
            ["skouer_{}", "elmboog_{}", "gewrig_{}"],
            "skof",
            [(1.15, 0.25, 0.95), (1.02, 0.27, 0.62), (1.05, 0.27, 0.2)],
        ),
        **hung(
            ["heup_{}", "knie_{}", "enkel_{}"],
            "bekken",
            [(-0.1, 0.22, 1.0), (0.05, 0.27, 0.65), (-0.08, 0.27, 0.22)],
        ),
    },
    ends={
        "kaak": (2.2, 0, 0.75),
        "horing3": (2.37, 0, 1.4),
        "oor": (1.74, 0.15, 1.42),
        "plaat1": (0.6, 0, 1.6),
        "plaat2": (1.1, 0, 1.65),
        "plaat_{}": (0.5, 0.45, 1.0),
        "stert2": (-0.37, 0, 0.6),
        "gewrig_{}": (1.18, 0.27, 0),
        "enkel_{}": (0.06, 0.27, 0),
    },
    places="add",
)

# The chest is the root and the hips hang on it by one joint; no neck; hind legs of three joints, no blades.
J["stol"] = Plan(
    joints={
        "bringa": (None, (0.6, 0, 0.8)),
        "bak": ("bringa", (0.0, 0, 0.8)),
        "hovud": ("bringa", (0.85, 0, 1.0)),
        **hung(numbered("svans", 2), "bak", [(-0.15, 0, 0.85), (-0.3, 0, 1.0)]),
        **hung(
            ["bog_{}", "arm_{}", "hand_{}", "to_{}"],
            "bringa",
            [(0.62, 0.12, 0.72), (0.54, 0.13, 0.5), (0.56, 0.13, 0.2), (0.57, 0.13, 0.05)],
        ),
        **hung(
            ["lar_{}", "legg_{}", "fot_{}"],
            "bak",
            [(-0.02, 0.12, 0.74), (0.08, 0.13, 0.42), (-0.06, 0.13, 0.12)],
        ),
    },
    ends={
        "hovud": (1.1, 0, 0.9),
        "svans2": (-0.45, 0, 1.1),
        "to_{}": (0.64, 0.13, 0),
        "fot_{}": (0.05, 0.13, 0),
    },
    unit="m",
    axes=Z_UP,
    order="YXZ",
)

JOINED = J
