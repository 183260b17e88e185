"""A rig's own walk passes the check: legs fold once, and the pose in which it stands is no part of it."""

import re
import tomllib
from dataclasses import asdict, replace

import numpy as np
import pytest
from make_foreign_rigs import FOREIGN
from make_hard_rigs import HARD
from make_last_rigs import LAST
from make_rigs import base, text
from make_strange_rigs import strange_plans

from gaitgen import Request
from gaitgen.animal.limb import ENDS
from gaitgen.check.check import check
from gaitgen.check.few_frames import LEAST_FRAMES
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.commands.check_file import check_file
from gaitgen.errors import GaitgenError, RigError
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.extremes import turned_besides
from gaitgen.rigs import one_fold
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.cycle import load_rig

pytestmark = pytest.mark.usefixtures("fits_once")

PLANS = {**{name: HARD[name] for name in ("alke",)}, **{name: LAST[name] for name in ("boya", "gacela")}}
PLANS |= {name: strange_plans()[name] for name in ("mule", "griffin", "hound", "mammoth")}
PLANS |= {"dobra": FOREIGN["dobra"]}


@pytest.mark.parametrize(
    ("curve", "turns", "back"),
    [
        ((0, 5, 3, 9, 0), 2, 2.0),
        ((0, 5, 3, 9, 0), 3, 0.0),
        ((0, 9, 0, 4), 2, 0.0),
        ((0, 9, 7, 8, 2, 6, 5), 2, 1.0),
        ((1, 2, 3), 0, 0.0),
    ],
)
def test_how_far_a_curve_turns_back_besides_its_greatest_turns(curve, turns, back):
    assert turned_besides(np.array(curve, dtype=float), turns) == back


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("name", "frames"),
    [("boya", 32), ("alke", 24), ("alke", 48), ("mule", 16), ("mule", 24), ("gacela", 32), ("boya", 48)],
)
def test_the_legs_of_a_rig_fold_once_whatever_its_proportions(name, frames, clip, chart, tmp_path):
    """A long foot, a short fore limb, a tall one: at other lengths of the walk too."""
    (tmp_path / "a.bvh").write_bytes(clip(name, frames=frames).bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings}
    assert "joint turns back too often" not in found


def without_walk(map_text):
    return re.sub(r"(?ms)^\[walk\].*", "", map_text)


def folds(limb):
    return [law.fold_rad for law in limb.laws]


def test_fit_writes_how_the_legs_go_and_it_is_read_back(chart, monkeypatch):
    """Reading such a map walks nothing to find it; one without the table makes the same bytes."""
    path, found = chart("alke")
    ends = tomllib.loads(path.read_text())["walk"]
    assert (ends.pop("template"), ends.pop("hip_height_m")) == (found.map.template, 1.4)
    assert ends == {end: asdict(own) for end, own in found.map.walk.ends.items()}
    assert ends["fore"] != {"heel_later": 0.0, "fold": 1.0}
    bare = path.with_name("bare.toml")
    bare.write_text(without_walk(path.read_text()))
    assert "[walk" not in bare.read_text()
    assert load_rig(str(bare)).rig.map.walk is None
    expected = cycle_on_rig(str(bare), Request(frames=24)).bvh()
    asked = []
    monkeypatch.setattr(one_fold, "found_walk", asked.append)
    copy = path.with_name("copy.toml")
    copy.write_text(path.read_text())
    assert cycle_on_rig(str(copy), Request(frames=24)).bvh() == expected
    assert not asked


def test_what_a_map_says_of_its_walk_can_be_changed(chart):
    path, found = chart("alke")
    own = load_rig(str(path)).animal.in_gait("walk").limb("fore")
    later = found.map.walk.ends["fore"].heel_later
    other = path.with_name("other.toml")
    other.write_text(path.read_text().replace(f"heel_later = {later:g}", f"heel_later = {later - 0.1:g}", 1))
    animal = load_rig(str(other)).animal.in_gait("walk")
    assert animal.limb("fore").path.heel_off_share == pytest.approx(own.path.heel_off_share - 0.1)
    assert folds(animal.limb("fore")) == folds(own)


def test_a_walk_found_for_another_size_is_told_and_found_anew(chart):
    path, _ = chart("alke")
    small = path.with_name("inches.toml")
    small.write_text(re.sub("(?m)^unit = .*", 'unit = "in"', path.read_text()))
    told = [each.text for each in load_rig(str(small)).notices if each.topic == "walk"]
    assert len(told) == 1
    assert "hips at 1.4 m, and this one has those of foal and hips at 3.56 m; its heels" in told[0]
    bare = path.with_name("bare_inches.toml")
    bare.write_text(without_walk(small.read_text()))
    loaded = load_rig(str(bare))
    assert not any(each.topic == "walk" for each in loaded.notices)
    for end in ENDS:
        own, told_of = (each.animal.in_gait("walk").limb(end) for each in (loaded, load_rig(str(small))))
        assert (own.path, folds(own)) == (told_of.path, folds(told_of))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("fold = 0.7", "fold = 2", "[walk.fore] fold is 2; write a number from 0.3 to 1.5"),
        ("heel_later = 0.05", "heel_late = 0.05", "[walk.fore] has no heel_later; add heel_later = "),
        ("[walk.hind]", "[walk.back]", "has no table [walk.hind]; add [walk.hind]"),
        ("[walk.fore]", "speed = 1\n[walk.fore]", "[walk] has an unknown key"),
        ('[walk]\ntemplate = "foal"', '[walk]\ntemplate = "fowl"', "did you mean 'foal'"),
    ],
)
def test_faults_of_a_walk_in_a_map(old, new, words, chart):
    good = chart("alke")[0].read_text()
    assert old in good
    bad = chart("alke")[0].with_name("bad.toml")
    bad.write_text(good.replace(old, new, 1))
    with pytest.raises(GaitgenError, match=re.escape(words)) as refused:
        load_rig(str(bad))
    assert "\n" not in str(refused.value)


def stood_first(rig, walk):
    """The walk with the first frame of the rig's file before it."""
    stands = rig.read_text(encoding="utf-8").split("Frame Time")[1].split("\n")[1]
    above, below = walk.decode("utf-8").split("Frames: ")
    count, rest = below.split("\n", 1)
    time, rows = rest.split("\n", 1)
    return f"{above}Frames: {int(count) + 1}\n{time}\n{stands}\n{rows}".encode()


@pytest.mark.sample(1)
@pytest.mark.parametrize("with_map", [False, True])
@pytest.mark.parametrize("name", ["griffin", "hound", "dobra"])
def test_a_first_frame_in_which_a_rig_stands_alone_is_left_out(name, with_map, clip, chart, tmp_path):
    path, walk = tmp_path / "stood.bvh", clip(name)
    path.write_bytes(stood_first(chart(name)[0].with_suffix(".bvh"), walk.bvh()))
    checked = check_file(path, map_path=chart(name)[0] if with_map else None)
    assert checked.findings == ()
    assert checked.seen.gait is not None
    assert checked.seen.motion.frames == walk.clip.frames
    said = [notice.text for notice in checked.seen.motion.notices if "is left out" in notice.text]
    assert len(said) == 1
    assert said[0].endswith("left out: what is frame 1 here is frame 2 of the file.")


def test_a_first_frame_that_is_part_of_the_motion_is_kept(clip, chart, tmp_path):
    """A walk's first frame, and a short clip that would be too short without it."""
    walk = clip("hound")
    (tmp_path / "a.bvh").write_bytes(walk.bvh())
    assert check_file(tmp_path / "a.bvh").seen.motion.frames == walk.clip.frames
    stood = stood_first(chart("hound")[0].with_suffix(".bvh"), walk.bvh()).decode().split("\n")
    at = next(k for k, line in enumerate(stood) if line.startswith("Frames"))
    short = [*stood[:at], f"Frames: {LEAST_FRAMES}", *stood[at + 1 : at + 2 + LEAST_FRAMES], ""]
    (tmp_path / "b.bvh").write_text("\n".join(short))
    assert len(read_bvh("\n".join(short).encode(), "b").rows) == LEAST_FRAMES
    assert check_file(tmp_path / "b.bvh").seen.motion.frames == LEAST_FRAMES


def test_a_pose_that_does_not_stand_is_refused_with_the_one_that_does(chart):
    rig = chart("griffin")[0].with_suffix(".bvh")
    with pytest.raises(
        RigError, match=r"; it stands in frame 1: `gaitgen fit --rest first-frame` takes that$"
    ) as refused:
        fit(rig, None, rest="zero")
    assert "\n" not in str(refused.value)
    assert fit(rig, None, rest="first frame").map.rest == "first frame"


def test_a_walk_whose_rig_stands_nowhere_in_it_is_refused_with_the_way_out(clip, tmp_path):
    (tmp_path / "a.bvh").write_bytes(clip("griffin").bvh())
    with pytest.raises(RigError, match=r"or its map, which `gaitgen fit` makes of the rig, with --map$"):
        check_file(tmp_path / "a.bvh")


@pytest.mark.sample(1, 3)
@pytest.mark.filterwarnings("ignore:Gimbal lock")  # its first frame is at a pole, as is meant
@pytest.mark.parametrize("order", ["XYZ", "ZYX"])
@pytest.mark.parametrize("pitch_deg", [80.0, 90.0])
def test_a_head_at_right_angles_to_an_upright_neck_is_no_fault(pitch_deg, order, tmp_path):
    """Its joints near the poles of their orders do not jitter, and it goes up and down with the chest."""
    plan = base()
    face = np.radians(85.0 - pitch_deg)
    joints = plan.joints | {
        "crest_a": ("brisket", (1.05, 0, 1.30)),
        "crest_b": ("crest_a", (1.06, 0, 1.55)),
        "skull": ("crest_b", (1.08, 0, 1.80)),
        "chin": ("skull", (1.1, 0, 1.74)),
        "lug_{}": ("skull", (1.07, 0.06, 1.88)),
    }
    tip = (1.1 + 0.5 * np.cos(face), 0, 1.8 + 0.5 * np.sin(face))
    ends = plan.ends | {"chin": tip, "lug_{}": (1.07, 0.08, 2.0)}
    plan = replace(plan, joints=joints, ends=ends, order=order, aimed=True)
    (tmp_path / "rig.bvh").write_text(text(plan))
    fit(tmp_path / "rig.bvh", tmp_path / "rig.toml")
    made = cycle_on_rig(str(tmp_path / "rig.toml"), Request(gait="walk"))
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert check_file(tmp_path / "a.bvh", map_path=tmp_path / "rig.toml").findings == ()


def bumped(data, joint, at, degrees):
    """A file with a bump of a few frames in the channel of a joint that turns most."""
    head, rest = data.decode().split("MOTION\n")
    file = read_bvh(data, "x")
    rows, columns = file.rows.copy(), channel_columns(file, "rotation")[file.joint_names.index(joint)]
    column = columns[int(np.ptp(rows[:, columns], axis=0).argmax())]
    frames = len(rows) - 1
    apart = (np.arange(frames + 1) - at + frames // 2) % frames - frames // 2
    rows[:, column] += degrees * np.exp(-((apart / 3.0) ** 2))
    lines = [" ".join(f"{value:.6f}" for value in row) for row in rows]
    return f"{head}MOTION\n" + "\n".join([*rest.split("\n")[:2], *lines, ""])


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["alke", "mammoth"])
def test_as_far_as_a_rig_goes_in_its_own_trot_its_joints_are_in_range(name, clip, chart, tmp_path):
    """An elbow or a shoulder that folds farther than its animal's; folded farther by hand it is found."""
    made, path = clip(name, "trot"), tmp_path / "a.bvh"
    path.write_bytes(made.bvh())
    plain = [each for each in check(see(*load_motion(path, chart(name)[0]))) if each.limb == "LF"]
    assert {each.kind for each in plain} == {"joint out of range"}
    assert check_file(path, map_path=chart(name)[0]).findings == ()
    kinds = set()
    for degrees in (25.0, -25.0):
        path.write_text(bumped(made.bvh(), plain[0].joint, plain[0].first_frame - 1, degrees))
        found = check_file(path, map_path=chart(name)[0]).findings
        kinds |= {each.kind for finding in found for each in (finding, *finding.follows)}
    assert "joint out of range" in kinds
