"""Which animal a rig is taken for: by neck, head, trunk, tail, toes and horns as well as by its limbs."""

import re
from dataclasses import replace

import pytest
from make_foreign_rigs import FOREIGN
from make_late_rigs import LATE
from make_more_rigs import MORE
from make_plain_rigs import PLAIN
from make_rigs import text
from make_ten_rigs import TEN

from gaitgen.animal.library import animal_names
from gaitgen.commands.check_file import check_file
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import Request
from gaitgen.rigs.build import build_of
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.find import find_rig

# What those who drew the rigs meant: moose, cows, a camel, a horse with its rider, a bear, a gazelle's kin.
MEANT = {
    "hirvi": (text(LATE["hirvi"]), "red_deer"),
    "hirvio": (PLAIN["hirvio"].text(), "red_deer"),
    "ox": (text(TEN["ox"]), "cow"),
    "vaca": (PLAIN["vaca"].text(), "cow"),
    "chameau": (PLAIN["chameau"].text(), "dromedary"),
    "ritter": (PLAIN["ritter"].text(), "riding_horse"),
    "björn": (text(FOREIGN["björn"]), "brown_bear"),
    "twiga": (text(LATE["twiga"]), "giraffe"),
    "vadkan": (text(LATE["vadkan"]), "pig"),
}
pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with aimed axes


@pytest.mark.sample(9)
@pytest.mark.parametrize("name", MEANT)
def test_a_rig_is_taken_for_the_animal_that_was_meant(name):
    written, meant = MEANT[name]
    assert find_rig(read_bvh(written.encode(), name), name)[0].template == meant


def test_an_animal_that_is_nearly_as_like_is_named_with_what_tells_them_apart():
    _, notices = find_rig(read_bvh(text(LATE["hirvi"]).encode(), "it"), "it")
    said = next(notice.text for notice in notices if notice.topic == "template")
    assert "borrowed from red_deer" in said
    assert re.search(
        r"goat is nearly as like \(the length of the neck is 0\.\d\d of the height of the hips", said
    )
    assert "`gaitgen fit --animal` takes another" in said


def test_every_animal_is_like_itself():
    for name in animal_names():
        assert build_of(name).unlike(build_of(name)) == 0.0


def test_toes_that_end_over_the_ground_are_told_and_check_agrees(tmp_path):
    plan = LATE["konik"]
    last = next(name for name in plan.ends if plan.joints[name][1][0] > 0.0 and plan.ends[name][2] == 0.0)
    x, y, _ = plan.ends[last]
    lifted = replace(plan, ends=plan.ends | {last: (x, y, 0.03)})
    (tmp_path / "a.bvh").write_text(text(lifted))
    found = fit(tmp_path / "a.bvh", tmp_path / "a.toml")
    assert any("LF, RF end up to" in doubt.text for doubt in found.doubts if doubt.topic == "toes")
    made = cycle_on_rig(str(tmp_path / "a.toml"), Request(gait="walk"))
    (tmp_path / "b.bvh").write_bytes(made.bvh())
    assert not check_file(tmp_path / "b.bvh", map_path=tmp_path / "a.toml").findings


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["pattes", "boites"])
def test_toes_beside_the_main_one_do_not_flip_where_a_paw_hangs_past_the_vertical(name, tmp_path):
    (tmp_path / "a.bvh").write_text(text((MORE | FOREIGN)[name]))
    fit(tmp_path / "a.bvh", tmp_path / "a.toml", animal="dog")
    made = cycle_on_rig(str(tmp_path / "a.toml"), Request(gait="walk"))
    (tmp_path / "b.bvh").write_bytes(made.bvh())
    found = check_file(tmp_path / "b.bvh", map_path=tmp_path / "a.toml").findings
    assert "rotation jump" not in {each.kind for each in found}
