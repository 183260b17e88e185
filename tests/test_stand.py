"""An animal that stands: planted, shifting its weight, breathing, moving head, ears and tail, in a loop."""

import numpy as np
import pytest
from gait_laws import assert_bones_and_joints_hold, assert_feet_stand_still_on_the_ground

from gaitgen import Request, animal_names, make_cycle
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.course.named_gait import summarise
from gaitgen.errors import RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.motion.kinematics import end_middle_m, included_angles_rad, world_frames
from gaitgen.motion.measure import loop_gap
from gaitgen.numerics.rotations import pitch_roll_yaw_rad


def stood(animal="riding_horse", **rest):
    return make_cycle(Request(gait="stand", animal=animal, **rest))


@pytest.mark.sample(11)
@pytest.mark.parametrize("animal", animal_names())
@pytest.mark.parametrize("frames", [48, 96, 150])
def test_laws_hold(animal, frames):
    clip = stood(animal, frames=frames)
    assert clip.frames == frames + 1
    assert_bones_and_joints_hold(clip)
    assert_feet_stand_still_on_the_ground(clip)
    assert loop_gap(clip) < 1e-9
    force = clip.plan.force_n
    assert force.min() > 0.0
    np.testing.assert_allclose(force.sum(axis=1), clip.animal.body_mass_kg * 9.80665, rtol=1e-9)
    step = np.abs(np.diff(pitch_roll_yaw_rad(clip.rotations), axis=0)).max()
    assert np.degrees(step) < 8.0  # an ear's, in a frame


@pytest.mark.parametrize("animal", ["riding_horse", "dog"])
def test_the_weight_is_over_the_legs_that_carry_it(animal):
    """Statics: what the feet carry turns nothing about the middle of hips and chest."""
    clip = stood(animal)
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    for pair, end in ((slice(0, 2), "fore"), (slice(2, 4), "hind")):
        force, foot = clip.plan.force_n[:, pair], clip.steps.place_m[pair, 1]
        pressed = (force @ foot) / force.sum(axis=1)
        over = end_middle_m(clip.animal, places, world, end)[:, 1]
        assert np.corrcoef(pressed, over)[0, 1] > 0.99
        np.testing.assert_allclose(pressed, over, atol=0.1 * np.ptp(pressed))
    names = [pose.name for pose in clip.key_poses]
    assert names == ["weight even", "weight on the left", "weight even", "weight on the right", "weight even"]
    left, right = (round(clip.key_poses[k].frame) - 1 for k in (1, 3))
    assert clip.plan.force_n[left, 2] > 1.5 * clip.plan.force_n[left, 3]
    assert clip.plan.force_n[right, 3] > 1.5 * clip.plan.force_n[right, 2]


def test_it_breathes_at_its_own_rate():
    """53.5 M^-0.26 breaths a minute at rest (Stahl 1967, from memory): big animals breathe slowly."""

    def breaths(animal):
        breath = stood(animal, frames=480).plan.breath[:-1]  # 20 s
        return int(np.count_nonzero((breath > 0.5) & (np.roll(breath, 1) <= 0.5)))

    assert breaths("cat") > breaths("dog") > breaths("riding_horse") >= breaths("elephant") >= 1
    assert breaths("riding_horse") == pytest.approx(53.5 * 538.0**-0.26 / 3.0, abs=0.5)


def test_ears_move_one_after_the_other_and_the_tail_swings_at_three_times_its_own_frequency():
    """Tails: Matherne et al. 2018, J Exp Biol 221:jeb178905, abstract."""
    clip = stood(frame_rate_hz=120.0, frames=480)
    yaw = pitch_roll_yaw_rad(clip.rotations)[:-1, :, 2]
    ears = [yaw[:, clip.animal.joint(name)] for name in ("ear_L", "ear_R")]
    apart = abs(int(np.abs(ears[0]).argmax()) - int(np.abs(ears[1]).argmax()))
    assert apart > 60
    tail = yaw[:, clip.animal.joint("tail_1")]
    most_hz = int(np.abs(np.fft.rfft(tail - tail.mean())).argmax()) / 4.0
    assert most_hz == pytest.approx(3.0 * clip.animal.part("tail").frequency_hz, abs=0.26)


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse", "dog"])
def test_check_finds_nothing_and_calls_it_no_gait(animal, tmp_path):
    path = tmp_path / "clip.bvh"
    path.write_bytes(encode(stood(animal), FileSpace()))
    checked = check_file(path, animal=animal)
    assert [(each.kind, each.limb) for each in checked.findings] == []
    assert "none: no foot leaves the ground" in checked.text()


@pytest.mark.thorough
def test_it_has_a_name_and_a_report(tmp_path, capsys):
    assert summarise(stood().steps).name == "stand"
    assert run(["cycle", "stand", "--out", str(tmp_path), "--controls", "--glb", "--pose-frames"]) == 0
    said = capsys.readouterr().out
    assert "gait          stand" in said
    assert "in place, frames 1 to 97" in said
    assert "speed" not in said
    assert (tmp_path / "riding_horse_stand_96.bvh").is_file()


def test_variants_take_it(tmp_path, capsys):
    assert run(["variants", "stand", "--frames", "48", "--out", str(tmp_path), "--workers", "1"]) == 0
    assert (tmp_path / "riding_horse_stand_48.bvh").is_file()
    assert "stand" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("asked", "what"),
    [({"speed_m_s": 1.0}, "speed"), ({"lead": "left"}, "lead"), ({"duty_factor": 0.6}, "duty factor")],
)
def test_what_only_an_animal_that_goes_has_is_refused(asked, what):
    with pytest.raises(RequestError, match=f"a stand has no {what}, its feet do not leave the ground"):
        stood(**asked)


def test_a_horse_rests_a_hind_leg_that_is_relieved():
    """Common practice, no source: on the toe, hock and stifle bent, the hip of that side low."""
    clip = stood()
    left, right = (round(clip.key_poses[k].frame) - 1 for k in (1, 3))
    angles = np.degrees(included_angles_rad(clip.animal, clip.rotations))
    for name in ("tibia_L", "hind_cannon_L"):
        bent = angles[:, clip.animal.joint(name)]
        assert bent[right] < bent[left] - 8.0
    hoof = clip.animal.joint("hind_hoof_L")
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    tipped = np.degrees(np.arctan2(world[:, hoof, 2, 0], world[:, hoof, 0, 0]))
    assert abs(tipped[left]) < 1.0
    assert tipped[right] < -30.0
    hips = places[right, [clip.animal.joint(f"femur_{side}") for side in "LR"], 2]
    assert hips[0] < hips[1] - 0.015
