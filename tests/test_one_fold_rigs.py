"""A rig's own walk passes the check: legs fold once, and the pose in which it stands is no part of it."""

from dataclasses import replace

import numpy as np
import pytest
from make_foreign_rigs import FOREIGN
from make_hard_rigs import HARD
from make_last_rigs import LAST
from make_rigs import base, text
from make_strange_rigs import strange_plans
from rig_measures import charts, clips

from gaitgen import Request
from gaitgen.check.tracked import LEAST_FRAMES
from gaitgen.commands.check_file import check_file
from gaitgen.errors import RigError
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.extremes import turned_besides
from gaitgen.rigs.command import cycle_on_rig, fit

PLANS = {**{name: HARD[name] for name in ("alke",)}, **{name: LAST[name] for name in ("boya", "gacela")}}
PLANS |= {name: strange_plans()[name] for name in ("mule", "griffin", "hound")}
PLANS |= {"dobra": FOREIGN["dobra"]}


@pytest.fixture(scope="module")
def chart(tmp_path_factory):
    return charts(tmp_path_factory.mktemp("once"), PLANS)


@pytest.fixture(scope="module")
def clip(chart):
    return clips(chart)


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


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("name", "frames"),
    [("boya", 32), ("alke", 24), ("alke", 48), ("mule", 16), ("mule", 24), ("gacela", 32), ("boya", 48)],
)
def test_the_legs_of_a_rig_fold_once_whatever_its_proportions(name, frames, clip, chart, tmp_path):
    """A long foot, a short fore limb, a tall one: at other lengths of the walk too."""
    (tmp_path / "a.bvh").write_bytes(clip(name, frames=frames).bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings}
    assert "joint turns back too often" not in found


def stood_first(rig, walk):
    """The walk with the first frame of the rig's file before it."""
    stands = rig.read_text(encoding="utf-8").split("Frame Time")[1].split("\n")[1]
    above, below = walk.decode("utf-8").split("Frames: ")
    count, rest = below.split("\n", 1)
    time, rows = rest.split("\n", 1)
    return f"{above}Frames: {int(count) + 1}\n{time}\n{stands}\n{rows}".encode()


@pytest.mark.sample(2)
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
