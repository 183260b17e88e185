"""The tail of a rig is seen in pictures of it, however short it is and whose flesh it has."""

import numpy as np
import pytest
from make_more_rigs import MORE
from rig_measures import charts, clips

from gaitgen.gait.request import Request
from gaitgen.motion.flesh import pose
from gaitgen.pictures.flat import Flat
from gaitgen.pictures.views import VIEWS
from gaitgen.rigs.command import cycle_on_rig, fit

pytestmark = pytest.mark.usefixtures("fits_once")

SEEN = 0.25  # of a tail's picture is hidden by nothing, at the least

# A pack animal as one would write it by hand, in centimetres, y up, facing +z: each joint with its OFFSET.
LEG = [("thigh", (9, -4, -2)), ("shin", (0, -28, 10)), ("cannon", (0, -28, -14)), ("toe", (0, -28, 3))]
ARM = [("blade", (6, 8, -4)), ("arm", (2, -22, 12)), ("forearm", (0, -20, -12)), ("shank", (0, -30, 0))]
TRUNK = [("spine1", (0, 1, 16)), ("spine2", (0, 1, 20)), ("chest", (0, 1, 22))]
NECK = [("neck1", (0, 8, 12)), ("neck2", (0, 22, 5)), ("neck3", (0, 22, 4)), ("head", (0, 22, 4))]
TAIL = [("tail1", (0, 2, -12)), ("tail2", (0, -3, -6)), ("tail3", (0, -5, -4))]


def row(joints, end, mirrored=False, beside=""):
    """Write one joint inside the other, the last with an End Site; ``beside`` stands in the last too."""
    side = {True: "_R", False: "_L"}[mirrored] if joints[0][0] in {"thigh", "blade"} else ""
    flip = -1 if mirrored else 1
    text = "".join(
        f"JOINT {name}{side}\n{{\nOFFSET {flip * x} {y} {z}\nCHANNELS 3 Zrotation Xrotation Yrotation\n"
        for name, (x, y, z) in joints
    )
    tip = "End Site\n{{\nOFFSET {} {} {}\n}}\n".format(*end) if end else ""
    return text + beside + tip + "}\n" * len(joints)


def by_hand(path):
    """Write the rig."""
    legs = "".join(row(LEG, (0, -10, 6), mirrored) for mirrored in (False, True))
    arms = "".join(row([*ARM, ("paw", (0, -22, 0))], (0, -10, 5), mirrored) for mirrored in (False, True))
    front = row(TRUNK, None, beside=row(NECK, (0, 0, 20)) + arms)
    root = "HIERARCHY\nROOT hips\n{\nOFFSET 0 98 0\nCHANNELS 6 Xposition Yposition Zposition "
    root += "Zrotation Xrotation Yrotation\n" + front + row(TAIL, (0, -6, -2)) + legs + "}\n"
    numbers = " ".join(["0 98 0", *["0"] * 3 * root.count("CHANNELS")])
    path.write_text(f"{root}MOTION\nFrames: 2\nFrame Time: 0.041708\n{numbers}\n{numbers}\n")


def seen_share(clip):
    """Share of the side view of the tail that no trunk and no near leg hides, in each of some frames."""
    rows = np.arange(0, clip.facts.frames, 3)
    posed = pose(clip, rows)
    tail, far = posed.body.layer("tail"), posed.body.limbs(["LF", "LH"])
    shares = []
    for k in range(len(rows)):
        flat = Flat.of(posed, k, VIEWS["side"])
        own = flat.shape(tail).shape
        shares.append(own.difference(flat.shape(~tail & ~far).shape).area / max(own.area, 1e-9))
    return np.array(shares)


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", [None, "goat", "dromedary", "cow"])
def test_the_short_tail_of_a_rig_made_by_hand_is_seen(animal, tmp_path):
    """It hung inside the rump of the animal that it was drawn like."""
    by_hand(tmp_path / "llama.bvh")
    found = fit(tmp_path / "llama.bvh", tmp_path / "llama.toml", animal=animal)
    assert found.rig.map.tail == ("tail1", "tail2", "tail3")
    clip = cycle_on_rig(str(tmp_path / "llama.toml"), Request(gait="walk")).clip
    assert seen_share(clip).min() > SEEN


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    return clips(charts(tmp_path_factory.mktemp("tails"), MORE))


@pytest.mark.parametrize("name", ["horn", "skraaning"])
def test_a_tail_inside_the_rump_is_seen(name, clip):
    assert seen_share(clip(name).clip).mean() > SEEN  # a leg goes over it
