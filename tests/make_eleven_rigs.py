"""Invented rigs of company: a mount with its rider, three heads, a tail on the ground, groups within groups.

Places are (forward, left, up) in metres; animals, proportions and names are our own inventions.
"""

from dataclasses import replace

from make_late_rigs import even, hung
from make_rigs import X_UP, Z_UP, Plan, base
from make_strange_rigs import numbered

ELEVEN = {}


def mounted():
    """A grazing animal with a rider astride: spine, head, two arms and two legs that hang down beside it."""
    plan = base()
    joints = {
        **plan.joints,
        "seat": ("girth", (0.5, 0, 1.5)),
        **hung(["ylz", "ylm", "ylk"], "seat", [(0.48, 0, 1.58), (0.47, 0, 1.78), (0.47, 0, 2.0)]),
        **hung(["ylh", "ylt"], "ylk", [(0.47, 0, 2.08), (0.49, 0, 2.2)]),
        **hung(
            ["rq_{}", "rw_{}", "re_{}", "rt_{}"],
            "ylk",
            [(0.47, 0.07, 1.99), (0.47, 0.2, 1.98), (0.45, 0.26, 1.7), (0.66, 0.16, 1.55)],
        ),
        **hung(
            ["rz_{}", "ru_{}", "ri_{}", "ro_{}"],
            "ylz",
            [(0.48, 0.12, 1.53), (0.8, 0.33, 1.3), (0.6, 0.36, 0.9), (0.72, 0.37, 0.84)],
        ),
    }
    ends = {**plan.ends, "ylt": (0.5, 0, 2.36), "rt_{}": (0.74, 0.14, 1.55), "ro_{}": (0.79, 0.37, 0.84)}
    return replace(plan, joints=joints, ends=ends, order="YXZ", axes=Z_UP, unit="cm")


ELEVEN["mounted"] = mounted()


def three_headed():
    """A watchdog with three necks and heads alike, each with a jaw and ears, and a tail like a whip."""
    joints = {
        "taz": (None, (0, 0, 0.66)),
        **hung(numbered("bil", 3), "taz", even((0.13, 0, 0.68), (0.42, 0, 0.68), 3)),
        "duse": ("bil3", (0.55, 0, 0.64)),
        **hung(
            ["lop_{}", "ruk_{}", "lok_{}", "zap_{}", "prs_{}"],
            "duse",
            [
                (0.52, 0.06, 0.7),
                (0.62, 0.09, 0.52),
                (0.52, 0.1, 0.37),
                (0.53, 0.1, 0.13),
                (0.56, 0.1, 0.045),
            ],
        ),
        **hung(
            ["ste_{}", "hol_{}", "pat_{}", "spi_{}"],
            "taz",
            [(-0.06, 0.08, 0.6), (0.04, 0.1, 0.37), (-0.14, 0.09, 0.17), (-0.1, 0.09, 0.045)],
        ),
        **hung(numbered("bic", 5), "taz", even((-0.12, 0, 0.66), (-0.5, 0, 0.42), 5)),
        **hung(["krkm1", "krkm2", "hlavam"], "duse", [(0.66, 0, 0.72), (0.74, 0, 0.79), (0.81, 0, 0.84)]),
        **hung(
            ["krks1_{}", "krks2_{}", "hlavas_{}"],
            "duse",
            [(0.64, 0.08, 0.71), (0.71, 0.15, 0.77), (0.78, 0.21, 0.81)],
        ),
        "celm": ("hlavam", (0.83, 0, 0.81)),
        "cels_{}": ("hlavas_{}", (0.8, 0.21, 0.78)),
        "ucho_{}": ("hlavam", (0.8, 0.05, 0.9)),
        "uchov_{}": ("hlavas_{}", (0.77, 0.26, 0.87)),
        "uchon_{}": ("hlavas_{}", (0.77, 0.17, 0.87)),
    }
    ends = {
        "prs_{}": (0.61, 0.1, 0.0),
        "spi_{}": (-0.04, 0.09, 0.0),
        "bic5": (-0.6, 0, 0.38),
        "celm": (1.02, 0, 0.78),
        "cels_{}": (0.98, 0.21, 0.75),
        "ucho_{}": (0.79, 0.06, 0.98),
        "uchov_{}": (0.76, 0.28, 0.95),
        "uchon_{}": (0.76, 0.16, 0.95),
    }
    return Plan(joints=joints, ends=ends, unit="m", axes=((0, 0, 1), (1, 0, 0), (0, 1, 0)), order="XYZ")


ELEVEN["three_headed"] = three_headed()


def dragging():
    """A giant on columns: a neck of fourteen joints, a tail of twenty that ends on the ground."""
    joints = {
        "000": (None, (0, 0, 4.0)),
        **hung([f"10{k}" for k in range(4)], "000", even((0.9, 0, 4.15), (3.2, 0, 4.0), 4)),
        "200": ("103", (3.9, 0, 3.7)),
        **hung([f"3{k:02}" for k in range(14)], "200", even((4.6, 0, 3.9), (10.2, 0, 7.6), 14)),
        "400": ("313", (10.7, 0, 7.8)),
        "401": ("400", (10.8, 0, 7.65)),
        **hung([f"5{k:02}" for k in range(20)], "000", even((-0.9, 0, 3.8), (-12.6, 0, 0.1), 20)),
        **hung(
            ["6_{}", "61_{}", "62_{}", "63_{}"],
            "200",
            [(3.8, 0.7, 3.1), (3.6, 0.85, 1.7), (3.75, 0.85, 0.45), (3.9, 0.85, 0.25)],
        ),
        **hung(
            ["7_{}", "71_{}", "72_{}", "73_{}"],
            "000",
            [(0.0, 0.6, 3.5), (0.35, 0.75, 1.9), (0.0, 0.75, 0.5), (0.15, 0.75, 0.25)],
        ),
    }
    ends = {
        "519": (-13.4, 0, 0.0),
        "401": (11.5, 0, 7.4),
        "63_{}": (4.25, 0.85, 0.0),
        "73_{}": (0.55, 0.75, 0.0),
    }
    return Plan(joints=joints, ends=ends, unit="m", axes=X_UP, order="ZYX")


ELEVEN["dragging"] = dragging()


def grouped(plan, groups=("pre", "ctl", "sdk")):
    """Put groups over every joint at its place, one in the other; over the first joint there are none."""
    joints = {}
    for name, (above, at) in plan.joints.items():
        last = above
        if above is not None:
            for group in groups:
                joints[f"{group}.{name}"] = (last, at)
                last = f"{group}.{name}"
        joints[name] = (last, at)
    return replace(plan, joints=joints)


def muscled(plan, bones):
    """Hang two bulges on every bone named, to either side of its middle."""
    joints, ends = dict(plan.joints), dict(plan.ends)
    for name, below in bones:
        (_, a), (_, b) = plan.joints[name], plan.joints[below]
        middle = [(u + v) / 2.0 for u, v in zip(a, b, strict=True)]
        for k, ahead in enumerate((0.07, -0.08)):
            joints[f"bulge{k}.{name}"] = (name, (middle[0] + ahead, middle[1], middle[2]))
            ends[f"bulge{k}.{name}"] = (middle[0] + 1.3 * ahead, middle[1], middle[2] - 0.02)
    return replace(plan, joints=joints, ends=ends)


SCRIPT = dict(zip("abcdefghijklmnopqrstuvwxyz", "ეოპრაბცდფგჰიჯკლმნქშჩხტთსუვ", strict=True))


def in_script(plan):
    """Write every name in letters that hold no word of any language."""

    def of(name):
        return None if name is None else "".join(SCRIPT.get(letter, letter) for letter in name)

    return replace(
        plan,
        joints={of(name): (of(above), at) for name, (above, at) in plan.joints.items()},
        ends={of(name): at for name, at in plan.ends.items()},
    )


BONES = (
    ("point_{}", "bow_{}"),
    ("bow_{}", "knee_{}"),
    ("rump_{}", "flank_{}"),
    ("flank_{}", "heelbone_{}"),
)
ELEVEN["grouped"] = replace(
    in_script(grouped(muscled(base(), BONES))), unit="mm", axes=((0, 0, -1), (-1, 0, 0), (0, 1, 0)), turned=5
)
