"""What is found as a rig is fitted and its map is read, before anything walks."""

import re
from pathlib import Path

import numpy as np
import pytest

from gaitgen.animal.library import load_animal
from gaitgen.errors import GaitgenError, ReachError
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request
from gaitgen.rigs import one_fold, own_ranges
from gaitgen.rigs.command import fit
from gaitgen.rigs.cycle import load_rig
from gaitgen.rigs.refused import OTHER_LENGTHS, what_it_can

pytestmark = pytest.mark.usefixtures("fits_once")

HERE = Path(__file__).parent / "rigs"
LONG = 40  # frames of a walk that no rig here takes unless it is asked to


@pytest.fixture(scope="module")
def chart(tmp_path_factory):
    """The map of a rig as fit writes it."""
    path = tmp_path_factory.mktemp("read") / "plain.toml"
    fit(HERE / "plain.bvh", path)
    return path


@pytest.fixture
def made(monkeypatch):
    """What is made to find how a rig turns and walks."""
    asked = []
    for module in (own_ranges, one_fold):
        make = module.make_cycle
        monkeypatch.setattr(
            module, "make_cycle", lambda request, make=make: (asked.append(request), make(request))[1]
        )
    return asked


def without_turns(chart, folder):
    """The map without what is kept of its turns."""
    bare = folder / "bare.toml"
    text = re.sub(r"(?ms)^\[turns\].*", "", chart.read_text())
    bare.write_text(re.sub('(?m)^file = ".*"', f'file = "{(HERE / "plain.bvh").as_posix()}"', text))
    assert "[turns" not in bare.read_text()
    return bare


def test_a_map_is_read_without_walking(chart, made, tmp_path):
    """Ranges are found where they are asked for, once, and are those of its walks."""
    loaded = load_rig(str(without_turns(chart, tmp_path)))
    assert not made
    ranges = loaded.animal.ranges_rad
    walked = len(made)
    assert walked > 0
    assert loaded.animal is loaded.animal
    assert len(made) == walked
    own = own_ranges.with_own_ranges(loaded.rig, loaded.standing, load_animal(loaded.rig.map.template))
    np.testing.assert_array_equal(ranges, own.ranges_rad)
    assert (ranges != loaded.standing.ranges_rad).any()


def test_what_fit_keeps_of_its_turns_is_what_its_walks_are(chart, made, tmp_path):
    """Nothing walks before its cycle is made, and that has the same bytes as without."""
    kept, bare = (load_rig(str(path)) for path in (chart, without_turns(chart, tmp_path)))
    styled = Request(frames=28, style=Style(nod=1.6, lift=1.6))
    clip = kept.cycle(styled)
    assert not made
    np.testing.assert_array_equal(kept.animal.ranges_rad, bare.animal.ranges_rad)
    assert made
    assert kept.animal.hanging == bare.animal.hanging
    assert {gait: going.hanging for gait, going in kept.animal.goings.items()} == {
        gait: going.hanging for gait, going in bare.animal.goings.items()
    }
    assert clip.bvh() == bare.cycle(styled).bvh()


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("old", "new"),
    [
        (r'(?m)^of = "(.)', r'of = "\1\1'),
        (r'(?m)^("femur_L" = \[)-', r"\1-1"),
        (r"(?m)^\[turns\.swings_rad\]\n", '[turns.swings_rad]\n"tail" = 1.0\n'),
        ("(?m)^fold = 1", "fold = 0.9"),
        ('(?m)^unit = "cm"', 'unit = "in"'),
        (r"(?m)^toe = \[0.000000, -5.500000, 7", "toe = [0.000000, -5.500000, 8"),
        ('(?m)^ear_left = "lug_a"', ""),
    ],
)
def test_turns_are_found_anew_where_map_or_table_were_changed(old, new, chart, made):
    text = chart.read_text()
    changed = re.sub(old, new, text, count=1)
    assert changed != text
    other = chart.with_name("other.toml")
    other.write_text(changed)
    loaded = load_rig(str(other))
    made.clear()
    own = loaded.animal
    assert made
    anew = own_ranges.with_own_ranges(loaded.rig, loaded.standing, load_animal(loaded.rig.map.template))
    np.testing.assert_array_equal(own.ranges_rad, anew.ranges_rad)


def test_turns_hold_where_a_map_sets_a_range(chart, made):
    """Its own range lies over them, as it lies over what is found."""
    other = chart.with_name("other.toml")
    other.write_text(chart.read_text().replace("[walk]", "[ranges.skull]\nyaw_deg = [-3, 4]\n\n[walk]", 1))
    own = load_rig(str(other)).animal
    assert not made
    np.testing.assert_allclose(np.degrees(own.ranges_rad[own.head, 2]), [-3.0, 4.0])


def test_turns_that_are_no_numbers_are_refused(chart):
    other = chart.with_name("other.toml")
    other.write_text(re.sub(r'(?m)^"femur_L" = .*', '"femur_L" = [1, 2]', chart.read_text()))
    with pytest.raises(GaitgenError, match=r"\[turns.joints_rad\] femur_L is .*; write 6 numbers"):
        load_rig(str(other))


@pytest.mark.parametrize(
    ("sides", "is_odd"),
    [
        (("_left", "_right"), False),
        (("_right", "_left"), True),
        (("_Lt", "_Rt"), False),
        (("_Rt", "_Lt"), True),
        (("_R", "_L"), True),
    ],
)
def test_names_that_contradict_the_sides_are_doubted(sides, is_odd, tmp_path):
    """A file written for left-handed axes, or a rig that faces the other way than it seems."""
    text = (HERE / "plain.bvh").read_text()
    for own, side in zip(("_a", "_b"), sides, strict=True):
        text = re.sub(
            rf"\b(lug|blade|point|bow|knee|ankle|sole|rump|flank|heelbone|rear_ankle|rear_sole){own}\b",
            rf"\1{side}",
            text,
        )
    (tmp_path / "named.bvh").write_text(text)
    doubts = [doubt.text for doubt in fit(tmp_path / "named.bvh", None).doubts if doubt.topic == "sides"]
    assert bool(doubts) == is_odd
    if is_odd:
        assert f"blade{sides[0]} is on the left and blade{sides[1]} on the right" in doubts[0]
        assert "turn forward in the map round" in doubts[0]
        assert "left-handed" in doubts[0]


def test_ears_are_drawn_where_a_rig_has_them(chart, tmp_path):
    """Without them it keeps its joints, and so its masses, and shows none."""
    bare = tmp_path / "bare.toml"
    kept = [line for line in chart.read_text().splitlines() if not line.startswith("ear_")]
    text = "\n".join(kept) + "\n"
    bare.write_text(re.sub('(?m)^file = ".*"', f'file = "{(HERE / "plain.bvh").as_posix()}"', text))
    with_ears, without = load_rig(str(chart)).standing, load_rig(str(bare)).standing
    assert with_ears.joint_names == without.joint_names
    assert any(ball[0].startswith("ear") for ball in with_ears.outline)
    assert not any(ball[0].startswith("ear") for ball in without.outline)


def test_a_rig_that_can_do_nothing_is_told_how_to_stand(chart, tmp_path):
    """No gait and no length is left to name: legs that lean outward go under the body, others are left."""
    spread = tmp_path / "spread.toml"
    fit(HERE / "strange" / "spread.bvh", spread)
    under = spread.read_text()
    spread.write_text(under.replace('legs = "under the body"', 'legs = "as they stand"'))
    asked = []

    def refuse(request):
        asked.append((request.gait, request.frames))
        raise ReachError("more than its legs can do")

    aside, upright = load_rig(str(spread)), load_rig(str(chart))
    said = what_it_can(aside.rig, aside.standing, Request(gait="walk"), refuse)
    assert re.search(
        r"as they stand, \d+ degrees outward: put them under the body, with legs = \"under the", said
    )
    assert len([frames for gait, frames in asked if gait == "walk" and frames]) == len(OTHER_LENGTHS)
    assert what_it_can(upright.rig, upright.standing, Request(gait="walk"), refuse) == ""


def test_a_longer_walk_is_named_where_the_usual_one_is_too_quick(chart):
    """A walk that is slow enough is told with its length."""
    loaded = load_rig(str(chart))

    def slowly(request):
        if request.gait != "walk" or (request.frames or 0) < LONG:
            raise ReachError("more than its legs can do")
        return loaded.animals_cycle(request)

    said = what_it_can(loaded.rig, loaded.animal, Request(gait="walk"), slowly)
    frames = re.fullmatch(r"; what it can do is a walk of (\d+) frames at 24 fps", said)
    assert int(frames[1]) >= LONG
