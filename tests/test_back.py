"""Backwards: the walk that it is in reverse, in diagonal pairs, with negative speed and all laws."""

import numpy as np
import pytest
from gait_laws import (
    assert_bones_and_joints_hold,
    assert_contacts_come_back_from_the_file,
    assert_feet_stand_still_on_the_ground,
    assert_forces_obey_newton,
    assert_key_poses_are_in_order,
    assert_nothing_is_infinite,
)

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.course.support import support_shares, support_summary
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import found_feet, loop_gap
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.pipeline import settle
from gaitgen.pipeline.backwards import in_reverse
from gaitgen.pipeline.temper import tempered
from gaitgen.pipeline.to_clip import to_clip


def back(**rest):
    return make_cycle(Request(gait="back", **rest))


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse", "dog", "cat"])
@pytest.mark.parametrize(("frames", "start", "in_place"), [(28, "RH", True), (40, "LF", False)])
def test_laws_hold(animal, frames, start, in_place):
    settled = settle(Request(gait="back", animal=animal, frames=frames, start=start, in_place=in_place))
    made = tempered(settled)
    clip = to_clip(settled, made, made.notices)
    assert_nothing_is_infinite(clip)
    assert_bones_and_joints_hold(clip)
    assert_feet_stand_still_on_the_ground(clip)
    assert loop_gap(clip) < 1e-9
    assert_forces_obey_newton(clip.animal, made.solved.body)
    assert_contacts_come_back_from_the_file(clip, FileSpace())
    assert_key_poses_are_in_order(clip)
    contact = dict(zip(clip.steps.limb.tolist(), clip.steps.touchdown_s, strict=True))
    assert contact[LIMBS.index(start)] == pytest.approx(0.0, abs=1e-12)


def test_it_goes_backwards_facing_forwards():
    clip = back(in_place=False)
    assert clip.facts.speed_m_s < -0.3
    gone = clip.root_path_m[-1, 0] - clip.root_path_m[0, 0]
    assert gone == pytest.approx(clip.facts.speed_m_s * clip.facts.period_s, rel=1e-6)
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    assert np.all(places[:, clip.animal.joint("head"), 0] > places[:, 0, 0])
    found = found_feet(back())
    assert found.in_place
    assert found.belt_m_s[0] == pytest.approx(-clip.facts.speed_m_s, rel=1e-3)


def test_diagonal_pairs_take_turns_and_there_is_no_flight():
    """Backing in two beats without flight: common practice of riders, no source."""
    shares = support_summary(support_shares(back().steps))
    assert set(shares) == {"diagonal", "four feet"}
    assert shares["diagonal"] > 0.5


def test_feet_land_toe_first_behind_and_leave_in_front():
    clip = back()
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    rate, frames = clip.frame_rate_hz, clip.facts.frames
    for limb, on, off in zip(clip.steps.limb, clip.steps.touchdown_s, clip.steps.liftoff_s, strict=True):
        foot, top = clip.animal.limbs[limb].foot_joint, clip.animal.limbs[limb].top
        pitch = np.degrees(pitch_roll_yaw_rad(world)[:, foot, 0])
        lands, stands, leaves = (round(moment * rate) % frames for moment in (on, (on + off) / 2.0, off))
        assert pitch[lands] < -10.0  # heel up, toe down
        assert abs(pitch[stands]) < 1.0
        ahead = places[:, foot, 0] - places[:, top, 0]
        assert ahead[leaves] > ahead[stands] > ahead[lands]


def test_what_hangs_trails_and_does_not_lead():
    """The tail, a damped follower, comes after the croup going backwards as it does going forwards."""
    for gait in ("walk", "back"):
        clip = make_cycle(Request(gait=gait, frames=32))
        yaw = pitch_roll_yaw_rad(clip.rotations)[:-1, :, 2]
        joints = [clip.animal.joint(name) for name in ("tail_2", "tail_4")]
        phase = [np.angle(np.fft.rfft(yaw[:, joint])[1]) for joint in joints]
        later = (phase[0] - phase[1]) % (2.0 * np.pi)
        assert 0.0 < later < np.pi


def test_a_cat_takes_shorter_strides_backwards():
    """Buford et al. 1990, abstract, at 0.3 to 0.6 m/s: strides 30 % shorter, stance 64 +- 4 % of them."""
    forward, clip = (
        make_cycle(Request(animal="cat", gait=gait, speed_m_s=0.45)) for gait in ("walk", "back")
    )
    assert clip.facts.stride_length_m / forward.facts.stride_length_m == pytest.approx(0.7, abs=0.08)
    assert clip.facts.duty_factor == pytest.approx(0.64, abs=0.04)


@pytest.mark.sample(1)
@pytest.mark.parametrize("frames", [24, 28, 40])
@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
def test_a_backing_horse_sits_and_tucks_its_chin(animal, frames):
    """Croup lowered, chin tucked, short steps of bent hind legs: common practice of riders, no source."""
    clips = {name: make_cycle(Request(gait=name, animal=animal, frames=frames)) for name in ("walk", "back")}
    found = {name: _carriage(clip) for name, clip in clips.items()}
    height = clips["back"].animal.withers_height_m
    assert clips["back"].animal.hip_height_m - found["back"]["hips"] > 0.05 * height
    assert found["walk"]["hips"] - found["back"]["hips"] > 0.02 * height
    # Lower behind than in front, against the walk.
    lean = {name: each["chest"] - each["hips"] for name, each in found.items()}
    assert lean["back"] - lean["walk"] > 0.03 * height
    assert found["back"]["face"] > found["walk"]["face"] + 10.0
    assert 68.0 < found["back"]["face"] < 92.0
    # A foot that lands is behind its hip by less than one that leaves at a walk, and is not stretched out.
    assert found["back"]["behind"] < 0.75 * found["walk"]["behind"]
    assert found["back"]["hock"] < found["walk"]["hock"] - 5.0


def _carriage(clip):
    """Mean heights [m] and slope of the face [deg]; the hind leg as its foot is farthest back."""
    animal, foot = clip.animal, clip.animal.limb("hind")
    places, world = world_frames(animal, clip.root_path_m, clip.rotations)
    hip, toe = places[:, foot.top], places[:, foot.foot_joint]
    muzzle = world[:, animal.head] @ np.array(animal.landmarks_m["muzzle"][1])
    far = np.argmin(toe[:, 0] - hip[:, 0])
    stifle, hock, fetlock = (places[far, row] for row in foot.joints[1:4])
    up, down = stifle - hock, fetlock - hock
    return {
        "hips": hip[:, 2].mean(),
        "chest": places[:, animal.limb("fore").top, 2].mean(),
        "face": np.degrees(np.arctan2(-muzzle[:, 2], muzzle[:, 0])).mean(),
        "behind": hip[far, 0] - toe[far, 0],
        "hock": np.degrees(np.arccos(up @ down / np.linalg.norm(up) / np.linalg.norm(down))),
    }


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse", "dog", "cat"])
def test_check_finds_nothing_and_says_that_it_backs(animal, tmp_path):
    path = tmp_path / "clip.bvh"
    path.write_bytes(encode(back(animal=animal), FileSpace()))
    checked = check_file(path, animal=animal)
    assert [(each.kind, each.limb) for each in checked.findings] == []
    assert "back, diagonal pairs" in checked.text()


def test_key_poses_are_its_two_beats_and_what_is_between():
    names = [pose.name for pose in back().key_poses]
    assert [name for name in names if "contact" in name] == [
        "RH + LF contact",
        "LH + RF contact",
        "RH + LF contact",
    ]
    assert len(names) > 4


def test_report_has_a_speed_below_zero(tmp_path, capsys):
    assert run(["cycle", "back", "--frames", "30", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "gait          back, diagonal pairs" in said
    assert "speed         -" in said


def test_curves_in_reverse_are_themselves_the_second_time():
    curves = {"a": np.arange(5.0), "b": (np.arange(3.0),)}
    once = in_reverse(curves, 5, last=2)
    np.testing.assert_array_equal(once["a"], [2.0, 1.0, 0.0, 4.0, 3.0])
    np.testing.assert_array_equal(in_reverse(once, 5, last=2)["a"], curves["a"])
