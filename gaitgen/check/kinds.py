"""Kinds of findings, in the order of mending."""

# Kinds in the order in which they are mended: what stands first may be why what stands later is there.
MISREAD = (
    "clip lies on its side",
    "root in another unit",
    "root axes swapped",
    "angles in radians",
    "rotation order",
    "legs swapped",
    "leg out of time",
    "end out of time",
    "scaled curves",
    "counter-rotated",
    "rounded angles",
    "mirrored",
    "reversed in time",
)
TEMPO = ("retimed",)
FILE = (
    "on twos",
    "on threes",
    "on fours",
    "slipped decimal point",
    "flipped rotation",
    "frames swapped",
    "frames missing",
    "repeated frame",
    "stuck",
    "frozen",
)
ROOT = ("root keys missing",)
RIG = ("bone unlike other side",)
SHAKE = ("jitter",)
GROUND = ("body above the ground", "body under the ground")
BODY = ("crabbing", "body leans", "hips out of turn", "body out of turn", "body moves over planted feet")
JOINT = ("rotation jump", "loop not closing", "pop", "speed jumps at the loop")
POPS = ("pop", "speed jumps at the loop")
UNSEEN = ("no whole stride", "no stance")  # what keeps a gait from being seen
GAIT = (
    *UNSEEN,
    "contact off plan",
    "stance off plan",
    "contact order",
    "lag",
    "asymmetry",
    "duty factor",
)
TRUNK = (
    "body on rails",
    "hips and chest out of time",
    "spine bending too much",
    "head with the wrong end",
    "impossible support force",
    "root drift",
    "tail does not trail",
)
RISE = ("hips and chest out of time", "head with the wrong end", "impossible support force")
FOOT = ("slide", "drift", "slip", "sole under ground", "sole floating")
LEG = (
    "unlike other side",
    "swing unlike other side",
    "foreleg bending",
    "leg locking",
    "stifle and hock parting",
    "joint out of range",
)
CRAFT = (
    "leg gives under weight",
    "joint locked at lift-off",
    "foot cocks up",
    "joint turns back too often",
    "head on rails",
)
KINDS = frozenset(
    (*MISREAD, *TEMPO, *ROOT, *FILE, *RIG, *SHAKE, *GROUND, *JOINT, *BODY, *GAIT, *TRUNK, *FOOT, *LEG, *CRAFT)
)
HABITS = frozenset({*FOOT, *LEG, *CRAFT} - {"unlike other side"})
SHUDDERS = "joint turns back too often"
