"""Rigs once read wrongly: a stiff bind pose, ears longer than a head, goals and poles, a forefoot ahead.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

import numpy as np
from make_late_rigs import even, hung
from make_rigs import Z_UP, Plan
from make_strange_rigs import numbered


def stiff(plan, tops):
    """Let the legs hang straight down where all rotations are zero; they stand as planned in frame 1.

    ``tops`` are the joints from which they hang; the feet, which are their last joints, are flat in both.
    """
    below = {above: name for name, (above, _) in plan.joints.items() if above}
    rests = dict(plan.rests)
    for top in tops:
        joint = top
        while (child := below.get(joint)) is not None:
            ahead, _, down = np.subtract(plan.joints[child][1], plan.joints[joint][1])
            turn = float(np.degrees(np.arctan2(-ahead, -down)))
            rests |= {joint.format(side): (0.0, turn, 0.0) for side in "ab"}
            joint = child
    return replace(plan, rests=rests)


# A tall browser on long legs; its forelegs are the longer ones.
ALKE = Plan(
    joints={
        "oinarri": (None, (0, 0, 0)),
        "gerri": ("oinarri", (0, 0, 1.52)),
        **hung(numbered("soin", 3), "gerri", [(0.25, 0, 1.57), (0.55, 0, 1.63), (0.85, 0, 1.66)]),
        **hung(numbered("iduri", 3), "soin3", [(1.02, 0, 1.64), (1.2, 0, 1.72), (1.36, 0, 1.8)]),
        "kaskar": ("iduri3", (1.48, 0, 1.9)),
        "matrail": ("kaskar", (1.55, 0, 1.78)),
        "entzun_{}": ("kaskar", (1.46, 0.1, 1.97)),
        "isats": ("gerri", (-0.24, 0, 1.5)),
        **hung(
            ["sorb_{}", "beso_{}", "ukondo_{}", "belaun_{}", "orkoi_{}", "apatx_{}"],
            "soin3",
            [
                (0.88, 0.1, 1.62),
                (1.08, 0.16, 1.24),
                (0.95, 0.16, 1.02),
                (0.98, 0.16, 0.56),
                (0.98, 0.16, 0.2),
                (1.04, 0.16, 0.07),
            ],
        ),
        **hung(
            ["iztar_{}", "berna_{}", "zango_{}", "txurro_{}", "azkazal_{}"],
            "gerri",
            [
                (-0.06, 0.13, 1.4),
                (0.1, 0.16, 1.04),
                (-0.2, 0.15, 0.66),
                (-0.14, 0.15, 0.2),
                (-0.08, 0.15, 0.07),
            ],
        ),
    },
    ends={
        "matrail": (1.86, 0, 1.5),
        "entzun_{}": (1.4, 0.2, 2.1),
        "isats": (-0.3, 0, 1.4),
        "apatx_{}": (1.1, 0.16, 0),
        "azkazal_{}": (-0.02, 0.15, 0),
    },
    axes=Z_UP,
    places="replace",
    with_places=("gerri",),
)

# A crouching leaper; its ears are longer than its head, on which nothing but the jaw is in the middle.
ERBI = Plan(
    joints={
        "pisu": (None, (0.02, 0, 0.15)),
        "mokor": ("pisu", (-0.05, 0, 0.16)),
        "txori": ("mokor", (-0.13, 0, 0.15)),
        **hung(
            numbered("hezur", 4),
            "pisu",
            [(0.0, 0, 0.19), (0.045, 0, 0.195), (0.09, 0, 0.19), (0.125, 0, 0.18)],
        ),
        **hung(numbered("zintzur", 2), "hezur4", [(0.16, 0, 0.18), (0.18, 0, 0.195)]),
        "buru": ("zintzur2", (0.2, 0, 0.215)),
        "baraila": ("buru", (0.212, 0, 0.2)),
        **hung(
            [f"{name}_{{}}" for name in numbered("belarri", 4)],
            "buru",
            even((0.195, 0.014, 0.24), (0.16, 0.026, 0.325), 4),
        ),
        **hung(
            ["sorbal_{}", "goi_{}", "behe_{}", "esku_{}", "hatz_{}"],
            "hezur4",
            [
                (0.13, 0.03, 0.18),
                (0.168, 0.035, 0.125),
                (0.105, 0.035, 0.085),
                (0.143, 0.03, 0.022),
                (0.163, 0.03, 0.008),
            ],
        ),
        **hung(
            ["izter_{}", "zanko_{}", "oin_{}", "behatz_{}"],
            "mokor",
            [(-0.06, 0.03, 0.15), (0.03, 0.045, 0.092), (-0.085, 0.04, 0.02), (0.0, 0.04, 0.008)],
        ),
    },
    ends={
        "txori": (-0.15, 0, 0.17),
        "baraila": (0.262, 0, 0.185),
        "belarri4_{}": (0.148, 0.03, 0.352),
        "hatz_{}": (0.183, 0.03, 0),
        "behatz_{}": (0.03, 0.04, 0),
    },
    unit="in",
    order="YXZ",
)

FORE = {
    "besaburu_{}": (0.24, 0.085, 0.62),
    "besagain_{}": (0.35, 0.085, 0.47),
    "ukaldi_{}": (0.24, 0.085, 0.33),
    "eskumutur_{}": (0.265, 0.085, 0.1),
    "atzapar_{}": (0.29, 0.085, 0.032),
}
HIND = {
    "aldaka_{}": (-0.26, 0.08, 0.54),
    "belaunburu_{}": (-0.15, 0.085, 0.34),
    "orpo_{}": (-0.36, 0.08, 0.18),
    "hankapar_{}": (-0.31, 0.08, 0.032),
}
TOES = {"atzapar_{}": (0.335, 0.085, 0), "hankapar_{}": (-0.25, 0.08, 0)}
KATUZAR = Plan(
    joints={
        "jabe": (None, (0, 0, 0)),
        "erdi": ("jabe", (0, 0, 0.5)),
        "pelbis": ("erdi", (-0.25, 0, 0.58)),
        **hung(numbered("bizkar", 3), "erdi", [(-0.07, 0, 0.6), (0.07, 0, 0.59), (0.19, 0, 0.58)]),
        **hung(numbered("lepo", 2), "bizkar3", [(0.29, 0, 0.6), (0.35, 0, 0.64)]),
        "burua": ("lepo2", (0.4, 0, 0.67)),
        "beheko": ("burua", (0.42, 0, 0.64)),
        "puntta_{}": ("burua", (0.395, 0.045, 0.74)),
        **hung(numbered("buztan", 3), "pelbis", even((-0.35, 0, 0.57), (-0.5, 0, 0.42), 3)),
        **hung(list(FORE), "bizkar3", list(FORE.values())),
        **hung(list(HIND), "pelbis", list(HIND.values())),
    },
    ends={
        "burua": (0.54, 0, 0.64),
        "beheko": (0.51, 0, 0.61),
        "puntta_{}": (0.39, 0.06, 0.8),
        "buztan3": (-0.56, 0, 0.35),
        **TOES,
    },
    unit="m",
    axes=Z_UP,
    order="XYZ",
    places="replace",
    with_places=("erdi",),
)
GOALS = {  # places of the goals of the left feet
    "at the toes": list(TOES.values()),
    "at the paws": [FORE["atzapar_{}"], HIND["hankapar_{}"]],
    "at the wrists and hocks": [FORE["eskumutur_{}"], HIND["orpo_{}"]],
    "on the ground under the wrists": [(0.265, 0.085, 0), (-0.36, 0.08, 0)],
}

# A barrel on short legs, three times as wide for its height as any cat.
UPEL = Plan(
    joints={
        "pisua": (None, (0, 0, 0.95)),
        "mokorra": ("pisua", (-0.6, 0, 1.12)),
        **hung(numbered("bizkarra", 3), "pisua", [(0.05, 0, 1.14), (0.3, 0, 1.14), (0.55, 0, 1.1)]),
        **hung(numbered("lepoa", 2), "bizkarra3", [(0.76, 0, 1.06), (0.92, 0, 1.04)]),
        "burusoil": ("lepoa2", (1.08, 0, 1.05)),
        "masaila": ("burusoil", (1.15, 0, 0.88)),
        "entzule_{}": ("burusoil", (1.1, 0.15, 1.26)),
        **hung(numbered("isatsa", 2), "mokorra", [(-1.0, 0, 1.08), (-1.04, 0, 0.92)]),
        **hung(
            ["palan_{}", "goialde_{}", "behealde_{}", "eskua_{}"],
            "bizkarra3",
            [(0.58, 0.32, 1.25), (0.74, 0.34, 0.84), (0.6, 0.34, 0.6), (0.62, 0.34, 0.28)],
        ),
        "hatzak_{}": ("eskua_{}", (0.65, 0.34, 0.1)),
        **hung(
            ["izterra_{}", "zangoa_{}", "oina_{}", "behatzak_{}"],
            "mokorra",
            [(-0.66, 0.32, 1.04), (-0.52, 0.33, 0.65), (-0.73, 0.33, 0.35), (-0.69, 0.33, 0.1)],
        ),
    },
    ends={
        "burusoil": (1.7, 0, 0.8),
        "masaila": (1.62, 0, 0.68),
        "entzule_{}": (1.09, 0.19, 1.36),
        "isatsa2": (-1.06, 0, 0.76),
        "hatzak_{}": (0.75, 0.34, 0),
        "behatzak_{}": (-0.59, 0.33, 0),
    },
    order="XYZ",
)


def with_goals(where, *, can_move=True, poles=True):
    """Put goals of the feet under the master, and poles behind the elbows and before the stifles."""
    joints = dict(KATUZAR.joints)
    for name, place in zip(("helmuga_{}", "xede_{}"), GOALS[where], strict=True):
        joints[name] = ("jabe", place)
    if poles:
        joints["atzean_{}"] = ("jabe", tuple(np.add(FORE["ukaldi_{}"], (-0.4, 0, 0))))
        joints["aurrean_{}"] = ("jabe", tuple(np.add(HIND["belaunburu_{}"], (0.4, 0, 0))))
    goals = tuple(f"{name}_{side}" for name in ("helmuga", "xede") for side in "ab") if can_move else ()
    return replace(KATUZAR, joints=joints, with_places=("erdi", *goals))


def lame():
    """Put the left foreleg a centimetre ahead of the right one, from the elbow down."""
    joints, ends = dict(KATUZAR.joints), dict(KATUZAR.ends)
    for name in list(FORE)[2:]:
        above, place = joints.pop(name)
        for side, flip, ahead in (("a", 1, 0.01), ("b", -1, 0.0)):
            own = (place[0] + ahead, flip * place[1], place[2])
            joints[name.format(side)] = (above.format(side), own)
    x, y, z = ends.pop("atzapar_{}")
    ends |= {"atzapar_a": (x + 0.01, y, z), "atzapar_b": (x, -y, z)}
    return replace(KATUZAR, joints=joints, ends=ends)


HARD = {
    "alke": stiff(ALKE, ["beso_{}", "iztar_{}"]),
    "erbi": ERBI,
    "katuzar": KATUZAR,
    "lame": lame(),
    "upel": UPEL,
}
