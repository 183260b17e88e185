"""Four more invented rigs: a long back, stilts, a long cannon, a back that slopes."""

from make_late_rigs import even, hung
from make_rigs import X_UP, Z_UP, Plan
from make_strange_rigs import numbered

# A long one on short legs: eleven joints of back and one of neck; in metres, z up.
HIR = Plan(
    joints={
        "clun": (None, (0, 0, 0.5)),
        **hung(numbered("asgwrn", 9), "clun", even((0.12, 0, 0.51), (1.08, 0, 0.52), 9)),
        "ysgwydd": ("asgwrn9", (1.2, 0, 0.49)),
        "gwar": ("ysgwydd", (1.3, 0, 0.5)),
        "pen": ("gwar", (1.36, 0, 0.5)),
        "gen": ("pen", (1.38, 0, 0.46)),
        "clust_{}": ("pen", (1.36, 0.05, 0.55)),
        **hung(numbered("cynffon", 4), "clun", even((-0.12, 0, 0.48), (-0.5, 0, 0.3), 4)),
        **hung(
            ["palfais_{}", "braich_{}", "elin_{}", "pawen_{}"],
            "ysgwydd",
            [(1.18, 0.09, 0.5), (1.25, 0.11, 0.34), (1.16, 0.11, 0.2), (1.18, 0.11, 0.05)],
        ),
        **hung(
            ["morddwyd_{}", "coes_{}", "sawdl_{}", "bysedd_{}"],
            "clun",
            [(-0.02, 0.08, 0.44), (0.07, 0.1, 0.28), (-0.09, 0.1, 0.15), (-0.03, 0.1, 0.04)],
        ),
    },
    ends={
        "pen": (1.6, 0, 0.44),
        "gen": (1.55, 0, 0.41),
        "clust_{}": (1.34, 0.07, 0.61),
        "cynffon4": (-0.62, 0, 0.26),
        "pawen_{}": (1.25, 0.11, 0.0),
        "bysedd_{}": (0.05, 0.1, 0.0),
    },
    unit="m",
    axes=Z_UP,
    order="ZYX",
)

# A browser on stilts with hooves of a hand's breadth, in inches, x ahead.
TAY = Plan(
    joints={
        "sagri": (None, (0, 0, 1.75)),
        **hung(numbered("bel", 3), "sagri", even((0.2, 0, 1.78), (0.6, 0, 1.8), 3)),
        "gogus": ("bel3", (0.8, 0, 1.76)),
        **hung(numbered("boyun", 4), "gogus", even((0.98, 0, 1.86), (1.3, 0, 2.35), 4)),
        "kafa": ("boyun4", (1.38, 0, 2.45)),
        "kulak_{}": ("kafa", (1.37, 0.05, 2.55)),
        **hung(numbered("kuyruk", 2), "sagri", [(-0.18, 0, 1.72), (-0.22, 0, 1.5)]),
        **hung(
            ["kurek_{}", "kol_{}", "onkol_{}", "incik_{}", "bilek_{}", "toynak_{}"],
            "gogus",
            [
                (0.82, 0.08, 1.78),
                (0.95, 0.12, 1.42),
                (0.83, 0.12, 1.2),
                (0.84, 0.12, 0.66),
                (0.84, 0.12, 0.12),
                (0.868, 0.12, 0.045),
            ],
        ),
        **hung(
            ["uyluk_{}", "baldir_{}", "topuk_{}", "bukagi_{}", "tirnak_{}"],
            "sagri",
            [
                (-0.06, 0.11, 1.6),
                (0.06, 0.13, 1.2),
                (-0.16, 0.12, 0.78),
                (-0.13, 0.12, 0.12),
                (-0.1, 0.12, 0.045),
            ],
        ),
    },
    ends={
        "kafa": (1.68, 0, 2.25),
        "kulak_{}": (1.35, 0.08, 2.68),
        "kuyruk2": (-0.23, 0, 1.3),
        "toynak_{}": (0.895, 0.12, 0.0),
        "tirnak_{}": (-0.07, 0.12, 0.0),
    },
    unit="in",
    axes=((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    order="YZX",
)

# Horns and a cannon nearly twice as long as the forearm, in millimetres, x up.
GEM = Plan(
    joints={
        "far": (None, (0, 0, 0.95)),
        **hung(numbered("gerinc", 4), "far", even((0.15, 0, 0.98), (0.6, 0, 0.97), 4)),
        "mellkas": ("gerinc4", (0.75, 0, 0.95)),
        **hung(numbered("nyak", 3), "mellkas", [(0.9, 0, 1.0), (1.02, 0, 1.12), (1.12, 0, 1.24)]),
        "fej": ("nyak3", (1.18, 0, 1.3)),
        "allkapocs": ("fej", (1.2, 0, 1.24)),
        "ful_{}": ("fej", (1.16, 0.06, 1.36)),
        "szarv_{}": ("fej", (1.19, 0.03, 1.37)),
        **hung(numbered("farok", 3), "far", even((-0.15, 0, 0.92), (-0.22, 0, 0.7), 3)),
        **hung(
            ["lapocka_{}", "felkar_{}", "alkar_{}", "labkozep_{}", "csud_{}", "pata_{}"],
            "mellkas",
            [
                (0.78, 0.08, 0.98),
                (0.9, 0.1, 0.74),
                (0.79, 0.1, 0.62),
                (0.81, 0.1, 0.44),
                (0.81, 0.1, 0.11),
                (0.845, 0.1, 0.045),
            ],
        ),
        **hung(
            ["comb_{}", "labszar_{}", "csank_{}", "hcsud_{}", "hpata_{}"],
            "far",
            [
                (-0.03, 0.09, 0.86),
                (0.08, 0.1, 0.64),
                (-0.12, 0.1, 0.46),
                (-0.1, 0.1, 0.11),
                (-0.065, 0.1, 0.045),
            ],
        ),
    },
    ends={
        "fej": (1.4, 0, 1.13),
        "allkapocs": (1.36, 0, 1.1),
        "ful_{}": (1.13, 0.14, 1.4),
        "szarv_{}": (1.1, 0.1, 1.6),
        "farok3": (-0.23, 0, 0.55),
        "pata_{}": (0.88, 0.1, 0.0),
        "hpata_{}": (-0.03, 0.1, 0.0),
    },
    unit="mm",
    axes=X_UP,
    order="XZY",
)

# High in front, low behind, on large paws: the first axis of each joint along its bone, in decimetres.
KOER = Plan(
    joints={
        "vaagen": (None, (0, 0, 0.62)),
        **hung(numbered("lyli", 5), "vaagen", even((0.1, 0, 0.66), (0.5, 0, 0.82), 5)),
        "rind": ("lyli5", (0.62, 0, 0.82)),
        **hung(numbered("kael", 3), "rind", [(0.78, 0, 0.9), (0.88, 0, 0.96), (0.96, 0, 1.0)]),
        "kolp": ("kael3", (1.02, 0, 1.02)),
        "loug": ("kolp", (1.05, 0, 0.96)),
        "korv_{}": ("kolp", (1.0, 0.08, 1.1)),
        **hung(numbered("saba", 5), "vaagen", even((-0.1, 0, 0.6), (-0.35, 0, 0.35), 5)),
        **hung(
            ["abaluu_{}", "olavars_{}", "kyynar_{}", "ranne_{}", "kapp_{}"],
            "rind",
            [
                (0.62, 0.1, 0.88),
                (0.74, 0.13, 0.62),
                (0.62, 0.13, 0.44),
                (0.65, 0.13, 0.14),
                (0.69, 0.13, 0.05),
            ],
        ),
        **hung(
            ["reis_{}", "saar_{}", "kand_{}", "varvas_{}"],
            "vaagen",
            [(-0.02, 0.09, 0.56), (0.08, 0.1, 0.36), (-0.1, 0.1, 0.2), (-0.02, 0.1, 0.045)],
        ),
    },
    ends={
        "kolp": (1.28, 0, 0.92),
        "loug": (1.22, 0, 0.88),
        "korv_{}": (0.98, 0.1, 1.19),
        "saba5": (-0.42, 0, 0.28),
        "kapp_{}": (0.8, 0.13, 0.0),
        "varvas_{}": (0.1, 0.1, 0.0),
    },
    unit="dm",
    order="ZXY",
    aimed=True,
)

FOUR = {"hir": HIR, "tay": TAY, "gem": GEM, "koer": KOER}
