"""Ten rigs more, as strangers make them: leaf bones, boxes, mirrored axes, odd orders, far from the origin.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

from make_rigs import X_UP, Z_UP, Plan
from make_strange_rigs import numbered, row

F = {}


def toed(names, above, places, count, tip):
    """Put toes of some bones side by side on a foot, the middle ones ahead; the tips are on the ground."""
    joints, ends = {}, {}
    bases = places[0]
    for k in range(count):
        aside = (k - (count - 1) / 2.0) * 0.32 * tip
        back = 0.25 * tip * abs(k - (count - 1) / 2.0) / count
        line = [(x - back, bases[1] + aside, z) for x, _, z in places]
        toes = [f"{name}{k + 1}_{{}}" for name in names]
        joints |= row(toes, line, above)
        x, y, _ = line[-1]
        ends[toes[-1]] = (x + 0.4 * tip, y, 0.0)
    return joints, ends


# 1 a pony with numbers for names; each chain ends in a joint of its own, whose End Site is nought
F["zahlen"] = Plan(
    joints={
        "1": (None, (0.0, 0, 1.05)),
        **row(
            ["20{}", "21{}", "22{}", "23{}", "24{}", "25{}"],
            [
                (-0.13, 0.11, 0.94),
                (-0.06, 0.13, 0.66),
                (-0.19, 0.11, 0.42),
                (-0.18, 0.11, 0.12),
                (-0.13, 0.11, 0.05),
                (-0.06, 0.11, 0.0),
            ],
            "1",
        ),
        **row(
            ["40", "41", "42", "43"],
            [(-0.2, 0, 1.04), (-0.3, 0, 0.9), (-0.33, 0, 0.7), (-0.34, 0, 0.45)],
            "1",
        ),
        **row(["2", "3", "4"], [(0.2, 0, 1.06), (0.42, 0, 1.03), (0.62, 0, 1.0)], "1"),
        **row(
            ["10{}", "11{}", "12{}", "13{}", "14{}", "15{}", "16{}"],
            [
                (0.66, 0.08, 1.08),
                (0.8, 0.13, 0.8),
                (0.68, 0.13, 0.62),
                (0.69, 0.12, 0.33),
                (0.69, 0.12, 0.12),
                (0.74, 0.12, 0.05),
                (0.81, 0.12, 0.0),
            ],
            "4",
        ),
        **row(
            ["5", "6", "7", "8", "9"],
            [
                (0.82, 0, 1.02),
                (0.93, 0, 1.14),
                (1.03, 0, 1.26),
                (1.12, 0, 1.36),
                (1.4, 0, 1.1),
            ],
            "4",
        ),
        "30{}": ("8", (1.11, 0.05, 1.42)),
        "31{}": ("30{}", (1.13, 0.07, 1.53)),
    },
    order="YXZ",
)
# 2 a wolf on boxes: its limbs hang on a box of the hips and on one of the chest; five toes and four
_fore, _fore_ends = toed(["phaa", "phab"], "main_{}", [(0.66, 0.09, 0.04), (0.69, 0.09, 0.022)], 5, 0.045)
_hind, _hind_ends = toed(["orta", "ortb"], "pied_{}", [(-0.06, 0.08, 0.04), (-0.03, 0.08, 0.022)], 4, 0.045)
F["boites"] = Plan(
    joints={
        "racine": (None, (0.3, 0, 0.0)),
        "corps": ("racine", (0.3, 0, 0.74)),
        "boite_ar": ("corps", (0.0, 0, 0.74)),
        "boite_av": ("corps", (0.6, 0, 0.74)),
        "bassin": ("boite_ar", (0.0, 0, 0.72)),
        **row(
            ["cuisse_{}", "jambe_{}", "pied_{}"],
            [
                (-0.04, 0.06, 0.66),
                (0.05, 0.08, 0.42),
                (-0.14, 0.08, 0.2),
            ],
            "boite_ar",
        ),
        **_hind,
        **row(
            numbered("queue", 4),
            [(-0.12, 0, 0.7), (-0.2, 0, 0.6), (-0.27, 0, 0.5), (-0.33, 0, 0.4)],
            "bassin",
        ),
        **row(
            ["omo_{}", "bras_{}", "avant_{}", "main_{}"],
            [
                (0.56, 0.05, 0.76),
                (0.68, 0.08, 0.6),
                (0.58, 0.09, 0.44),
                (0.6, 0.09, 0.14),
            ],
            "boite_av",
        ),
        **_fore,
        **row(
            ["cou1", "cou2", "cou3", "tete"],
            [(0.72, 0, 0.76), (0.8, 0, 0.82), (0.88, 0, 0.88), (0.95, 0, 0.93)],
            "boite_av",
        ),
        "machoire": ("tete", (0.97, 0, 0.88)),
        "oreille_{}": ("tete", (0.95, 0.04, 0.97)),
    },
    ends={
        **_fore_ends,
        **_hind_ends,
        "tete": (1.15, 0, 0.88),
        "machoire": (1.12, 0, 0.85),
        "oreille_{}": (0.94, 0.05, 1.04),
        "queue4": (-0.38, 0, 0.3),
    },
    order="XYZ",
)
# 3 a cat: axes of its right side mirror its left, its root lies on its back; it stands in frame 1
_neko = {
    "koshi": (None, (0, 0, 0.27)),
    **row(["sebone1", "sebone2", "mune"], [(0.08, 0, 0.285), (0.16, 0, 0.285), (0.24, 0, 0.27)], "koshi"),
    **row(["kubi1", "kubi2", "atama"], [(0.29, 0, 0.28), (0.32, 0, 0.3), (0.35, 0, 0.325)], "mune"),
    "ago": ("atama", (0.36, 0, 0.305)),
    "mimi_{}": ("atama", (0.355, 0.02, 0.35)),
    **row(
        ["kata_{}", "ude_{}", "hiji_{}", "tekubi_{}", "te_{}"],
        [
            (0.235, 0.025, 0.29),
            (0.275, 0.035, 0.22),
            (0.235, 0.035, 0.17),
            (0.245, 0.035, 0.05),
            (0.255, 0.035, 0.018),
        ],
        "mune",
    ),
    **row(
        ["momo_{}", "hiza_{}", "kakato_{}", "ashi_{}"],
        [
            (-0.02, 0.03, 0.24),
            (0.03, 0.04, 0.165),
            (-0.055, 0.038, 0.09),
            (-0.035, 0.038, 0.018),
        ],
        "koshi",
    ),
    **row(numbered("shippo", 6), [(-0.05 - 0.05 * k, 0, 0.26 - 0.022 * k) for k in range(6)], "koshi"),
}
_turns = {
    "kata": (20, 40, 90),
    "ude": (80, -10, 90),
    "hiji": (80, 30, 85),
    "tekubi": (80, 0, 100),
    "te": (60, 10, 90),
    "momo": (75, 35, 90),
    "hiza": (85, -30, 92),
    "kakato": (75, 15, 90),
    "ashi": (0, 60, 90),
}
F["neko"] = Plan(
    joints=_neko,
    ends={
        "ago": (0.42, 0, 0.295),
        "atama": (0.43, 0, 0.31),
        "mimi_{}": (0.355, 0.03, 0.38),
        "te_{}": (0.275, 0.035, 0),
        "ashi_{}": (-0.01, 0.038, 0),
        "shippo6": (-0.35, 0, 0.13),
    },
    rests={
        "koshi": (-80, 10, 80),
        **{f"{name}_a": (x, y, z) for name, (x, y, z) in _turns.items()},
        **{f"{name}_b": (x + 180, -y, -z) for name, (x, y, z) in _turns.items()},
    },
    order="XYZ",
)
# 4 a fox a hundred times too small for its unit, z up, with a tail of fourteen joints as long as itself
F["volpe"] = Plan(
    joints={
        **row(["anca", "lombo", "torace"], [(0, 0, 0.36), (0.17, 0, 0.38), (0.33, 0, 0.36)], None),
        **row(
            ["collo1", "collo2", "collo3", "testa"],
            [(0.4, 0, 0.38), (0.44, 0, 0.41), (0.48, 0, 0.44), (0.52, 0, 0.46)],
            "torace",
        ),
        "orecchio_{}": ("testa", (0.52, 0.035, 0.49)),
        **row(
            ["scapola_{}", "omero_{}", "radio_{}", "carpo_{}", "dita_{}"],
            [
                (0.32, 0.03, 0.38),
                (0.38, 0.045, 0.29),
                (0.32, 0.045, 0.21),
                (0.33, 0.045, 0.07),
                (0.345, 0.045, 0.022),
            ],
            "torace",
        ),
        **row(
            ["femore_{}", "tibia_{}", "tarso_{}", "ditap_{}"],
            [
                (-0.03, 0.035, 0.32),
                (0.03, 0.045, 0.21),
                (-0.08, 0.045, 0.11),
                (-0.055, 0.045, 0.022),
            ],
            "anca",
        ),
        **row(numbered("coda", 14), [(-0.06 - 0.042 * k, 0, 0.34 - 0.016 * k) for k in range(14)], "anca"),
    },
    ends={
        "testa": (0.66, 0, 0.42),
        "orecchio_{}": (0.515, 0.045, 0.56),
        "dita_{}": (0.375, 0.045, 0),
        "ditap_{}": (-0.02, 0.045, 0),
        "coda14": (-0.66, 0, 0.1),
    },
    unit="100 m",
    axes=Z_UP,
    order="ZYX",
)
# 5 a camel far from the origin of its scene, high up and turned aside
F["fern"] = Plan(
    joints={
        **row(
            ["huefte", "ruecken1", "ruecken2", "schulter"],
            [(0, 0, 1.7), (0.35, 0, 1.75), (0.7, 0, 1.72), (1.0, 0, 1.6)],
            None,
        ),
        "hoecker": ("ruecken1", (0.45, 0, 2.05)),
        **row(
            ["hals1", "hals2", "hals3", "kopf"],
            [(1.25, 0, 1.5), (1.5, 0, 1.52), (1.7, 0, 1.75), (1.82, 0, 2.05)],
            "schulter",
        ),
        "kiefer": ("kopf", (1.88, 0, 1.95)),
        "ohr_{}": ("kopf", (1.8, 0.06, 2.15)),
        **row(
            ["vblatt_{}", "varm_{}", "vell_{}", "vknie_{}", "vfessel_{}", "vzeh_{}"],
            [
                (0.98, 0.12, 1.68),
                (1.15, 0.18, 1.3),
                (0.98, 0.18, 1.1),
                (0.99, 0.18, 0.55),
                (0.99, 0.18, 0.14),
                (1.07, 0.18, 0.06),
            ],
            "schulter",
        ),
        **row(
            ["hober_{}", "hunter_{}", "hmittel_{}", "hfessel_{}", "hzeh_{}"],
            [
                (-0.12, 0.16, 1.55),
                (-0.02, 0.2, 1.08),
                (-0.2, 0.18, 0.64),
                (-0.18, 0.18, 0.14),
                (-0.1, 0.18, 0.06),
            ],
            "huefte",
        ),
        **row(["schwanz1", "schwanz2"], [(-0.25, 0, 1.6), (-0.32, 0, 1.3)], "huefte"),
    },
    ends={
        "kopf": (2.2, 0, 1.9),
        "kiefer": (2.12, 0, 1.84),
        "ohr_{}": (1.78, 0.1, 2.25),
        "vzeh_{}": (1.18, 0.18, 0),
        "hzeh_{}": (0.0, 0.18, 0),
        "schwanz2": (-0.35, 0, 1.0),
        "hoecker": (0.45, 0, 2.25),
    },
    root_at_zero=True,
    at=(123456.0, 4321.0, -98765.0),
    order="ZXY",
)
# 6 a bear with heel, ball and toe in each hind foot, the heel a leaf on the ground; names beyond ASCII
F["björn"] = Plan(
    joints={
        **row(["höft", "rygg", "bröst"], [(0, 0, 0.85), (0.35, 0, 0.95), (0.75, 0, 0.95)], None),
        **row(["hals1", "hals2", "huvud"], [(0.95, 0, 0.95), (1.05, 0, 0.98), (1.16, 0, 1.0)], "bröst"),
        "käke": ("huvud", (1.18, 0, 0.93)),
        "öra_{}": ("huvud", (1.17, 0.08, 1.1)),
        **row(
            ["skuldra_{}", "överarm_{}", "armbåge_{}", "handled_{}", "tass_{}"],
            [
                (0.72, 0.13, 1.02),
                (0.88, 0.18, 0.75),
                (0.72, 0.18, 0.52),
                (0.75, 0.18, 0.12),
                (0.82, 0.18, 0.04),
            ],
            "bröst",
        ),
        "vrist_{}": ("handled_{}", (0.7, 0.18, 0.0)),
        **row(
            ["lår_{}", "knä_{}", "fotled_{}", "trampdyna_{}", "tå_{}"],
            [
                (-0.08, 0.15, 0.75),
                (0.06, 0.19, 0.42),
                (-0.13, 0.18, 0.12),
                (-0.02, 0.18, 0.04),
                (0.06, 0.18, 0.03),
            ],
            "höft",
        ),
        "häl_{}": ("fotled_{}", (-0.19, 0.18, 0.0)),
        "svans": ("höft", (-0.2, 0, 0.8)),
    },
    ends={
        "huvud": (1.45, 0, 0.88),
        "käke": (1.4, 0, 0.86),
        "öra_{}": (1.16, 0.11, 1.17),
        "tass_{}": (0.93, 0.18, 0),
        "tå_{}": (0.1, 0.18, 0),
        "svans": (-0.27, 0, 0.74),
    },
    order="XZY",
)
# 7 a horse with its fore limbs on the root too, limbs in the order RF LH LF RH, positions that replace
F["quatro"] = Plan(
    joints={
        "tronco": (None, (0.4, 0, 1.35)),
        **row(
            ["D_esc", "D_ume", "D_rad", "D_can", "D_qua", "D_cas"],
            [
                (0.86, -0.1, 1.4),
                (1.03, -0.14, 1.05),
                (0.87, -0.13, 0.82),
                (0.88, -0.12, 0.42),
                (0.88, -0.12, 0.15),
                (0.95, -0.12, 0.06),
            ],
            "tronco",
        ),
        **row(
            ["e_fem", "e_tib", "e_can", "e_qua", "e_cas"],
            [
                (-0.1, 0.13, 1.22),
                (-0.02, 0.16, 0.86),
                (-0.2, 0.13, 0.52),
                (-0.19, 0.13, 0.15),
                (-0.12, 0.13, 0.06),
            ],
            "tronco",
        ),
        **row(
            ["E_esc", "E_ume", "E_rad", "E_can", "E_qua", "E_cas"],
            [
                (0.86, 0.1, 1.4),
                (1.03, 0.14, 1.05),
                (0.87, 0.13, 0.82),
                (0.88, 0.12, 0.42),
                (0.88, 0.12, 0.15),
                (0.95, 0.12, 0.06),
            ],
            "tronco",
        ),
        **row(
            ["d_fem", "d_tib", "d_can", "d_qua", "d_cas"],
            [
                (-0.1, -0.13, 1.22),
                (-0.02, -0.16, 0.86),
                (-0.2, -0.13, 0.52),
                (-0.19, -0.13, 0.15),
                (-0.12, -0.13, 0.06),
            ],
            "tronco",
        ),
        **row(["pesc", "nuca", "cabeca"], [(1.05, 0, 1.3), (1.25, 0, 1.5), (1.42, 0, 1.7)], "tronco"),
        "rabo1": ("tronco", (-0.25, 0, 1.32)),
        "rabo2": ("rabo1", (-0.38, 0, 1.1)),
    },
    ends={
        "cabeca": (1.65, 0, 1.35),
        "rabo2": (-0.42, 0, 0.7),
        "D_cas": (1.02, -0.12, 0),
        "E_cas": (1.02, 0.12, 0),
        "e_cas": (-0.05, 0.13, 0),
        "d_cas": (-0.05, -0.13, 0),
    },
    places="replace",
    order="ZYX",
)
# 8 a barrel on short legs: hippo-like, inches, x up, two bones and a foot in each leg, spine of one joint
F["barrica"] = Plan(
    joints={
        "b.001": (None, (0, 0, 1.0)),
        "b.002": ("b.001", (0.9, 0, 1.0)),
        "b.003": ("b.002", (1.5, 0, 0.95)),
        "b.004": ("b.003", (1.75, 0, 0.85)),
        "o.{}": ("b.003", (1.6, 0.18, 1.25)),
        **row(
            ["f.001.{}", "f.002.{}", "f.003.{}"],
            [(1.2, 0.3, 0.75), (1.12, 0.32, 0.38), (1.18, 0.32, 0.09)],
            "b.002",
        ),
        **row(
            ["h.001.{}", "h.002.{}", "h.003.{}"],
            [(-0.1, 0.3, 0.8), (0.02, 0.32, 0.42), (-0.08, 0.32, 0.09)],
            "b.001",
        ),
        "r": ("b.001", (-0.35, 0, 0.95)),
    },
    ends={
        "b.003": (2.15, 0, 0.9),
        "b.004": (2.1, 0, 0.65),
        "o.{}": (1.6, 0.2, 1.33),
        "f.003.{}": (1.3, 0.32, 0),
        "h.003.{}": (0.05, 0.32, 0),
        "r": (-0.45, 0, 0.65),
    },
    unit="in",
    axes=X_UP,
    order="YZX",
)
# 9 a gazelle whose chain runs from the head to the tail: the root is the skull, hind legs below nine joints
F["avesso"] = Plan(
    joints={
        **row(
            ["kallo", "niska3", "niska2", "niska1", "rinta", "selka2", "selka1", "lantio"],
            [
                (0.93, 0, 1.15),
                (0.87, 0, 1.05),
                (0.8, 0, 0.93),
                (0.72, 0, 0.83),
                (0.58, 0, 0.75),
                (0.4, 0, 0.79),
                (0.2, 0, 0.8),
                (0.0, 0, 0.78),
            ],
            None,
        ),
        "leuka": ("kallo", (0.95, 0, 1.1)),
        "korva_{}": ("kallo", (0.92, 0.04, 1.19)),
        **row(["sarvi1_{}", "sarvi2_{}"], [(0.94, 0.025, 1.2), (0.9, 0.04, 1.35)], "kallo"),
        **row(
            ["lapa_{}", "olka_{}", "kyynar_{}", "ranne_{}", "vuohis_{}", "sorkka_{}"],
            [
                (0.57, 0.05, 0.8),
                (0.66, 0.08, 0.62),
                (0.57, 0.08, 0.5),
                (0.58, 0.07, 0.27),
                (0.58, 0.07, 0.08),
                (0.61, 0.07, 0.03),
            ],
            "rinta",
        ),
        **row(
            ["reisi_{}", "saari_{}", "kinner_{}", "tvuohis_{}", "tsorkka_{}"],
            [
                (-0.06, 0.07, 0.7),
                (0.02, 0.09, 0.5),
                (-0.11, 0.08, 0.32),
                (-0.09, 0.08, 0.08),
                (-0.06, 0.08, 0.03),
            ],
            "lantio",
        ),
        **row(["hanta1", "hanta2"], [(-0.1, 0, 0.76), (-0.15, 0, 0.7)], "lantio"),
    },
    ends={
        "kallo": (1.1, 0, 1.06),
        "leuka": (1.08, 0, 1.03),
        "korva_{}": (0.9, 0.1, 1.27),
        "sarvi2_{}": (0.82, 0.05, 1.48),
        "sorkka_{}": (0.65, 0.07, 0),
        "tsorkka_{}": (-0.02, 0.08, 0),
        "hanta2": (-0.17, 0, 0.62),
    },
    axes=((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
    order="ZXY",
)
# 10 a mastiff: cheeks, a collar with a tag, a tongue, doubled joints at one place, twists everywhere
F["dobra"] = Plan(
    joints={
        "cog": (None, (0.3, 0, 0.7)),
        "cog_b": ("cog", (0.3, 0, 0.7)),
        "pelv": ("cog_b", (0.0, 0, 0.7)),
        "pelv_b": ("pelv", (0.0, 0, 0.7)),
        **row(["col1", "col2", "col3"], [(0.18, 0, 0.71), (0.38, 0, 0.7), (0.56, 0, 0.69)], "cog_b"),
        **row(
            ["ngk1", "ngk2", "ngk3", "bas"],
            [(0.68, 0, 0.74), (0.74, 0, 0.8), (0.8, 0, 0.86), (0.86, 0, 0.91)],
            "col3",
        ),
        "collar": ("ngk2", (0.75, 0, 0.76)),
        "tag": ("collar", (0.79, 0, 0.68)),
        "cheek_{}": ("bas", (0.96, 0.05, 0.86)),
        "jaw": ("bas", (0.9, 0, 0.86)),
        "tongue1": ("jaw", (0.96, 0, 0.85)),
        "tongue2": ("tongue1", (1.01, 0, 0.85)),
        "flap1_{}": ("bas", (0.87, 0.07, 0.95)),
        "flap2_{}": ("flap1_{}", (0.88, 0.1, 0.9)),
        **row(
            ["sh_{}", "sh0_{}", "up_{}", "uptw_{}", "lo_{}", "lotw_{}", "pa_{}", "pad_{}", "padtip_{}"],
            [
                (0.54, 0.07, 0.74),
                (0.63, 0.1, 0.56),
                (0.63, 0.1, 0.56),
                (0.585, 0.1, 0.48),
                (0.54, 0.1, 0.4),
                (0.545, 0.1, 0.27),
                (0.55, 0.1, 0.13),
                (0.575, 0.1, 0.045),
                (0.63, 0.1, 0.0),
            ],
            "col3",
        ),
        **row(
            ["th_{}", "thtw_{}", "sn_{}", "sntw_{}", "me_{}", "tt_{}", "tttip_{}"],
            [
                (-0.05, 0.08, 0.62),
                (0.0, 0.1, 0.51),
                (0.05, 0.11, 0.4),
                (-0.05, 0.1, 0.3),
                (-0.15, 0.1, 0.2),
                (-0.11, 0.1, 0.045),
                (-0.05, 0.1, 0.0),
            ],
            "pelv_b",
        ),
        **row(numbered("tl", 5), [(-0.12 - 0.08 * k, 0, 0.7 - 0.05 * k) for k in range(5)], "pelv_b"),
    },
    ends={
        "bas": (1.06, 0, 0.86),
        "jaw": (1.03, 0, 0.8),
        "tongue2": (1.06, 0, 0.84),
        "flap2_{}": (0.89, 0.11, 0.82),
        "tl5": (-0.5, 0, 0.46),
        "cheek_{}": (0.99, 0.06, 0.8),
        "tag": (0.8, 0, 0.65),
    },
    order="YZX",
    turned=5,
)

FOREIGN = {name: replace(plan) for name, plan in F.items()}
