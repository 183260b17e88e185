"""Rigs in odd poses and of odd builds: one that sits, long necks, legs of many equal bones, sloping backs."""

from make_newest_rigs import even, hung, numbered
from make_rigs import Z_UP, Plan, between

ODD = {}

# It sits: hind legs folded, trunk upright; position channels on every joint.
ODD["eseri"] = Plan(
    joints={
        "ketzal": (None, (0, 0, 0.24)),
        **hung(
            numbered("bizkar", 4),
            "ketzal",
            [(0.1, 0, 0.3), (0.2, 0, 0.4), (0.3, 0, 0.5), (0.34, 0, 0.6)],
        ),
        **hung(numbered("lepo", 2), "bizkar4", [(0.4, 0, 0.66), (0.46, 0, 0.76)]),
        "burua": ("lepo2", (0.51, 0, 0.84)),
        "belarri_{}": ("burua", (0.49, 0.05, 0.9)),
        **hung(numbered("buztan", 5), "ketzal", even((-0.08, 0, 0.2), (-0.4, 0, 0.04), 5)),
        **hung(
            ["sorb_{}", "beso_{}", "ukon_{}", "esku_{}", "hatz_{}"],
            "bizkar4",
            [
                (0.32, 0.06, 0.55),
                (0.43, 0.08, 0.4),
                (0.37, 0.08, 0.26),
                (0.4, 0.08, 0.09),
                (0.42, 0.08, 0.035),
            ],
        ),
        **hung(
            ["izter_{}", "berna_{}", "oin_{}", "behatz_{}"],
            "ketzal",
            [(-0.01, 0.07, 0.21), (0.17, 0.09, 0.28), (-0.02, 0.09, 0.1), (0.08, 0.09, 0.035)],
        ),
    },
    ends={
        "burua": (0.7, 0, 0.78),
        "belarri_{}": (0.47, 0.08, 0.98),
        "buztan5": (-0.46, 0, 0.02),
        "hatz_{}": (0.47, 0.08, 0),
        "behatz_{}": (0.14, 0.09, 0),
    },
    places="replace",
)

# A neck of twelve joints, a tail of fourteen, and columns without a sling.
ODD["langhals"] = Plan(
    joints={
        "kryss": (None, (0, 0, 2.6)),
        **hung(numbered("rygg", 5), "kryss", even((0.4, 0, 2.7), (1.9, 0, 2.5), 5)),
        **hung(numbered("hals", 12), "rygg5", even((2.2, 0, 2.6), (4.6, 0, 4.2), 12)),
        "hode": ("hals12", (4.75, 0, 4.25)),
        **hung(numbered("hale", 14), "kryss", even((-0.4, 0, 2.5), (-4.2, 0, 1.4), 14)),
        **hung(
            ["skulder_{}", "overarm_{}", "underarm_{}", "hand_{}"],
            "rygg5",
            [(1.9, 0.4, 2.4), (2.05, 0.5, 1.8), (1.9, 0.5, 1.1), (1.95, 0.5, 0.35)],
        ),
        **hung(
            ["hofte_{}", "laar_{}", "legg_{}", "fot_{}"],
            "kryss",
            [(-0.05, 0.4, 2.45), (-0.02, 0.5, 2.4), (0.12, 0.5, 1.3), (-0.05, 0.5, 0.35)],
        ),
    },
    ends={
        "hode": (5.15, 0, 4.1),
        "hale14": (-4.5, 0, 1.35),
        "hand_{}": (2.15, 0.5, 0),
        "fot_{}": (0.2, 0.5, 0),
    },
    order="ZYX",
)

# Withers far above the hips; first axes along the bones, and a twist in the middle of every long one.
ODD["okapi"] = Plan(
    joints={
        "kiuno": (None, (0, 0, 1.25)),
        **hung(numbered("mgongo", 3), "kiuno", [(0.25, 0, 1.32), (0.55, 0, 1.4), (0.85, 0, 1.4)]),
        **hung(numbered("shingo", 5), "mgongo3", even((1.0, 0, 1.45), (1.3, 0, 1.9), 5)),
        "kichwa": ("shingo5", (1.38, 0, 1.98)),
        "sikio_{}": ("kichwa", (1.34, 0.08, 2.06)),
        **hung(numbered("mkia", 3), "kiuno", even((-0.22, 0, 1.15), (-0.3, 0, 0.8), 3)),
        **hung(
            ["bega_{}", "mkono_{}", "kiwiko_{}", "goti_{}", "kifundo_{}", "kwato_{}"],
            "mgongo3",
            [
                (0.86, 0.12, 1.38),
                (1.0, 0.16, 1.05),
                (0.88, 0.16, 0.86),
                (0.89, 0.16, 0.42),
                (0.89, 0.16, 0.15),
                (0.94, 0.16, 0.06),
            ],
        ),
        **hung(
            ["paja_{}", "muundi_{}", "kisigino_{}", "fundo_{}", "ukwato_{}"],
            "kiuno",
            [
                (-0.12, 0.13, 1.08),
                (-0.02, 0.16, 0.76),
                (-0.24, 0.16, 0.5),
                (-0.22, 0.16, 0.15),
                (-0.17, 0.16, 0.06),
            ],
        ),
    },
    ends={
        "kichwa": (1.68, 0, 1.78),
        "sikio_{}": (1.3, 0.14, 2.2),
        "mkia3": (-0.32, 0, 0.65),
        "kwato_{}": (1.0, 0.16, 0),
        "ukwato_{}": (-0.11, 0.16, 0),
    },
    aimed=True,
    order="XYZ",
)
for above, below, twist in (
    ("mkono_{}", "kiwiko_{}", "zunguka1_{}"),
    ("kiwiko_{}", "goti_{}", "zunguka2_{}"),
    ("paja_{}", "muundi_{}", "zunguka3_{}"),
    ("muundi_{}", "kisigino_{}", "zunguka4_{}"),
):
    ODD["okapi"] = between(ODD["okapi"], above, below, 0.5, twist)

# Short legs under a barrel; a unit is a hundred metres.
ODD["capivara"] = Plan(
    joints={
        "bacia": (None, (0, 0, 0.5)),
        **hung(numbered("lombo", 3), "bacia", [(0.18, 0, 0.52), (0.36, 0, 0.51), (0.55, 0, 0.47)]),
        "pescoco": ("lombo3", (0.66, 0, 0.5)),
        "cabeca": ("pescoco", (0.74, 0, 0.56)),
        "orelha_{}": ("cabeca", (0.72, 0.05, 0.62)),
        **hung(
            ["espadua_{}", "braco_{}", "antebraco_{}", "mao_{}"],
            "lombo3",
            [(0.55, 0.08, 0.5), (0.62, 0.1, 0.33), (0.54, 0.11, 0.2), (0.55, 0.11, 0.06)],
        ),
        **hung(
            ["coxa_{}", "perna_{}", "pe_{}", "dedo_{}"],
            "bacia",
            [(-0.05, 0.08, 0.44), (0.06, 0.11, 0.27), (-0.1, 0.11, 0.13), (-0.05, 0.11, 0.03)],
        ),
    },
    ends={
        "cabeca": (0.95, 0, 0.5),
        "orelha_{}": (0.7, 0.07, 0.66),
        "mao_{}": (0.61, 0.11, 0),
        "dedo_{}": (0.01, 0.11, 0),
    },
    unit="100 m",
    axes=Z_UP,
    order="XYZ",
)
