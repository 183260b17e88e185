"""Three invented rigs from a script that knew nothing of the others: a machine, a big head, a long neck.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from make_late_rigs import even, hung
from make_rigs import Z_UP, Plan
from make_strange_rigs import numbered

UNSEEN = {}

# A machine: hips that lead aside, legs of two bones that all bend back; no neck, head or tail.
UNSEEN["0x00"] = Plan(
    joints={
        "0x00": (None, (0, 0, 0.45)),
        "0x10": ("0x00", (0.35, 0, 0.45)),
        **hung(
            ["f1_{}", "f2_{}", "f3_{}"], "0x10", [(0.35, 0.1, 0.45), (0.35, 0.16, 0.44), (0.25, 0.16, 0.23)]
        ),
        **hung(["h1_{}", "h2_{}", "h3_{}"], "0x00", [(0, 0.1, 0.45), (0, 0.16, 0.44), (-0.1, 0.16, 0.23)]),
    },
    ends={"f3_{}": (0.35, 0.16, 0.0), "h3_{}": (0, 0.16, 0.0)},
    unit="mm",
    axes=Z_UP,
    order="ZYX",
)

# A toy: a head as large as its trunk, with ears far above its joint, on short legs; in metres, y up.
UNSEEN["atama"] = Plan(
    joints={
        "000_koshi": (None, (0, 0, 0.3)),
        **hung(["001_se", "002_mune"], "000_koshi", [(0.1, 0, 0.31), (0.22, 0, 0.31)]),
        **hung(
            ["003_kubi", "004_atama", "005_ago"],
            "002_mune",
            [(0.29, 0, 0.35), (0.32, 0, 0.42), (0.4, 0, 0.38)],
        ),
        **hung(["010_mimi_{}", "011_mimi_{}"], "004_atama", [(0.34, 0.16, 0.68), (0.33, 0.2, 0.78)]),
        "012_me_{}": ("004_atama", (0.55, 0.1, 0.5)),
        **hung(numbered("02_shippo", 3), "000_koshi", [(-0.08, 0, 0.32), (-0.16, 0, 0.38), (-0.2, 0, 0.46)]),
        **hung(
            ["030_kata_{}", "031_ude_{}", "032_tekubi_{}", "033_te_{}"],
            "002_mune",
            [(0.21, 0.06, 0.28), (0.23, 0.09, 0.2), (0.2, 0.09, 0.08), (0.22, 0.09, 0.03)],
        ),
        **hung(
            ["040_momo_{}", "041_hiza_{}", "042_kakato_{}", "043_ashi_{}"],
            "000_koshi",
            [(0, 0.07, 0.25), (0.04, 0.09, 0.17), (-0.04, 0.09, 0.08), (-0.02, 0.09, 0.03)],
        ),
    },
    ends={
        "005_ago": (0.55, 0, 0.36),
        "011_mimi_{}": (0.33, 0.23, 0.86),
        "012_me_{}": (0.58, 0.1, 0.5),
        "02_shippo3": (-0.18, 0, 0.56),
        "033_te_{}": (0.27, 0.09, 0),
        "043_ashi_{}": (0.04, 0.09, 0),
    },
    unit="m",
)

# A giant: fourteen joints of neck, eighteen of tail, one long toe; in metres, z up.
UNSEEN["sacrum"] = Plan(
    joints={
        "sacrum": (None, (0, 0, 2.6)),
        **hung(numbered("dorsum.", 5), "sacrum", even((0.45, 0, 2.63), (2.2, 0, 2.75), 5)),
        **hung(numbered("cervix.", 14), "dorsum.5", even((2.53, 0, 3.01), (6.82, 0, 6.39), 14)),
        **hung(["caput", "mandibula"], "cervix.14", [(7.1, 0, 6.6), (7.15, 0, 6.5)]),
        **hung(numbered("cauda.", 18), "sacrum", even((-0.4, 0, 2.52), (-7.2, 0, 1.97), 18)),
        **hung(
            ["scapula.{}", "humerus.{}", "ulna.{}", "manus.{}", "digitus.{}"],
            "dorsum.5",
            [(2.1, 0.4, 2.4), (2.2, 0.5, 1.9), (2.1, 0.5, 1.0), (2.15, 0.5, 0.35), (2.27, 0.5, 0.12)],
        ),
        **hung(
            ["femur.{}", "tibia.{}", "pes.{}", "hallux.{}"],
            "sacrum",
            [(0, 0.4, 2.3), (0.12, 0.5, 1.3), (-0.02, 0.5, 0.35), (0.1, 0.5, 0.12)],
        ),
    },
    ends={
        "mandibula": (7.5, 0, 6.35),
        "cauda.18": (-7.6, 0, 1.9),
        "digitus.{}": (2.47, 0.5, 0),
        "hallux.{}": (0.3, 0.5, 0),
    },
    unit="m",
    axes=Z_UP,
    order="XYZ",
)
