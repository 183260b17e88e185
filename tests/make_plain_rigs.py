"""Ten rigs from a plain script that knows nothing of the others: places in metres, right, up and ahead.

A cow in feet with a bell and handles for its feet, a wolf in decimetres with a tongue and eyelids, a
rhinoceros that faces askew, a camel with a saddle, reins and a hump, a fox of length 1, a sprawling tortoise,
a llama of few joints, a horse with a rider and his lance, a hyena of numbers with two toes, and a moose with
antlers and a beard. Names are in nine languages.
"""


def minus(a, b):
    return tuple(p - q for p, q in zip(a, b, strict=True))


class Rig:
    """One rig: name -> (parent, place); ``left``, ``up`` and ``ahead`` are directions in the file."""

    def __init__(self, metres, left, up, ahead, order="ZXY", *, places=False):
        self.metres, self.order, self.places = metres, order, places
        self.axes = left, up, ahead
        self.joints, self.ends = {}, {}

    def add(self, name, parent, *place):
        self.joints[name] = (parent, place)

    def chain(self, names, parent, points):
        for name, place in zip(names, points, strict=True):
            self.add(name, parent, *place)
            parent = name

    def both(self, names, parent, points, sides):
        for side, sign in zip(sides, (-1.0, 1.0), strict=True):  # the left is at minus x
            above = parent.format(side)
            for name, (x, y, z) in zip(names, points, strict=True):
                self.add(name.format(side), above, sign * x, y, z)
                above = name.format(side)

    def end(self, name, *place):
        self.ends[name] = place

    def both_ends(self, name, x, y, z, sides):
        for side, sign in zip(sides, (-1.0, 1.0), strict=True):
            self.end(name.format(side), sign * x, y, z)

    def in_file(self, place):
        x, y, z = place
        left, up, ahead = self.axes
        return [(-x * a + y * b + z * c) / self.metres for a, b, c in zip(left, up, ahead, strict=True)]

    def text(self):
        """Write the rig as BVH with one frame, in which it stands."""
        lines, row = ["HIERARCHY"], []

        def walk(name, depth):
            parent, place = self.joints[name]
            offset = self.in_file(place if parent is None else minus(place, self.joints[parent][1]))
            with_places = parent is None or self.places
            words = ["Xposition", "Yposition", "Zposition"] if with_places else []
            words += [f"{axis}rotation" for axis in self.order]
            tab = "  " * depth
            lines.append(f"{tab}{'ROOT' if parent is None else 'JOINT'} {name}")
            lines.append(f"{tab}{{")
            lines.append(f"{tab}  OFFSET " + " ".join(f"{value:.5f}" for value in offset))
            lines.append(f"{tab}  CHANNELS {len(words)} {' '.join(words)}")
            row.extend([*(offset if with_places else ()), 0.0, 0.0, 0.0])
            below = [child for child, (above, _) in self.joints.items() if above == name]
            for child in below:
                walk(child, depth + 1)
            if not below:
                end = self.in_file(minus(self.ends[name], place) if name in self.ends else (0.0, 0.0, 0.02))
                lines.append(f"{tab}  End Site")
                lines.append(f"{tab}  {{")
                lines.append(f"{tab}    OFFSET " + " ".join(f"{value:.5f}" for value in end))
                lines.append(f"{tab}  }}")
            lines.append(f"{tab}}}")

        walk(next(iter(self.joints)), 0)
        lines += ["MOTION", "Frames: 1", "Frame Time: 0.0333333", " ".join(f"{value:.5f}" for value in row)]
        return "\n".join(lines) + "\n"


PLAIN = {}
X, Y, Z = (1, 0, 0), (0, 1, 0), (0, 0, 1)
# 1 cow in feet, facing -x, bell, control handles for the feet as children of root
LR = ("izq", "der")
r = PLAIN["vaca"] = Rig(0.3048, Z, Y, (-1, 0, 0), "XYZ")
r.add("raiz", None, 0, 0, 0)
r.add("cadera", "raiz", 0, 1.30, -0.55)
r.chain(
    ["columna1", "columna2", "columna3", "cruz"],
    "cadera",
    [(0, 1.33, -0.3), (0, 1.30, 0), (0, 1.27, 0.3), (0, 1.30, 0.55)],
)
r.chain(["cuello_bajo", "cuello_alto"], "cruz", [(0, 1.25, 0.72), (0, 1.30, 0.95)])
r.add("cabeza", "cuello_alto", 0, 1.36, 1.15)
r.add("mandibula", "cabeza", 0, 1.27, 1.2)
r.end("mandibula", 0, 0.98, 1.5)
r.add("hocico", "cabeza", 0, 1.05, 1.52)
r.both(["oreja_{}"], "cabeza", [(0.1, 1.42, 1.13)], LR)
r.both_ends("oreja_{}", 0.28, 1.4, 1.1, LR)
r.both(["cuerno_{}"], "cabeza", [(0.07, 1.48, 1.14)], LR)
r.both_ends("cuerno_{}", 0.22, 1.62, 1.2, LR)
r.chain(["correa", "cencerro"], "cuello_bajo", [(0, 1.12, 0.8), (0, 0.98, 0.8)])
r.end("cencerro", 0, 0.9, 0.8)
r.chain(
    ["cola1", "cola2", "cola3", "cola4"],
    "cadera",
    [(0, 1.32, -0.72), (0, 1.1, -0.78), (0, 0.85, -0.78), (0, 0.6, -0.78)],
)
r.end("cola4", 0, 0.45, -0.78)
r.chain(["ubre"], "cadera", [(0, 0.8, -0.45)])
r.end("ubre", 0, 0.6, -0.45)
r.both(
    ["escapula_{}", "humero_{}", "radio_{}", "cana_{}", "cuartilla_{}", "pezuna_{}"],
    "cruz",
    [
        (0.12, 1.28, 0.5),
        (0.2, 0.95, 0.68),
        (0.19, 0.78, 0.52),
        (0.17, 0.42, 0.53),
        (0.17, 0.14, 0.53),
        (0.17, 0.07, 0.57),
    ],
    LR,
)
r.both_ends("pezuna_{}", 0.17, 0, 0.63, LR)
r.both(
    ["femur_{}", "tibia_{}", "metatarso_{}", "cuartilla_tr_{}", "pezuna_tr_{}"],
    "cadera",
    [(0.2, 1.12, -0.62), (0.25, 0.8, -0.45), (0.2, 0.53, -0.73), (0.18, 0.15, -0.72), (0.18, 0.07, -0.68)],
    LR,
)
r.both_ends("pezuna_tr_{}", 0.18, 0, -0.61, LR)
for f, x, z in (("mano", 0.17, 0.57), ("pie", 0.18, -0.68)):
    r.both([f"ctrl_{f}_{{}}"], "raiz", [(x, 0, z)], LR)
# 2 wolf, decimetres, z up, facing -y, slightly spread, tongue, eyes, eyelids
LR = ("hidari", "migi")
r = PLAIN["okami"] = Rig(0.1, X, Z, (0, -1, 0), "YXZ", places=True)
r.add("koshi", None, 0, 0.68, -0.3)
r.chain(["sebone_1", "sebone_2", "sebone_3"], "koshi", [(0, 0.70, -0.15), (0, 0.70, 0.08), (0, 0.69, 0.3)])
r.chain(["kubi_1", "kubi_2"], "sebone_3", [(0, 0.73, 0.42), (0, 0.80, 0.52)])
r.add("atama", "kubi_2", 0, 0.86, 0.60)
r.add("ago", "atama", 0, 0.82, 0.63)
r.chain(["shita_1", "shita_2"], "ago", [(0, 0.79, 0.7), (0, 0.77, 0.76)])
r.end("shita_2", 0, 0.76, 0.8)
r.add("hana", "atama", 0, 0.81, 0.83)
r.both(["mimi_{}"], "atama", [(0.05, 0.92, 0.58)], LR)
r.both_ends("mimi_{}", 0.06, 1.02, 0.57, LR)
r.both(["me_{}"], "atama", [(0.04, 0.88, 0.67)], LR)
r.both(["mabuta_{}"], "atama", [(0.04, 0.885, 0.675)], LR)
r.chain(
    [f"shippo_{i}" for i in range(1, 7)],
    "koshi",
    [(0, 0.68 - 0.06 * i, -0.36 - 0.06 * i) for i in range(1, 7)],
)
r.end("shippo_6", 0, 0.27, -0.78)
r.both(
    ["kata_{}", "ude_{}", "hiji_{}", "tekubi_{}", "yubi_{}"],
    "sebone_3",
    [(0.05, 0.70, 0.28), (0.10, 0.52, 0.38), (0.12, 0.40, 0.28), (0.15, 0.11, 0.29), (0.15, 0.035, 0.32)],
    LR,
)
r.both_ends("yubi_{}", 0.15, 0, 0.38, LR)
r.both(
    ["momo_{}", "sune_{}", "kakato_{}", "tsumasaki_{}"],
    "koshi",
    [(0.07, 0.62, -0.31), (0.12, 0.42, -0.22), (0.14, 0.19, -0.38), (0.15, 0.035, -0.34)],
    LR,
)
r.both_ends("tsumasaki_{}", 0.15, 0, -0.27, LR)
# 3 rhino mm, master on ground + body, facing 30 deg
LR = ("li", "re")
COS, SIN = 0.75**0.5, 0.5
r = PLAIN["nashorn"] = Rig(0.001, (COS, 0, -SIN), Y, (SIN, 0, COS), "ZYX")
r.add("Gesamt", None, 0, 0, 0)
r.add("Koerper", "Gesamt", 0, 1.2, -0.1)
r.add("Becken", "Koerper", 0, 1.25, -0.75)
r.chain(
    ["Ruecken_01", "Ruecken_02", "Brustkorb"], "Koerper", [(0, 1.3, 0.15), (0, 1.35, 0.45), (0, 1.3, 0.75)]
)
r.chain(["Hals_01", "Hals_02"], "Brustkorb", [(0, 1.2, 1.0), (0, 1.12, 1.2)])
r.add("Kopf", "Hals_02", 0, 1.1, 1.4)
r.add("Horn_gross", "Kopf", 0, 0.95, 1.95)
r.end("Horn_gross", 0, 1.45, 2.1)
r.add("Horn_klein", "Kopf", 0, 1.1, 1.75)
r.end("Horn_klein", 0, 1.3, 1.78)
r.add("Kiefer", "Kopf", 0, 0.95, 1.5)
r.end("Kiefer", 0, 0.7, 1.95)
r.both(["Ohr_{}"], "Kopf", [(0.12, 1.3, 1.35)], LR)
r.both_ends("Ohr_{}", 0.16, 1.48, 1.33, LR)
r.chain(
    ["Schwanz_01", "Schwanz_02", "Schwanz_03"], "Becken", [(0, 1.2, -1.1), (0, 1.0, -1.15), (0, 0.8, -1.15)]
)
r.end("Schwanz_03", 0, 0.65, -1.15)
r.both(
    ["Schulter_{}", "Oberarm_{}", "Unterarm_{}", "Vorderfuss_{}", "Zehe_v_{}"],
    "Brustkorb",
    [(0.2, 1.3, 0.65), (0.32, 0.95, 0.82), (0.33, 0.68, 0.62), (0.32, 0.22, 0.64), (0.32, 0.08, 0.72)],
    LR,
)
r.both_ends("Zehe_v_{}", 0.32, 0, 0.85, LR)
r.both(
    ["Huefte_{}", "Knie_{}", "Ferse_{}", "Zehe_h_{}"],
    "Becken",
    [(0.28, 1.1, -0.85), (0.34, 0.7, -0.65), (0.32, 0.33, -0.9), (0.31, 0.08, -0.82)],
    LR,
)
r.both_ends("Zehe_h_{}", 0.31, 0, -0.68, LR)
# 4 dromedary-like, saddle, reins, hump chain; metres, facing +x y up
LR = ("g", "d")
r = PLAIN["chameau"] = Rig(1.0, (0, 0, -1), Y, X, "ZXY")
r.add("bassin", None, 0, 1.55, -0.55)
r.chain(
    ["dos_a", "dos_b", "dos_c", "dos_d"],
    "bassin",
    [(0, 1.62, -0.3), (0, 1.66, 0), (0, 1.6, 0.3), (0, 1.5, 0.6)],
)
r.chain(["bosse_a", "bosse_b"], "dos_b", [(0, 1.85, 0), (0, 2.0, -0.02)])
r.end("bosse_b", 0, 2.1, -0.03)
r.chain(["selle"], "dos_b", [(0, 1.95, 0.15)])
r.both(["etrivier_{}", "etrier_{}"], "selle", [(0.3, 1.6, 0.15), (0.33, 1.1, 0.15)], LR)
r.both_ends("etrier_{}", 0.33, 1.0, 0.15, LR)
r.chain(
    [f"cou_{i}" for i in range(1, 7)],
    "dos_d",
    [(0, 1.35, 0.85), (0, 1.25, 1.1), (0, 1.3, 1.35), (0, 1.5, 1.5), (0, 1.75, 1.55), (0, 1.95, 1.58)],
)
r.add("tete", "cou_6", 0, 2.05, 1.62)
r.add("levre", "tete", 0, 1.92, 2.05)
r.end("levre", 0, 1.9, 2.1)
r.both(["oreille_{}"], "tete", [(0.07, 2.12, 1.6)], LR)
r.both_ends("oreille_{}", 0.09, 2.2, 1.58, LR)
r.both(["rene_{}_1", "rene_{}_2"], "tete", [(0.1, 1.95, 1.9), (0.2, 1.9, 1.0)], LR)
r.chain(["queue_1", "queue_2", "queue_3"], "bassin", [(0, 1.5, -0.85), (0, 1.25, -0.9), (0, 1.0, -0.9)])
r.end("queue_3", 0, 0.8, -0.9)
r.both(
    ["omoplate_{}", "bras_{}", "avantbras_{}", "canon_{}", "paturon_{}", "coussin_{}"],
    "dos_d",
    [
        (0.12, 1.5, 0.5),
        (0.2, 1.22, 0.68),
        (0.2, 1.05, 0.52),
        (0.18, 0.52, 0.55),
        (0.18, 0.14, 0.55),
        (0.18, 0.05, 0.62),
    ],
    LR,
)
r.both_ends("coussin_{}", 0.18, 0, 0.74, LR)
r.both(
    ["cuisse_{}", "jambe_{}", "canon_arr_{}", "paturon_arr_{}", "coussin_arr_{}"],
    "bassin",
    [(0.15, 1.42, -0.6), (0.2, 0.98, -0.42), (0.18, 0.6, -0.7), (0.17, 0.14, -0.68), (0.17, 0.05, -0.6)],
    LR,
)
r.both_ends("coussin_arr_{}", 0.17, 0, -0.48, LR)
# 5 fox, whose own length is the unit
LR = ("L", "R")
r = PLAIN["lisica"] = Rig(1.05, Y, Z, X, "XZY")
r.add("zdjelica", None, 0, 0.36, -0.22)
r.chain(
    ["kralj_1", "kralj_2", "kralj_3", "kralj_4"],
    "zdjelica",
    [(0, 0.38, -0.12), (0, 0.38, 0.0), (0, 0.37, 0.12), (0, 0.36, 0.2)],
)
r.chain(["vrat_1", "vrat_2"], "kralj_4", [(0, 0.39, 0.27), (0, 0.43, 0.33)])
r.add("glava", "vrat_2", 0, 0.46, 0.37)
r.add("celjust", "glava", 0, 0.44, 0.39)
r.end("celjust", 0, 0.41, 0.5)
r.both(["uho{}"], "glava", [(0.03, 0.5, 0.36)], LR)
r.both_ends("uho{}", 0.045, 0.58, 0.35, LR)
r.chain(
    [f"rep_{i}" for i in range(1, 9)],
    "zdjelica",
    [(0, 0.36 - 0.03 * i, -0.24 - 0.045 * i) for i in range(1, 9)],
)
r.end("rep_8", 0, 0.1, -0.64)
r.both(
    ["lopatica{}", "nadlaktica{}", "podlaktica{}", "saka{}", "prst{}"],
    "kralj_4",
    [(0.03, 0.365, 0.17), (0.05, 0.27, 0.22), (0.055, 0.2, 0.16), (0.055, 0.06, 0.165), (0.055, 0.02, 0.18)],
    LR,
)
r.both_ends("prst{}", 0.055, 0, 0.21, LR)
r.both(
    ["bedro{}", "potkoljenica{}", "stopalo{}", "nozniprst{}"],
    "zdjelica",
    [(0.04, 0.33, -0.23), (0.055, 0.22, -0.17), (0.055, 0.1, -0.27), (0.055, 0.02, -0.25)],
    LR,
)
r.both_ends("nozniprst{}", 0.055, 0, -0.21, LR)
# 6 tortoise that sprawls, with a shell, cm
LR = ("esq", "dir")
r = PLAIN["jabuti"] = Rig(0.01, X, Y, Z, "ZXY")
r.add("centro", None, 0, 0.2, 0)
r.add("casco", "centro", 0, 0.3, 0)
r.end("casco", 0, 0.42, 0)
r.add("bacia", "centro", 0, 0.2, -0.18)
r.add("peito", "centro", 0, 0.2, 0.18)
r.chain(["pesc1", "pesc2", "pesc3"], "peito", [(0, 0.2, 0.26), (0, 0.22, 0.33), (0, 0.25, 0.39)])
r.add("cabeca", "pesc3", 0, 0.27, 0.43)
r.end("cabeca", 0, 0.26, 0.52)
r.chain(["rabo"], "bacia", [(0, 0.17, -0.27)])
r.end("rabo", 0, 0.13, -0.33)
r.both(
    ["ombro_{}", "cotovelo_{}", "pulso_{}", "unha_{}"],
    "peito",
    [(0.08, 0.19, 0.17), (0.2, 0.17, 0.2), (0.24, 0.06, 0.2), (0.24, 0.02, 0.23)],
    LR,
)
r.both_ends("unha_{}", 0.24, 0, 0.27, LR)
r.both(
    ["quadril_{}", "joelho_{}", "tornozelo_{}", "unhatr_{}"],
    "bacia",
    [(0.08, 0.18, -0.17), (0.2, 0.17, -0.14), (0.23, 0.06, -0.2), (0.23, 0.02, -0.17)],
    LR,
)
r.both_ends("unhatr_{}", 0.23, 0, -0.13, LR)
# 7 llama, inches, few leg joints, no tail, no ears
r = PLAIN["ljama"] = Rig(0.0254, Y, Z, X, "ZYX")
LR = ("sx", "dx")
r.add("pelvi", None, 0, 0.98, -0.4)
r.chain(["dorso", "torace"], "pelvi", [(0, 1.02, 0), (0, 0.98, 0.35)])
r.chain(
    [f"collo{i}" for i in range(1, 6)],
    "torace",
    [(0, 1.08, 0.5), (0, 1.22, 0.56), (0, 1.36, 0.6), (0, 1.5, 0.62), (0, 1.62, 0.64)],
)
r.add("testa", "collo5", 0, 1.7, 0.67)
r.end("testa", 0, 1.62, 0.9)
r.both(
    ["braccio_{}", "avambraccio_{}", "ginocchio_{}"],
    "torace",
    [(0.1, 0.85, 0.42), (0.11, 0.68, 0.33), (0.11, 0.36, 0.35)],
    LR,
)
r.both_ends("ginocchio_{}", 0.11, 0, 0.4, LR)
r.both(
    ["coscia_{}", "gamba_{}", "garretto_{}"],
    "pelvi",
    [(0.1, 0.9, -0.42), (0.12, 0.62, -0.3), (0.11, 0.38, -0.48)],
    LR,
)
r.both_ends("garretto_{}", 0.11, 0, -0.4, LR)
# 8 horse with a rider and lance, cm
LR = ("Left", "Right")
r = PLAIN["ritter"] = Rig(0.01, X, Y, Z, "ZXY")
r.add("World", None, 0, 0, 0)
r.add("Hips", "World", 0, 1.35, -0.45)
r.chain(
    ["Spine0", "Spine1", "Spine2", "Withers"],
    "Hips",
    [(0, 1.38, -0.2), (0, 1.36, 0.1), (0, 1.38, 0.35), (0, 1.42, 0.55)],
)
r.chain(
    ["Neck0", "Neck1", "Neck2", "Neck3"],
    "Withers",
    [(0, 1.5, 0.72), (0, 1.63, 0.88), (0, 1.76, 1.0), (0, 1.86, 1.08)],
)
r.add("Head", "Neck3", 0, 1.92, 1.14)
r.add("Jaw", "Head", 0, 1.8, 1.18)
r.end("Jaw", 0, 1.48, 1.5)
r.both(["{}Ear"], "Head", [(0.07, 2.0, 1.12)], LR)
r.both_ends("{}Ear", 0.08, 2.14, 1.13, LR)
r.chain(["Tail0", "Tail1", "Tail2"], "Hips", [(0, 1.38, -0.75), (0, 1.2, -0.88), (0, 0.95, -0.92)])
r.end("Tail2", 0, 0.6, -0.92)
r.both(
    ["{}FShoulder", "{}FArm", "{}FForearm", "{}FCannon", "{}FPastern", "{}FHoof"],
    "Withers",
    [
        (0.1, 1.38, 0.5),
        (0.16, 1.05, 0.72),
        (0.15, 0.86, 0.56),
        (0.14, 0.45, 0.57),
        (0.14, 0.15, 0.57),
        (0.14, 0.07, 0.62),
    ],
    LR,
)
r.both_ends("{}FHoof", 0.14, 0, 0.7, LR)
r.both(
    ["{}BThigh", "{}BGaskin", "{}BCannon", "{}BPastern", "{}BHoof"],
    "Hips",
    [(0.14, 1.2, -0.58), (0.18, 0.88, -0.42), (0.15, 0.58, -0.72), (0.14, 0.16, -0.71), (0.14, 0.08, -0.66)],
    LR,
)
r.both_ends("{}BHoof", 0.14, 0, -0.58, LR)
r.chain(
    ["Saddle", "RiderHips", "RiderSpine", "RiderChest", "RiderNeck", "RiderHead"],
    "Spine1",
    [(0, 1.5, 0.12), (0, 1.62, 0.12), (0, 1.8, 0.12), (0, 2.0, 0.13), (0, 2.2, 0.13), (0, 2.3, 0.14)],
)
r.end("RiderHead", 0, 2.5, 0.15)
r.both(
    ["Rider{}Thigh", "Rider{}Shin", "Rider{}Foot"],
    "RiderHips",
    [(0.12, 1.58, 0.12), (0.32, 1.4, 0.42), (0.34, 1.0, 0.3)],
    LR,
)
r.both_ends("Rider{}Foot", 0.34, 0.92, 0.5, LR)
r.both(
    ["Rider{}Arm", "Rider{}Forearm", "Rider{}Hand"],
    "RiderChest",
    [(0.2, 2.1, 0.13), (0.3, 1.85, 0.1), (0.2, 1.75, 0.35)],
    LR,
)
r.both_ends("Rider{}Hand", 0.18, 1.75, 0.45, LR)
r.chain(["Lance"], "RiderRightHand", [(0.25, 1.75, 0.4)])
r.end("Lance", 0.25, 1.9, 3.2)
# 9 hyena, numbers, two toes on each foot, ft
r = PLAIN["j9"] = Rig(0.3048, X, Y, Z, "YZX")
LEFT_RIGHT = (("l", -1), ("r", 1))
known = {}


def joint(key, parent, x, y, z, end=None):
    """Add the next joint by its number."""
    known[key] = f"joint{len(known) + 1:02d}"
    r.add(known[key], known.get(parent), x, y, z)
    if end:
        r.end(known[key], *end)


joint("p", None, 0, 0.62, -0.28)
for s, k in LEFT_RIGHT:
    joint("h1" + s, "p", k * 0.07, 0.58, -0.3)
    joint("h2" + s, "h1" + s, k * 0.09, 0.38, -0.2)
    joint("h3" + s, "h2" + s, k * 0.09, 0.2, -0.36)
    joint("h4" + s, "h3" + s, k * 0.08, 0.03, -0.33, (k * 0.08, 0, -0.27))
    joint("h5" + s, "h3" + s, k * 0.11, 0.03, -0.33, (k * 0.12, 0, -0.28))
joint("s1", "p", 0, 0.68, -0.1)
joint("s2", "s1", 0, 0.73, 0.12)
joint("s3", "s2", 0, 0.77, 0.3)
for s, k in LEFT_RIGHT:
    joint("f0" + s, "s3", k * 0.05, 0.78, 0.26)
    joint("f1" + s, "f0" + s, k * 0.09, 0.57, 0.36)
    joint("f2" + s, "f1" + s, k * 0.1, 0.42, 0.27)
    joint("f3" + s, "f2" + s, k * 0.1, 0.1, 0.29)
    joint("f4" + s, "f3" + s, k * 0.09, 0.03, 0.31, (k * 0.09, 0, 0.37))
    joint("f5" + s, "f3" + s, k * 0.12, 0.03, 0.31, (k * 0.13, 0, 0.36))
joint("n1", "s3", 0, 0.85, 0.42)
joint("n2", "n1", 0, 0.93, 0.52)
joint("hd", "n2", 0, 0.98, 0.6)
joint("jw", "hd", 0, 0.94, 0.62, (0, 0.88, 0.82))
for s, k in LEFT_RIGHT:
    joint("e" + s, "hd", k * 0.06, 1.05, 0.57, (k * 0.09, 1.15, 0.56))
joint("t1", "p", 0, 0.6, -0.38)
joint("t2", "t1", 0, 0.5, -0.44)
joint("t3", "t2", 0, 0.4, -0.46, (0, 0.3, -0.47))
# 10 moose, mm, antlers of three joints, a beard, a camera and a light under a joint on the ground
LR = ("_v", "_h")
r = PLAIN["hirvio"] = Rig(0.001, X, Y, Z, "XYZ")
r.add("paajuuri", None, 0, 0, 0)
r.add("kamera", "paajuuri", 3, 1.6, 2)
r.add("valo", "paajuuri", -2, 3, -1)
r.add("lantio", "paajuuri", 0, 1.55, -0.5)
r.chain(["selka1", "selka2", "selka3"], "lantio", [(0, 1.6, -0.2), (0, 1.62, 0.15), (0, 1.68, 0.5)])
r.chain(["kaula1", "kaula2"], "selka3", [(0, 1.62, 0.75), (0, 1.7, 0.98)])
r.add("paa", "kaula2", 0, 1.76, 1.15)
r.add("leuka", "paa", 0, 1.66, 1.2)
r.end("leuka", 0, 1.38, 1.65)
r.both(["korva{}"], "paa", [(0.09, 1.84, 1.1)], LR)
r.both_ends("korva{}", 0.2, 1.98, 1.06, LR)
r.both(
    ["sarvi1{}", "sarvi2{}", "sarvi3{}"], "paa", [(0.08, 1.9, 1.15), (0.35, 1.95, 1.1), (0.6, 2.1, 1.05)], LR
)
r.both_ends("sarvi3{}", 0.7, 2.3, 1.1, LR)
r.chain(["parta1", "parta2", "parta3"], "paa", [(0, 1.55, 1.2), (0, 1.45, 1.2), (0, 1.35, 1.2)])
r.end("parta3", 0, 1.28, 1.2)
r.chain(["hanta"], "lantio", [(0, 1.55, -0.72)])
r.end("hanta", 0, 1.45, -0.76)
r.both(
    ["lapa{}", "olka{}", "kyynar{}", "ranne{}", "vuohis{}", "sorkka{}"],
    "selka3",
    [
        (0.1, 1.66, 0.48),
        (0.16, 1.28, 0.66),
        (0.15, 1.1, 0.5),
        (0.14, 0.6, 0.52),
        (0.14, 0.18, 0.52),
        (0.14, 0.08, 0.57),
    ],
    LR,
)
r.both_ends("sorkka{}", 0.14, 0, 0.65, LR)
r.both(
    ["reisi{}", "saari{}", "kinner{}", "tvuohis{}", "tsorkka{}"],
    "lantio",
    [(0.15, 1.4, -0.58), (0.18, 1.02, -0.42), (0.15, 0.68, -0.68), (0.14, 0.18, -0.67), (0.14, 0.08, -0.62)],
    LR,
)
r.both_ends("tsorkka{}", 0.14, 0, -0.55, LR)
