"""Five more invented rigs: a barrel on short legs, horns, a hanging neck, a mouse, a beast with wings."""

from make_late_rigs import even, hung
from make_rigs import Plan
from make_strange_rigs import numbered

# A barrel on short thick legs, in millimetres, z up and facing -y; hands and toes in one joint.
BOYA = Plan(
    joints={
        "cuba": (None, (0, 0, 0.95)),
        **hung(numbered("barril", 4), "cuba", even((0.3, 0, 1.0), (1.2, 0, 1.02), 4)),
        "pecho": ("barril4", (1.5, 0, 0.98)),
        **hung(["nuca1", "nuca2"], "pecho", [(1.75, 0, 1.0), (1.95, 0, 1.02)]),
        "cabezota": ("nuca2", (2.1, 0, 1.05)),
        "quijada": ("cabezota", (2.15, 0, 0.92)),
        "oreja_{}": ("cabezota", (2.08, 0.16, 1.18)),
        **hung(numbered("rabo", 2), "cuba", [(-0.42, 0, 0.95), (-0.5, 0, 0.8)]),
        **hung(
            ["paleta_{}", "brazo_{}", "antebrazo_{}", "mano_{}"],
            "pecho",
            [(1.42, 0.28, 1.0), (1.55, 0.33, 0.66), (1.4, 0.34, 0.4), (1.44, 0.34, 0.12)],
        ),
        **hung(
            ["muslo_{}", "pierna_{}", "pie_{}"],
            "cuba",
            [(-0.05, 0.3, 0.82), (0.12, 0.34, 0.48), (-0.08, 0.34, 0.14)],
        ),
    },
    ends={
        "cabezota": (2.75, 0, 0.85),
        "quijada": (2.65, 0, 0.75),
        "oreja_{}": (2.05, 0.2, 1.27),
        "rabo2": (-0.52, 0, 0.65),
        "mano_{}": (1.58, 0.34, 0.0),
        "pie_{}": (0.08, 0.34, 0.0),
    },
    unit="mm",
    axes=((0, -1, 0), (1, 0, 0), (0, 0, 1)),
    order="XYZ",
)

# A light grazer with horns of two joints, positions on every joint; in metres.
GACELA = Plan(
    joints={
        "raiz": (None, (0, 0, 0.72)),
        **hung(numbered("lomo", 3), "raiz", even((0.12, 0, 0.74), (0.42, 0, 0.73), 3)),
        "cruz": ("lomo3", (0.55, 0, 0.72)),
        **hung(numbered("cuello", 4), "cruz", even((0.62, 0, 0.76), (0.78, 0, 1.0), 4)),
        "testa": ("cuello4", (0.82, 0, 1.06)),
        "cuerno1_{}": ("testa", (0.81, 0.025, 1.12)),
        "cuerno2_{}": ("cuerno1_{}", (0.77, 0.04, 1.24)),
        "oido_{}": ("testa", (0.79, 0.04, 1.1)),
        "colita": ("raiz", (-0.14, 0, 0.72)),
        **hung(
            ["hombro_{}", "codo_{}", "rodilla_{}", "menudillo_{}", "pezuna_{}"],
            "cruz",
            [
                (0.6, 0.06, 0.57),
                (0.51, 0.065, 0.48),
                (0.53, 0.065, 0.28),
                (0.53, 0.065, 0.09),
                (0.565, 0.065, 0.035),
            ],
        ),
        **hung(
            ["cadera_{}", "babilla_{}", "corvejon_{}", "nudo_{}", "casco_{}"],
            "raiz",
            [
                (-0.03, 0.06, 0.66),
                (0.06, 0.07, 0.48),
                (-0.09, 0.07, 0.34),
                (-0.06, 0.07, 0.1),
                (-0.025, 0.07, 0.035),
            ],
        ),
    },
    ends={
        "testa": (0.96, 0, 0.97),
        "cuerno2_{}": (0.72, 0.06, 1.34),
        "oido_{}": (0.74, 0.09, 1.13),
        "colita": (-0.18, 0, 0.6),
        "pezuna_{}": (0.59, 0.065, 0.0),
        "casco_{}": (0.0, 0.07, 0.0),
    },
    unit="m",
    places="replace",
    order="YXZ",
)

# A tall one with a neck that hangs down and comes up, in inches, x ahead.
GIBA = Plan(
    joints={
        "anca": (None, (0, 0, 1.55)),
        **hung(numbered("dorso", 3), "anca", even((0.25, 0, 1.65), (0.85, 0, 1.68), 3)),
        "torax": ("dorso3", (1.15, 0, 1.55)),
        **hung(
            numbered("pescuezo", 5),
            "torax",
            [(1.4, 0, 1.4), (1.58, 0, 1.36), (1.74, 0, 1.5), (1.84, 0, 1.7), (1.9, 0, 1.9)],
        ),
        "craneo": ("pescuezo5", (1.95, 0, 2.05)),
        "morro": ("craneo", (2.02, 0, 1.98)),
        **hung(numbered("cola", 3), "anca", even((-0.32, 0, 1.45), (-0.38, 0, 1.0), 3)),
        **hung(
            ["omoplato_{}", "hueso_{}", "canilla_{}", "cana_{}", "almohada_{}"],
            "torax",
            [(1.1, 0.15, 1.5), (1.2, 0.18, 1.12), (1.08, 0.18, 0.95), (1.1, 0.18, 0.5), (1.1, 0.18, 0.12)],
        ),
        **hung(
            ["femur_{}", "tibia_{}", "metatarso_{}", "dedos_{}"],
            "anca",
            [(-0.02, 0.14, 1.35), (0.16, 0.17, 0.98), (-0.12, 0.17, 0.6), (-0.06, 0.17, 0.12)],
        ),
    },
    ends={
        "craneo": (2.3, 0, 1.95),
        "morro": (2.26, 0, 1.9),
        "cola3": (-0.4, 0, 0.85),
        "almohada_{}": (1.22, 0.18, 0.0),
        "dedos_{}": (0.06, 0.17, 0.0),
    },
    unit="in",
    axes=((1, 0, 0), (0, 0, -1), (0, 1, 0)),
)

# A mouse of six centimetres with a long tail.
RATITA = Plan(
    joints={
        "base": (None, (0, 0, 0.042)),
        **hung(numbered("espinazo", 4), "base", even((0.012, 0, 0.046), (0.045, 0, 0.044), 4)),
        "busto": ("espinazo4", (0.055, 0, 0.04)),
        "cogote": ("busto", (0.063, 0, 0.043)),
        "hocico": ("cogote", (0.07, 0, 0.047)),
        "pabellon_{}": ("hocico", (0.069, 0.008, 0.056)),
        **hung(numbered("latigo", 7), "base", even((-0.015, 0, 0.038), (-0.085, 0, 0.02), 7)),
        **hung(
            ["homo_{}", "hume_{}", "radi_{}", "garra_{}"],
            "busto",
            [(0.053, 0.008, 0.04), (0.059, 0.01, 0.028), (0.051, 0.01, 0.017), (0.054, 0.01, 0.004)],
        ),
        **hung(
            ["femo_{}", "tibi_{}", "tars_{}", "zarpa_{}"],
            "base",
            [(-0.003, 0.009, 0.036), (0.009, 0.011, 0.024), (-0.008, 0.011, 0.012), (0.004, 0.011, 0.003)],
        ),
    },
    ends={
        "hocico": (0.09, 0, 0.04),
        "pabellon_{}": (0.067, 0.014, 0.066),
        "latigo7": (-0.097, 0, 0.018),
        "garra_{}": (0.06, 0.01, 0.0),
        "zarpa_{}": (0.012, 0.011, 0.0),
    },
)

# A beast of three metres: a master on the ground, a body below it, wings of three joints, a crest.
BESTIA = Plan(
    joints={
        "amo": (None, (0, 0, 0.0)),
        "tronco": ("amo", (0, 0, 2.6)),
        **hung(numbered("vertebra", 5), "tronco", even((0.4, 0, 2.7), (1.9, 0, 2.9), 5)),
        "quilla": ("vertebra5", (2.3, 0, 2.8)),
        **hung(numbered("garganta", 4), "quilla", even((2.7, 0, 3.0), (3.6, 0, 3.9), 4)),
        "mascara": ("garganta4", (3.9, 0, 4.1)),
        "colmillo": ("mascara", (4.0, 0, 3.85)),
        **hung(
            ["ala1_{}", "ala2_{}", "ala3_{}"], "quilla", [(2.0, 0.4, 3.2), (1.5, 1.2, 3.9), (0.5, 2.2, 3.6)]
        ),
        **hung(numbered("serpiente", 6), "tronco", even((-0.5, 0, 2.5), (-2.6, 0, 1.4), 6)),
        **hung(
            ["espada_{}", "maza_{}", "puno_{}", "palma_{}", "una_{}"],
            "quilla",
            [(2.2, 0.5, 2.7), (2.5, 0.7, 1.95), (2.0, 0.72, 1.25), (2.2, 0.72, 0.4), (2.35, 0.72, 0.15)],
        ),
        **hung(
            ["viga_{}", "puntal_{}", "gancho_{}", "zanca_{}"],
            "tronco",
            [(-0.1, 0.5, 2.35), (0.5, 0.65, 1.5), (-0.5, 0.65, 0.95), (-0.15, 0.65, 0.2)],
        ),
    },
    ends={
        "mascara": (4.8, 0, 3.7),
        "colmillo": (4.7, 0, 3.5),
        "ala3_{}": (-0.6, 3.0, 3.2),
        "serpiente6": (-3.1, 0, 1.2),
        "una_{}": (2.6, 0.72, 0.0),
        "zanca_{}": (0.2, 0.65, 0.0),
    },
    order="ZYX",
)

LAST = {"boya": BOYA, "gacela": GACELA, "giba": GIBA, "ratita": RATITA, "bestia": BESTIA}
