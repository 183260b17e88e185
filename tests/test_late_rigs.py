"""Ten rigs of somebody who had not seen the others: found, walked and trotted, styled, checked."""

import re
from dataclasses import replace

import numpy as np
import pytest
from make_late_rigs import LATE as PLANS
from make_rigs import UNITS, text
from make_strange_rigs import row
from rig_measures import lift_m, nod_rad, slip_m, tracks_m

from gaitgen import Request
from gaitgen.commands.check_file import check_file
from gaitgen.errors import RigError
from gaitgen.formats.bvh_file import channel_columns, local_rotations, world_end_sites
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.find import find_rig

pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with aimed axes
SLIP_M = 1e-4
PARTS = {  # last of the neck, head, jaw, left ear, first of the tail
    "teckel": ("hals3", "kop", "kaak", "oor1_a", "staart1"),
    "zajac": ("szyja2", "glowa", "zuchwa", "ucho1_a", "ogon1"),
    "vadkan": ("nyak2", "fej", "pofa", "ful_a", "farok1"),
    "twiga": ("shingo7", "kichwa", "taya", "sikio_a", "mkia1"),
    "tapir": ("boyun2", "kafa", "cene", "kulak_a", "kuyruk"),
    "hirvi": ("kaula3", "paa", "leuka", "korva_a", "hanta"),
    "dreki": ("hals6", "haus", "kjaftur", None, "hali1"),
    "konik": ("krk3", "hlava", "celist", "ucho_a", "ohon1"),
    "liontari": ("lemos2", "kefali", "sagoni", "afti_a", "oura1"),
    "anaguma": ("kubi2", "atama", "ago", "mimi_a", "o1"),
}
TOPS = {  # the first joints of the left limbs
    "teckel": ("blad_a", "dij_a"),
    "zajac": ("lopatka_a", "udo_a"),
    "vadkan": ("lapocka_a", "comb_a"),
    "twiga": ("bega_a", "paja_a"),
    "tapir": ("ust_a", "uyluk_a"),
    "hirvi": ("lapa_a", "reisi_a"),
    "dreki": ("oxl_a", "laeri_a"),
    "konik": ("lopata_a", "kycel_a"),
    "liontari": ("omoplati_a", "miros_a"),
    "anaguma": ("kata_a", "momo_a"),
}


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    assert (found.neck[-1], found.head, found.jaw, found.ear_left, found.tail[0]) == PARTS[name]
    assert (found.limbs["LF"].joints[0], found.limbs["LH"].joints[0]) == TOPS[name]


FRAMES = {("zajac", "trot"): 8}  # 6 at its own speed: fewer than a check takes


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, gait, clip, chart, tmp_path):
    made = clip(name, gait, FRAMES.get((name, gait)))
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert [each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings] == []


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_styles_have_their_effect(name, clip):
    plan, plain = PLANS[name], clip(name)
    assert lift_m(plan, clip(name, lift=1.4)) / lift_m(plan, plain) > 1.3
    nods = [nod_rad(plan, clip(name, nod=1.4)), nod_rad(plan, plain)]
    assert 1.3 <= nods[0] / nods[1] <= 1.5


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_a_shank_that_ends_on_the_ground_does_not_swing_wide_with_the_sole(gait, clip):
    """A hind leg of three joints: its hock opens to no more than a dog's, 165 degrees.

    Humphries et al. 2020, from a table, as in the limits of `check`, which add 10 for what stands straighter.
    """
    joints, toes = tracks_m(PLANS["tapir"], clip("tapir", gait))
    above = joints["baldir_a"] - joints["ayak_a"]
    below = toes[:, 2] - joints["ayak_a"]
    cosine = np.sum(above * below, axis=1) / np.linalg.norm(above, axis=1) / np.linalg.norm(below, axis=1)
    bent_back = np.cross(above, below)[:, 1] > 0.0  # past straight
    assert np.degrees(np.arccos(cosine)).max() < 175.0
    assert bent_back.all() or not bent_back.any()


@pytest.mark.thorough
def test_a_claw_over_the_hoof_stays_over_the_ground_and_does_not_tremble(clip):
    """It goes with the pastern, and where that sinks it bends up over some frames, always the same way."""
    made = clip("vadkan", "trot")
    plan, file = PLANS["vadkan"], read_bvh(made.bvh(), "vadkan")
    ends = world_end_sites(file) @ np.array(plan.axes, dtype=float).T * UNITS[plan.unit]
    claws = [row for row, joint in enumerate(file.end_joints) if "fattyu" in file.joint_names[joint]]
    assert len(claws) == 2
    assert ends[:, claws, 2].min() > -SLIP_M
    columns = channel_columns(file, "rotation")
    for side in "ab":
        pitch = file.rows[:, columns[file.joint_names.index(f"fattyu_{side}")][1]]
        assert pitch.min() > -1e-3  # never the other way
        assert np.abs(np.diff(pitch, 2)).max() < 30.0


@pytest.mark.thorough
def test_long_ears_swing_joint_by_joint_where_the_map_says_so(chart, clip, tmp_path):
    """As the fit says how: each joint then swings against the one before, on both sides."""
    assert any('with joints and like = "ear"' in notice.text for notice in chart("teckel")[1].notices)
    written = chart("teckel")[0].read_text()
    rows = "".join(
        f'[hanging.row_{side}]\njoints = ["oor1_{letter}", "oor2_{letter}", "oor3_{letter}"]\nlike = "ear"\n'
        for side, letter in (("L", "a"), ("R", "b"))
    )
    (tmp_path / "teckel.bvh").write_bytes(chart("teckel")[0].with_suffix(".bvh").read_bytes())
    path = tmp_path / "rows.toml"
    path.write_text(re.sub("(?m)^ear_(left|right).*\n", "", written) + rows)
    swings = {}
    for name, made in (("row", cycle_on_rig(str(path), Request())), ("stick", clip("teckel"))):
        file = read_bvh(made.bvh(), name)
        local = local_rotations(file)
        for joint in ("oor2_a", "oor3_a", "oor2_b", "oor3_b"):
            turns = local[:, file.joint_names.index(joint)]
            trace = np.einsum("ij,fij->f", turns[0], turns)
            swings[name, joint] = np.degrees(np.arccos(np.clip((trace - 1.0) / 2.0, -1.0, 1.0))).max()
        if name == "row":
            assert slip_m(PLANS["teckel"], made) < SLIP_M
            assert made.clip.animal.part("ear_L") is None
    assert all((swing > 0.3) == (name == "row") for (name, _), swing in swings.items())


@pytest.mark.thorough
def test_a_joint_near_its_gimbal_is_told_with_the_order_that_would_not_be(clip, tmp_path):
    """Its channels swing; the same rig with the order that is named has calm curves, as check finds."""
    said = [notice.text for notice in clip("liontari", "trot").clip.notices if notice.topic == "gimbal"]
    assert len(said) == 2
    joint, order = (re.search(rf"{word} (\w+)", said[0])[1] for word in ("channel of", "order"))
    assert joint == "karpos_a"
    assert not [n for n in clip("liontari").clip.notices if n.topic == "gimbal"]
    plan = replace(PLANS["liontari"], orders={"karpos_a": order, "karpos_b": order})
    (tmp_path / "calm.bvh").write_text(text(plan))
    path = tmp_path / "calm.toml"
    fit(tmp_path / "calm.bvh", path)
    path.write_text(re.sub("(?m)^unit = .*", f'unit = "{plan.unit}"', path.read_text()))
    made = cycle_on_rig(str(path), Request(gait="trot"))
    assert not [notice for notice in made.clip.notices if notice.topic == "gimbal"]
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=path).findings}
    assert "flipped rotation" not in found


def test_legs_that_are_not_four_are_told_for_each_pose():
    """Six feet on the ground in frame 1, and no symmetry at zero: the pose that came farther is told."""
    legs = row(["ql_{}", "kl_{}"], [(0.5, 0.26, 0.5), (0.55, 0.26, 0.1)], "hryggur2")
    plan = PLANS["dreki"]
    plan = replace(plan, joints=plan.joints | legs, ends=plan.ends | {"kl_{}": (0.6, 0.26, 0.0)})
    with pytest.raises(RigError, match="6 legs reach the ground, not four"):
        find_rig(read_bvh(text(plan).encode(), "six"), "six")
