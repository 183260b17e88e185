"""Six invented rigs more: a trunked calf, a long cat with toes, a shell, a pack animal, stilts, a low digger.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from make_late_rigs import even, hung
from make_rigs import X_UP, Z_UP, Plan
from make_strange_rigs import numbered

SIX = {}

# A calf with a short trunk, in decimetres, y up and facing -z; its names have letters beyond ASCII.
SIX["Rüsselkalb"] = Plan(
    joints={
        "Hüfte": (None, (0, 0, 0.86)),
        **hung(numbered("Rücken", 3), "Hüfte", [(0.22, 0, 0.93), (0.46, 0, 0.95), (0.68, 0, 0.92)]),
        "Brustkorb": ("Rücken3", (0.88, 0, 0.84)),
        **hung(["Hals_unten", "Hals_oben"], "Brustkorb", [(1.06, 0, 0.88), (1.2, 0, 0.93)]),
        "Schädel": ("Hals_oben", (1.32, 0, 0.96)),
        "Kiefer": ("Schädel", (1.36, 0, 0.87)),
        **hung(
            numbered("Rüssel", 4),
            "Schädel",
            [(1.58, 0, 0.86), (1.64, 0, 0.81), (1.68, 0, 0.75), (1.7, 0, 0.68)],
        ),
        "Löffel_{}": ("Schädel", (1.28, 0.09, 1.04)),
        **hung(["Schwänzchen", "Quaste"], "Hüfte", [(-0.24, 0, 0.84), (-0.27, 0, 0.74)]),
        **hung(
            ["Schulterblatt_{}", "Oberarm_{}", "Unterarm_{}", "Mittelhand_{}", "Vorderhuf_{}"],
            "Brustkorb",
            [
                (0.84, 0.1, 0.88),
                (0.98, 0.16, 0.6),
                (0.84, 0.17, 0.44),
                (0.86, 0.17, 0.19),
                (0.88, 0.17, 0.06),
            ],
        ),
        **hung(
            ["Oberschenkel_{}", "Unterschenkel_{}", "Mittelfuß_{}", "Hinterhuf_{}"],
            "Hüfte",
            [(-0.06, 0.14, 0.76), (0.06, 0.17, 0.49), (-0.1, 0.16, 0.29), (-0.06, 0.16, 0.06)],
        ),
    },
    ends={
        "Kiefer": (1.54, 0, 0.8),
        "Rüssel4": (1.7, 0, 0.6),
        "Löffel_{}": (1.26, 0.14, 1.15),
        "Quaste": (-0.27, 0, 0.62),
        "Vorderhuf_{}": (0.95, 0.17, 0.0),
        "Hinterhuf_{}": (0.01, 0.16, 0.0),
    },
    unit="dm",
    axes=((0, 0, -1), (-1, 0, 0), (0, 1, 0)),
    order="ZYX",
)

# A cat that is mostly back, three toes on every paw, in feet, z up.
SIX["kaplan"] = Plan(
    joints={
        "govde": (None, (0, 0, 0.46)),
        **hung(
            numbered("omurga", 9),
            "govde",
            [(0.08 + 0.095 * k, 0, 0.48 + 0.012 * k - 0.0018 * k * k) for k in range(9)],
        ),
        "gogus": ("omurga9", (0.95, 0, 0.45)),
        **hung(numbered("boyun", 3), "gogus", [(1.03, 0, 0.47), (1.09, 0, 0.51), (1.14, 0, 0.55)]),
        "kafa": ("boyun3", (1.18, 0, 0.58)),
        "cene": ("kafa", (1.2, 0, 0.54)),
        "kulak_{}": ("kafa", (1.17, 0.035, 0.63)),
        **hung(numbered("kuyruk", 8), "govde", even((-0.08, 0, 0.46), (-0.78, 0, 0.2), 8)),
        **hung(
            ["kurek_{}", "pazi_{}", "dirsek_{}", "bilek_{}", "pence_{}"],
            "gogus",
            [
                (0.93, 0.05, 0.48),
                (1.0, 0.075, 0.34),
                (0.92, 0.078, 0.235),
                (0.945, 0.078, 0.075),
                (0.975, 0.078, 0.025),
            ],
        ),
        "parmak_ic_{}": ("bilek_{}", (0.975, 0.06, 0.025)),
        "parmak_dis_{}": ("bilek_{}", (0.97, 0.096, 0.025)),
        **hung(
            ["uyluk_{}", "baldir_{}", "topuk_{}", "arka_pence_{}"],
            "govde",
            [(-0.03, 0.06, 0.41), (0.055, 0.075, 0.255), (-0.075, 0.075, 0.125), (-0.03, 0.075, 0.025)],
        ),
        "arka_parmak_ic_{}": ("topuk_{}", (-0.03, 0.058, 0.025)),
        "arka_parmak_dis_{}": ("topuk_{}", (-0.035, 0.092, 0.025)),
    },
    ends={
        "kafa": (1.32, 0, 0.53),
        "cene": (1.3, 0, 0.5),
        "kulak_{}": (1.16, 0.045, 0.67),
        "kuyruk8": (-0.86, 0, 0.19),
        "pence_{}": (1.02, 0.078, 0.0),
        "parmak_ic_{}": (1.01, 0.056, 0.0),
        "parmak_dis_{}": (1.0, 0.1, 0.0),
        "arka_pence_{}": (0.015, 0.075, 0.0),
        "arka_parmak_ic_{}": (0.005, 0.054, 0.0),
        "arka_parmak_dis_{}": (-0.002, 0.096, 0.0),
    },
    unit="ft",
    axes=Z_UP,
    order="YZX",
)

# A hollow shell on four legs of three joints, neither head nor tail, in millimetres, x up.
SIX["kuori"] = Plan(
    joints={
        "runko": (None, (0, 0, 1.3)),
        "kansi": ("runko", (0.55, 0, 1.34)),
        "keula": ("kansi", (1.05, 0, 1.3)),
        "luukku": ("kansi", (0.6, 0, 1.75)),
        **hung(
            ["olka_{}", "etuvarsi_{}", "etusaari_{}", "etukenka_{}"],
            "keula",
            [(1.12, 0.3, 1.18), (0.98, 0.32, 0.78), (1.04, 0.32, 0.3), (1.05, 0.32, 0.08)],
        ),
        **hung(
            ["lonkka_{}", "takavarsi_{}", "takasaari_{}", "takakenka_{}"],
            "runko",
            [(-0.08, 0.28, 1.2), (0.1, 0.3, 0.74), (-0.14, 0.3, 0.42), (-0.1, 0.3, 0.08)],
        ),
    },
    ends={
        "luukku": (0.6, 0, 1.9),
        "etukenka_{}": (1.17, 0.32, 0.0),
        "takakenka_{}": (0.02, 0.3, 0.0),
    },
    unit="mm",
    axes=X_UP,
    order="XZY",
)

# A pack animal in inches: a master on the ground, straps round its barrel, packs, reins, goals, a camera.
SIX["mulod"] = Plan(
    joints={
        "llawr": (None, (0.1, 0, 0)),
        "corff": ("llawr", (0.3, 0, 1.22)),
        "pelfis": ("corff", (0.0, 0, 1.2)),
        **hung(
            numbered("cefn", 4), "pelfis", [(0.15, 0, 1.24), (0.32, 0, 1.25), (0.5, 0, 1.24), (0.66, 0, 1.21)]
        ),
        "brest": ("cefn4", (0.8, 0, 1.12)),
        **hung(numbered("gwddf", 3), "brest", [(1.0, 0, 1.14), (1.12, 0, 1.3), (1.22, 0, 1.46)]),
        "pen": ("gwddf3", (1.3, 0, 1.58)),
        "gen": ("pen", (1.36, 0, 1.5)),
        "clust_{}": ("pen", (1.27, 0.06, 1.68)),
        **hung(
            ["awen1_{}", "awen2_{}", "awen3_{}"],
            "pen",
            [(1.52, 0.07, 1.36), (1.3, 0.12, 1.3), (1.0, 0.15, 1.32)],
        ),
        "cyfrwy": ("cefn3", (0.5, 0, 1.4)),
        "pecyn_{}": ("cyfrwy", (0.48, 0.42, 1.15)),
        **hung(
            ["strap1_{}", "strap2_{}", "strap3_{}"],
            "cyfrwy",
            [(0.5, 0.3, 1.2), (0.5, 0.32, 0.95), (0.5, 0.12, 0.72)],
        ),
        "strap_brest": ("brest", (1.08, 0, 0.98)),
        **hung(
            numbered("cynffon", 4),
            "pelfis",
            [(-0.28, 0, 1.18), (-0.36, 0, 1.02), (-0.38, 0, 0.84), (-0.39, 0, 0.66)],
        ),
        **hung(
            ["palfais_{}", "ysgwydd_{}", "penelin_{}", "penlin_{}", "egwyd_{}", "carn_{}"],
            "brest",
            [
                (0.82, 0.09, 1.18),
                (0.98, 0.14, 0.92),
                (0.84, 0.14, 0.7),
                (0.85, 0.13, 0.37),
                (0.85, 0.13, 0.12),
                (0.9, 0.13, 0.05),
            ],
        ),
        **hung(
            ["clun_{}", "coes_{}", "gar_{}", "ol_egwyd_{}", "ol_garn_{}"],
            "pelfis",
            [
                (-0.15, 0.12, 1.06),
                (-0.06, 0.15, 0.76),
                (-0.24, 0.13, 0.46),
                (-0.23, 0.13, 0.13),
                (-0.18, 0.13, 0.05),
            ],
        ),
        "nod_blaen_{}": ("llawr", (0.88, 0.13, 0.0)),
        "nod_ol_{}": ("llawr", (-0.2, 0.13, 0.0)),
        "camera": ("llawr", (3.5, 2.0, 1.4)),
    },
    ends={
        "pen": (1.66, 0, 1.28),
        "gen": (1.6, 0, 1.24),
        "clust_{}": (1.25, 0.1, 1.9),
        "cynffon4": (-0.39, 0, 0.46),
        "carn_{}": (0.96, 0.13, 0.0),
        "ol_garn_{}": (-0.12, 0.13, 0.0),
        "pecyn_{}": (0.48, 0.44, 0.85),
    },
    unit="in",
    places="replace",
    with_places=("corff", "nod_blaen_a", "nod_blaen_b", "nod_ol_a", "nod_ol_b"),
)

# One on stilts, with axes along its bones, standing in frame 1 only.
SIX["tavkudi"] = Plan(
    joints={
        "menji": (None, (0, 0, 1.72)),
        **hung(numbered("zurgi", 2), "menji", [(0.16, 0, 1.78), (0.36, 0, 1.8)]),
        "mkerdi": ("zurgi2", (0.54, 0, 1.74)),
        **hung(numbered("kiseri", 6), "mkerdi", even((0.66, 0, 1.84), (1.12, 0, 2.6), 6)),
        "tavi": ("kiseri6", (1.18, 0, 2.7)),
        "qba": ("tavi", (1.22, 0, 2.64)),
        "quri_{}": ("tavi", (1.16, 0.045, 2.78)),
        **hung(["kudi1", "kudi2", "kudi3"], "menji", [(-0.14, 0, 1.7), (-0.2, 0, 1.56), (-0.22, 0, 1.4)]),
        **hung(
            ["bechi_{}", "mkhari_{}", "idakvi_{}", "muxli_{}", "koch_{}", "chliqi_{}"],
            "mkerdi",
            [
                (0.54, 0.06, 1.78),
                (0.63, 0.09, 1.5),
                (0.55, 0.09, 1.26),
                (0.56, 0.09, 0.66),
                (0.56, 0.09, 0.13),
                (0.6, 0.09, 0.045),
            ],
        ),
        **hung(
            ["barkali_{}", "tsviv_{}", "kvandi_{}", "ukana_koch_{}", "ukana_chliqi_{}"],
            "menji",
            [
                (-0.06, 0.08, 1.6),
                (0.05, 0.1, 1.22),
                (-0.12, 0.1, 0.76),
                (-0.1, 0.1, 0.13),
                (-0.06, 0.1, 0.045),
            ],
        ),
    },
    ends={
        "tavi": (1.42, 0, 2.54),
        "qba": (1.38, 0, 2.5),
        "quri_{}": (1.13, 0.07, 2.92),
        "kudi3": (-0.22, 0, 1.2),
        "chliqi_{}": (0.65, 0.09, 0.0),
        "ukana_chliqi_{}": (-0.01, 0.1, 0.0),
    },
    unit="m",
    axes=((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    order="XZY",
    aimed=True,
)

# A low broad digger, its rump higher than its chest, hind feet flat to the heel; facing -x, in centimetres.
SIX["mchimbaji"] = Plan(
    joints={
        "nyonga": (None, (0, 0, 0.3)),
        **hung(
            numbered("mgongo", 4),
            "nyonga",
            [(0.08, 0, 0.33), (0.18, 0, 0.33), (0.28, 0, 0.3), (0.36, 0, 0.27)],
        ),
        "kifua": ("mgongo4", (0.43, 0, 0.235)),
        "shingo": ("kifua", (0.5, 0, 0.235)),
        "kichwa": ("shingo", (0.56, 0, 0.245)),
        "taya": ("kichwa", (0.58, 0, 0.21)),
        "sikio_{}": ("kichwa", (0.56, 0.05, 0.29)),
        "mkia": ("nyonga", (-0.09, 0, 0.29)),
        **hung(
            ["bega_{}", "mkono_{}", "kiganja_{}"],
            "kifua",
            [(0.46, 0.09, 0.2), (0.41, 0.1, 0.125), (0.45, 0.1, 0.04)],
        ),
        **hung(
            ["paja_{}", "goti_{}", "kisigino_{}", "unyayo_{}"],
            "nyonga",
            [(-0.01, 0.09, 0.25), (0.05, 0.11, 0.15), (-0.05, 0.11, 0.045), (0.02, 0.11, 0.02)],
        ),
    },
    ends={
        "kichwa": (0.7, 0, 0.2),
        "taya": (0.68, 0, 0.185),
        "sikio_{}": (0.55, 0.065, 0.325),
        "mkia": (-0.15, 0, 0.25),
        "kiganja_{}": (0.52, 0.1, 0.0),
        "unyayo_{}": (0.06, 0.11, 0.0),
    },
    unit="cm",
    axes=((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
    order="XYZ",
)
