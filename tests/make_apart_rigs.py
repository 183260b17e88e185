"""Ten more invented rigs: a skeleton twice over, twists beside the limbs, hands of four, two roots, a prop.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

import numpy as np
from make_late_rigs import even, hung
from make_rigs import Z_UP, Plan, text, yawed
from make_strange_rigs import numbered, spread_out

A = {}

# Its legs are there twice: those of the skin, and beside them at the same places those that are steered.
A["doppel"] = Plan(
    joints={
        "Grund": (None, (0, 0, 0)),
        "Leib": ("Grund", (0, 0, 0.72)),
        **hung(numbered("Ruecken", 3), "Leib", even((0.16, 0, 0.75), (0.46, 0, 0.74), 3)),
        "Brustkorb": ("Ruecken3", (0.6, 0, 0.7)),
        **hung(["Gurgel1", "Gurgel2"], "Brustkorb", [(0.72, 0, 0.78), (0.82, 0, 0.9)]),
        "Schaedel": ("Gurgel2", (0.88, 0, 0.97)),
        "Schaedel_Spitze": ("Schaedel", (1.08, 0, 0.88)),
        "Lauscher_{}": ("Schaedel", (0.86, 0.05, 1.03)),
        **hung(numbered("Schweif", 4), "Leib", even((-0.12, 0, 0.7), (-0.3, 0, 0.36), 4)),
    },
    ends={
        "Lauscher_{}": (0.82, 0.08, 1.12),
        "Schweif4": (-0.33, 0, 0.26),
    },
    order="XYZ",
)
FORE = [(0.58, 0.06, 0.74), (0.68, 0.09, 0.54), (0.57, 0.09, 0.42), (0.585, 0.09, 0.14), (0.62, 0.09, 0.04)]
HIND = [(-0.05, 0.08, 0.64), (0.05, 0.09, 0.42), (-0.12, 0.09, 0.22), (-0.06, 0.09, 0.04)]
for stem in ("haut", "lenk"):
    fore = [f"{stem}_{word}_{{}}" for word in ("blatt", "arm", "elle", "hand", "zehe")]
    hind = [f"{stem}_{word}_{{}}" for word in ("keule", "wade", "mittel", "ballen")]
    A["doppel"].joints |= hung(fore, "Brustkorb", FORE) | hung(hind, "Leib", HIND)
    A["doppel"].ends |= {fore[-1]: (0.68, 0.09, 0), hind[-1]: (0.0, 0.09, 0)}

# Twists hang beside every bone of its limbs as leaves, two to a bone, the first at the joint itself.
A["virka"] = Plan(
    joints={
        "lantio": (None, (0, 0, 1.12)),
        **hung(numbered("selka", 4), "lantio", even((0.2, 0, 1.15), (0.7, 0, 1.12), 4)),
        "rinta": ("selka4", (0.86, 0, 1.06)),
        **hung(numbered("kaula", 3), "rinta", even((0.98, 0, 1.12), (1.2, 0, 1.38), 3)),
        "paa": ("kaula3", (1.27, 0, 1.46)),
        "leuka": ("paa", (1.29, 0, 1.38)),
        "korva_{}": ("paa", (1.25, 0.05, 1.54)),
        **hung(numbered("hanta", 5), "lantio", even((-0.2, 0, 1.08), (-0.34, 0, 0.66), 5)),
        **hung(
            ["lapa_{}", "olka_{}", "kyyn_{}", "sari_{}", "vuoh_{}", "kavio_{}"],
            "rinta",
            [
                (0.83, 0.09, 1.1),
                (0.95, 0.13, 0.82),
                (0.8, 0.13, 0.64),
                (0.82, 0.13, 0.33),
                (0.82, 0.13, 0.12),
                (0.87, 0.13, 0.05),
            ],
        ),
        **hung(
            ["reisi_{}", "polvi_{}", "kinner_{}", "tvuoh_{}", "tkavio_{}"],
            "lantio",
            [
                (-0.1, 0.11, 0.98),
                (0.02, 0.14, 0.7),
                (-0.18, 0.13, 0.45),
                (-0.15, 0.13, 0.12),
                (-0.1, 0.13, 0.05),
            ],
        ),
    },
    ends={
        "paa": (1.55, 0, 1.24),
        "leuka": (1.5, 0, 1.18),
        "korva_{}": (1.22, 0.08, 1.65),
        "hanta5": (-0.35, 0, 0.52),
        "kavio_{}": (0.94, 0.13, 0),
        "tkavio_{}": (-0.03, 0.13, 0),
    },
    order="YZX",
    unit="in",
    aimed=True,
)


def with_twists(plan, pairs):
    """Hang two leaves on the upper joint of each bone: one at the joint and one halfway along."""
    joints = dict(plan.joints)
    for above, below in pairs:
        a, b = (np.array(plan.joints[name][1]) for name in (above, below))
        joints[f"kierto0_{above}"] = (above, tuple(a))
        joints[f"kierto1_{above}"] = (above, tuple((a + b) / 2.0))
    return replace(plan, joints=joints)


A["virka"] = with_twists(
    A["virka"],
    [
        ("lapa_{}", "olka_{}"),
        ("olka_{}", "kyyn_{}"),
        ("kyyn_{}", "sari_{}"),
        ("sari_{}", "vuoh_{}"),
        ("reisi_{}", "polvi_{}"),
        ("polvi_{}", "kinner_{}"),
        ("kinner_{}", "tvuoh_{}"),
        ("kaula1", "kaula2"),
    ],
)

# Four bones of the middle hand side by side from the wrist down, each with two of a toe; hind feet as well.
A["hramm"] = Plan(
    joints={
        "mjodm": (None, (0, 0, 0.62)),
        **hung(numbered("hryggur", 5), "mjodm", even((0.1, 0, 0.65), (0.52, 0, 0.64), 5)),
        "bringa": ("hryggur5", (0.62, 0, 0.6)),
        **hung(["hals1", "hals2"], "bringa", [(0.72, 0, 0.65), (0.8, 0, 0.72)]),
        "haus": ("hals2", (0.86, 0, 0.77)),
        "kjalki": ("haus", (0.88, 0, 0.73)),
        "eyra_{}": ("haus", (0.84, 0.04, 0.83)),
        **hung(numbered("skott", 6), "mjodm", even((-0.1, 0, 0.6), (-0.46, 0, 0.36), 6)),
        **hung(
            ["herda_{}", "upph_{}", "framh_{}", "ulnl_{}"],
            "bringa",
            [(0.6, 0.05, 0.64), (0.68, 0.08, 0.48), (0.58, 0.085, 0.33), (0.595, 0.085, 0.12)],
        ),
        **hung(
            ["laeri_{}", "leggur_{}", "hall_{}"],
            "mjodm",
            [(-0.04, 0.07, 0.54), (0.06, 0.085, 0.35), (-0.1, 0.085, 0.17)],
        ),
    },
    ends={
        "haus": (1.02, 0, 0.71),
        "kjalki": (0.98, 0, 0.68),
        "eyra_{}": (0.81, 0.06, 0.89),
        "skott6": (-0.52, 0, 0.33),
    },
    order="YXZ",
    unit="mm",
)
for toe, aside in enumerate((-0.03, -0.01, 0.012, 0.034)):
    reach = (0.0, 0.015, 0.012, -0.008)[toe]
    y = 0.085 + aside
    A["hramm"].joints |= hung(
        [f"midh{toe}_{{}}", f"kjuka{toe}_{{}}", f"nogl{toe}_{{}}"],
        "ulnl_{}",
        [(0.6, 0.085 + aside * 0.6, 0.1), (0.63 + reach, y, 0.03), (0.66 + reach, y, 0.015)],
    )
    A["hramm"].joints |= hung(
        [f"rist{toe}_{{}}", f"ta{toe}_{{}}", f"klo{toe}_{{}}"],
        "hall_{}",
        [(-0.095, 0.085 + aside * 0.6, 0.155), (-0.05 + reach, y, 0.03), (-0.02 + reach, y, 0.015)],
    )
    A["hramm"].ends |= {
        f"nogl{toe}_{{}}": (0.685 + reach, y, 0),
        f"klo{toe}_{{}}": (0.005 + reach, y, 0),
    }

# Fore legs on the middle of a back that goes on as the neck; all in a unit of a hundred metres, askew.
A["zuraw"] = yawed(
    Plan(
        joints={
            "srodek": (None, (0.55, 0, 1.6)),
            "krzyze": ("srodek", (0.0, 0, 1.5)),
            **hung(numbered("gora", 6), "srodek", even((0.72, 0, 1.63), (1.5, 0, 2.3), 6)),
            "glowka": ("gora6", (1.6, 0, 2.42)),
            "dziob": ("glowka", (1.62, 0, 2.36)),
            "ucho_{}": ("glowka", (1.58, 0.06, 2.5)),
            **hung(["kita1", "kita2"], "krzyze", [(-0.2, 0, 1.42), (-0.3, 0, 1.0)]),
            **hung(
                ["bark_{}", "lokiec_{}", "nadg_{}", "pecina_{}", "racica_{}"],
                "gora1",
                [
                    (0.86, 0.13, 1.3),
                    (0.72, 0.14, 1.06),
                    (0.74, 0.14, 0.55),
                    (0.74, 0.14, 0.16),
                    (0.79, 0.14, 0.06),
                ],
            ),
            **hung(
                ["biodro_{}", "kolano_{}", "skok_{}", "tpecina_{}", "tracica_{}"],
                "krzyze",
                [
                    (-0.08, 0.12, 1.36),
                    (0.06, 0.15, 0.98),
                    (-0.16, 0.14, 0.68),
                    (-0.12, 0.14, 0.16),
                    (-0.07, 0.14, 0.06),
                ],
            ),
        },
        ends={
            "glowka": (1.95, 0, 2.2),
            "dziob": (1.88, 0, 2.16),
            "ucho_{}": (1.54, 0.12, 2.6),
            "kita2": (-0.32, 0, 0.8),
            "racica_{}": (0.86, 0.14, 0),
            "tracica_{}": (0.0, 0.14, 0),
        },
        unit="100 m",
        order="ZYX",
        at=(3.7, 0.0, -2.2),
    ),
    141.0,
)

# A trunk of sixteen joints that lies on the ground before it, on the jaw's brother; fan-shaped ears.
A["fil"] = Plan(
    joints={
        "yer": (None, (0, 0, 0)),
        "kuyruk_sokumu": ("yer", (0, 0, 1.9)),
        **hung(numbered("omurga", 4), "kuyruk_sokumu", even((0.3, 0, 2.02), (1.2, 0, 2.06), 4)),
        "gogus": ("omurga4", (1.45, 0, 1.95)),
        "ense": ("gogus", (1.75, 0, 2.1)),
        "kafa": ("ense", (1.98, 0, 2.2)),
        "cene": ("kafa", (2.05, 0, 1.95)),
        **hung(
            numbered("hortum", 16),
            "kafa",
            [*even((2.35, 0, 2.0), (2.5, 0, 0.25), 12), *even((2.56, 0, 0.06), (2.95, 0, 0.05), 4)],
        ),
        "disi_{}": ("kafa", (2.2, 0.18, 1.85)),
        "kulakUst_{}": ("kafa", (1.95, 0.3, 2.3)),
        "kulakAlt_{}": ("kafa", (1.92, 0.3, 1.95)),
        **hung(numbered("kuyruk", 4), "kuyruk_sokumu", even((-0.4, 0, 1.8), (-0.55, 0, 0.9), 4)),
        **hung(
            ["kurek_{}", "ustkol_{}", "dirsek_{}", "bilek_{}", "ayak_{}"],
            "gogus",
            [
                (1.4, 0.28, 1.85),
                (1.52, 0.36, 1.4),
                (1.38, 0.37, 0.95),
                (1.42, 0.37, 0.38),
                (1.45, 0.37, 0.12),
            ],
        ),
        **hung(
            ["kalca_{}", "diz_{}", "topuk_{}", "arkaayak_{}"],
            "kuyruk_sokumu",
            [(-0.1, 0.26, 1.65), (0.0, 0.34, 0.95), (-0.08, 0.35, 0.32), (-0.04, 0.35, 0.12)],
        ),
    },
    ends={
        "cene": (2.4, 0, 1.6),
        "hortum16": (3.05, 0, 0.04),
        "disi_{}": (2.75, 0.28, 1.5),
        "kulakUst_{}": (1.6, 0.75, 2.25),
        "kulakAlt_{}": (1.65, 0.7, 1.6),
        "kuyruk4": (-0.56, 0, 0.6),
        "ayak_{}": (1.58, 0.37, 0),
        "arkaayak_{}": (0.1, 0.35, 0),
    },
    axes=Z_UP,
    unit="m",
    order="ZXY",
)

# Wings as large as itself on the shoulder blades, each with fingers that reach to the ground, folded.
A["szarny"] = Plan(
    joints={
        "kereszt": (None, (0, 0, 0.8)),
        **hung(numbered("hat", 4), "kereszt", even((0.15, 0, 0.84), (0.6, 0, 0.86), 4)),
        "szugy": ("hat4", (0.74, 0, 0.82)),
        **hung(numbered("nyak", 5), "szugy", even((0.86, 0, 0.9), (1.2, 0, 1.3), 5)),
        "fej": ("nyak5", (1.28, 0, 1.38)),
        "all": ("fej", (1.3, 0, 1.33)),
        "szarv_{}": ("fej", (1.26, 0.05, 1.44)),
        **hung(numbered("farok", 9), "kereszt", even((-0.15, 0, 0.76), (-1.1, 0, 0.08), 9)),
        **hung(
            ["lapocka_{}", "felkar_{}", "alkar_{}", "kez_{}", "karom_{}"],
            "szugy",
            [
                (0.72, 0.1, 0.86),
                (0.84, 0.14, 0.62),
                (0.7, 0.15, 0.44),
                (0.73, 0.15, 0.15),
                (0.78, 0.15, 0.04),
            ],
        ),
        **hung(
            ["szarny1_{}", "szarny2_{}", "szarny3_{}"],
            "lapocka_{}",
            [(0.66, 0.16, 1.0), (0.3, 0.3, 1.3), (0.5, 0.42, 0.9)],
        ),
        **{
            f"ujj{k}{part}_{{}}": (("szarny3_{}", f"ujj{k}a_{{}}")[part == "b"], place)
            for k, far in enumerate((-0.2, -0.35, -0.5))
            for part, place in (("a", (0.2 + far / 2, 0.44, 0.6)), ("b", (0.1 + far, 0.45, 0.2)))
        },
        **hung(
            ["comb_{}", "labsz_{}", "csank_{}", "ujjak_{}"],
            "kereszt",
            [(-0.06, 0.1, 0.7), (0.07, 0.14, 0.45), (-0.14, 0.14, 0.24), (-0.07, 0.14, 0.04)],
        ),
    },
    ends={
        "fej": (1.55, 0, 1.26),
        "all": (1.5, 0, 1.22),
        "szarv_{}": (1.1, 0.1, 1.58),
        "farok9": (-1.25, 0, 0.03),
        "karom_{}": (0.87, 0.15, 0),
        "ujjak_{}": (0.03, 0.14, 0),
        **{f"ujj{k}b_{{}}": (far, 0.45, 0.0) for k, far in enumerate((-0.2, -0.35, -0.5))},
    },
    order="XZY",
    turned=23,
)

# It lies on its back in its zero pose and stands in frame 1; a shell; two joints of neck drawn in.
A["kilpi"] = Plan(
    joints={
        "kota": (None, (0, 0, 0.22)),
        "keski": ("kota", (0.18, 0, 0.25)),
        "etu": ("keski", (0.36, 0, 0.22)),
        **hung(["kau1", "kau2", "kau3"], "etu", [(0.42, 0, 0.2), (0.47, 0, 0.23), (0.53, 0, 0.26)]),
        "nokka": ("kau3", (0.57, 0, 0.28)),
        "kuori": ("keski", (0.18, 0, 0.4)),
        "kuoriSivu_{}": ("kuori", (0.18, 0.2, 0.25)),
        "typpy": ("kota", (-0.08, 0, 0.18)),
        **hung(
            ["hart_{}", "varsi_{}", "kampi_{}", "jalka_{}"],
            "etu",
            [(0.34, 0.08, 0.2), (0.38, 0.17, 0.18), (0.36, 0.21, 0.09), (0.38, 0.22, 0.025)],
        ),
        **hung(
            ["lonk_{}", "taive_{}", "tassu_{}"],
            "kota",
            [(0.0, 0.1, 0.19), (0.05, 0.18, 0.11), (-0.01, 0.19, 0.025)],
        ),
    },
    ends={
        "nokka": (0.65, 0, 0.27),
        "kuori": (0.18, 0, 0.46),
        "kuoriSivu_{}": (0.18, 0.25, 0.18),
        "typpy": (-0.15, 0, 0.12),
        "jalka_{}": (0.43, 0.225, 0),
        "tassu_{}": (0.04, 0.195, 0),
    },
    order="ZYX",
    unit="cm",
)
A["kilpi"].rests = {name.format(side): (180, 10, 0) for name in A["kilpi"].joints for side in "ab"}

# Nothing but numbers; a joint of no length before each, a pair of handles beside each foot, a prop on it.
A["nula"] = Plan(
    joints={
        "0": (None, (0, 0, 0)),
        "1": ("0", (0.05, 0, 0.52)),
        **hung(["2", "3", "4"], "1", even((0.12, 0, 0.54), (0.36, 0, 0.53), 3)),
        "5": ("4", (0.46, 0, 0.5)),
        "6": ("5", (0.54, 0, 0.55)),
        "7": ("6", (0.6, 0, 0.62)),
        "8": ("7", (0.63, 0, 0.66)),
        "9{}": ("8", (0.62, 0.03, 0.71)),
        "10": ("8", (0.64, 0, 0.63)),
        **hung(["11", "12", "13"], "1", even((-0.08, 0, 0.5), (-0.2, 0, 0.36), 3)),
        "14": ("3", (0.24, 0, 0.62)),
        "15": ("14", (0.3, 0, 0.9)),
        **hung(
            ["20{}", "21{}", "22{}", "23{}", "24{}", "25{}", "26{}"],
            "5",
            [
                (0.45, 0.05, 0.52),
                (0.45, 0.05, 0.52),
                (0.53, 0.07, 0.38),
                (0.45, 0.075, 0.28),
                (0.45, 0.075, 0.28),
                (0.46, 0.075, 0.1),
                (0.48, 0.075, 0.03),
            ],
        ),
        **hung(
            ["30{}", "31{}", "32{}", "33{}", "34{}"],
            "1",
            [
                (0.02, 0.06, 0.45),
                (0.02, 0.06, 0.45),
                (0.09, 0.07, 0.29),
                (-0.04, 0.07, 0.14),
                (0.0, 0.07, 0.03),
            ],
        ),
        "40{}": ("0", (0.48, 0.075, 0.0)),
        "41{}": ("0", (0.0, 0.07, 0.0)),
        "42{}": ("0", (0.48, 0.075, 0.0)),
    },
    ends={
        "8": (0.75, 0, 0.62),
        "10": (0.73, 0, 0.59),
        "9{}": (0.6, 0.05, 0.77),
        "13": (-0.23, 0, 0.3),
        "15": (0.35, 0, 1.1),
        "26{}": (0.535, 0.075, 0),
        "34{}": (0.05, 0.07, 0),
    },
    unit="dm",
    places="replace",
    order="XYZ",
)

# Long thin legs that lean outward under a short body, feet far outside the hips; -y up.
A["pajak"] = spread_out(
    Plan(
        joints={
            "korpus": (None, (0, 0, 0.9)),
            "przod": ("korpus", (0.38, 0, 0.92)),
            "szyjka": ("przod", (0.48, 0, 1.0)),
            "pysk": ("szyjka", (0.55, 0, 1.1)),
            "ush_{}": ("pysk", (0.53, 0.04, 1.17)),
            "ogonek": ("korpus", (-0.12, 0, 0.86)),
            **hung(
                ["pa_{}", "pb_{}", "pc_{}", "pd_{}"],
                "przod",
                [(0.44, 0.08, 0.8), (0.36, 0.09, 0.5), (0.375, 0.09, 0.2), (0.4, 0.09, 0.05)],
            ),
            **hung(
                ["za_{}", "zb_{}", "zc_{}", "zd_{}"],
                "korpus",
                [(-0.02, 0.08, 0.82), (0.06, 0.09, 0.5), (-0.09, 0.09, 0.26), (-0.04, 0.09, 0.05)],
            ),
        },
        ends={
            "pysk": (0.7, 0, 1.05),
            "ush_{}": (0.5, 0.08, 1.24),
            "ogonek": (-0.2, 0, 0.7),
            "pd_{}": (0.46, 0.09, 0),
            "zd_{}": (0.03, 0.09, 0),
        },
        order="ZXY",
        axes=((0, 0, 1), (-1, 0, 0), (0, -1, 0)),
    ),
    12,
    [["pa_{}", "pb_{}", "pc_{}", "pd_{}"], ["za_{}", "zb_{}", "zc_{}", "zd_{}"]],
)

# Withers far above a rump that hangs over, a mane of pairs and a rider with hands; in feet, facing -x.
A["bufalo"] = Plan(
    joints={
        "lomo": (None, (0.1, 0, 1.3)),
        "anca": ("lomo", (-0.2, 0, 1.25)),
        **hung(numbered("espina", 2), "lomo", [(0.4, 0, 1.4), (0.7, 0, 1.55)]),
        "cruz": ("espina2", (0.95, 0, 1.5)),
        "cerviz": ("cruz", (1.2, 0, 1.35)),
        "testa": ("cerviz", (1.42, 0, 1.22)),
        "quijada": ("testa", (1.44, 0, 1.1)),
        "cuerno_{}": ("testa", (1.4, 0.12, 1.35)),
        "oreja_{}": ("testa", (1.36, 0.12, 1.26)),
        "barba": ("quijada", (1.55, 0, 0.95)),
        **{f"crin{k}_{{}}": ("cruz", (0.9 + 0.08 * k, 0.06, 1.68)) for k in range(3)},
        "jinete": ("espina1", (0.45, 0, 1.85)),
        "manos_{}": ("jinete", (0.75, 0.12, 1.75)),
        **hung(["rabo1", "rabo2", "rabo3"], "anca", even((-0.38, 0, 1.2), (-0.45, 0, 0.75), 3)),
        **hung(
            ["paletilla_{}", "brazo_{}", "antebrazo_{}", "cana_{}", "cuartilla_{}", "pezuna_{}"],
            "cruz",
            [
                (0.9, 0.12, 1.3),
                (1.05, 0.2, 0.88),
                (0.88, 0.2, 0.68),
                (0.9, 0.2, 0.36),
                (0.9, 0.2, 0.14),
                (0.95, 0.2, 0.06),
            ],
        ),
        **hung(
            ["muslo_{}", "pierna_{}", "corvejon_{}", "cuartillaT_{}", "pezunaT_{}"],
            "anca",
            [
                (-0.16, 0.16, 1.08),
                (0.04, 0.2, 0.74),
                (-0.14, 0.19, 0.46),
                (-0.1, 0.19, 0.14),
                (-0.05, 0.19, 0.06),
            ],
        ),
    },
    ends={
        "testa": (1.7, 0, 0.9),
        "quijada": (1.6, 0, 0.92),
        "barba": (1.57, 0, 0.75),
        "cuerno_{}": (1.36, 0.38, 1.5),
        "oreja_{}": (1.3, 0.3, 1.2),
        **{f"crin{k}_{{}}": (0.9 + 0.08 * k, 0.12, 1.85) for k in range(3)},
        "manos_{}": (0.8, 0.1, 1.74),
        "rabo3": (-0.46, 0, 0.5),
        "pezuna_{}": (1.03, 0.2, 0),
        "pezunaT_{}": (0.03, 0.19, 0),
    },
    unit="ft",
    order="YXZ",
    axes=((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
)

APART = A


def two_roots(name, first, at=(0.0, 0.0, 0.0)):
    """Write a rig below a root, with another root before or after it that carries a camera alone."""
    written = text(APART[name])
    head, motion = written.split("MOTION\n")
    other = (
        "ROOT 摄影机\n{\n\tOFFSET 0 0 0\n"
        "\tCHANNELS 6 Xposition Yposition Zposition Xrotation Yrotation Zrotation\n"
        "\tEnd Site\n\t{\n\t\tOFFSET 0 0 1\n\t}\n}\n"
    )
    tree = head.removeprefix("HIERARCHY\n")
    own = " ".join(f"{value:.6f}" for value in (*at, 0.0, 0.0, 0.0))
    lines = motion.rstrip("\n").split("\n")
    rows = [f"{own} {line}" if first else f"{line} {own}" for line in lines[2:]]
    return "\n".join(
        ["HIERARCHY", (other + tree if first else tree + other) + "MOTION", *lines[:2], *rows, ""]
    )
