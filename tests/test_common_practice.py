"""What animators of horses do by rule. Common practice, no source, for every check in this file."""

import numpy as np
import pytest

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.motion.kinematics import landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.motion.report import report
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
COMMON_LENGTHS = (16, 24, 32)


@pytest.fixture(scope="module", params=[(a, n) for a in HORSES for n in COMMON_LENGTHS], ids=str)
def clip(request):
    animal, frames = request.param
    return make_cycle(Request(animal=animal, frames=frames))


def test_32_frames_have_contacts_at_1_9_17_25():
    feet = report(make_cycle(Request())).feet
    contacts = {foot.foot: foot.contact_frame for foot in feet}
    assert contacts == {"RH": 1, "RF": 9, "LH": 17, "LF": 25}


def test_32_frames_have_hips_low_within_a_frame_of_5_and_21_and_high_of_13_and_29():
    hips = report(make_cycle(Request())).hips
    for turns, wanted in ((hips.low_frames, (5, 21)), (hips.high_frames, (13, 29))):
        assert len(turns) == 2
        assert all(abs(found - frame) <= 1 for found, frame in zip(turns, wanted, strict=True))


def test_lows_and_highs_of_the_hips_are_at_the_same_eighths_at_other_lengths(clip):
    hips, frames = report(clip).hips, clip.frames - 1
    for turns, eighths in ((hips.low_frames, (1, 5)), (hips.high_frames, (3, 7))):
        for found, eighth in zip(turns, eighths, strict=True):
            assert abs(found - 1 - eighth * frames / 8.0) <= 1.0


def test_the_middle_frame_is_the_mirror_of_the_first(clip):
    names = clip.animal.joint_names
    other = [
        names.index(n[:-1] + {"L": "R", "R": "L"}[n[-1]]) if n[-2:] in {"_L", "_R"} else names.index(n)
        for n in names
    ]
    positions, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    middle = positions[(clip.frames - 1) // 2, other] * np.array([1.0, -1.0, 1.0])
    bound = [not name.startswith("ear") for name in names]  # ears are each on its own
    np.testing.assert_allclose(middle[bound], positions[0, bound], atol=1e-6)


def test_eight_key_poses_and_the_last_are_named(clip):
    names = [pose.name for pose in clip.key_poses]
    assert names[0::2] == ["RH contact", "RF contact", "LH contact", "LF contact", "RH contact"]
    assert names[1::2] == ["hips low, chest high", "hips high, chest low"] * 2


def _heights(clip):
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    rows = slice(0, clip.frames - 1)
    head = landmark_m(clip.animal, positions, world, "muzzle")[rows, 2]
    tail = positions[rows, clip.animal.joint("tail_5"), 2] - positions[rows, clip.animal.joint("tail_1"), 2]
    return head, tail, clip.plan.hips_heave_m[rows], clip.plan.chest_heave_m[rows]


def test_the_head_goes_with_the_hips_and_against_the_chest(clip):
    head, _, hips, chest = _heights(clip)
    assert np.corrcoef(head, hips)[0, 1] > 0.7
    assert np.corrcoef(head, chest)[0, 1] < -0.5
    assert 0.03 < np.ptp(head) < 0.20


def test_the_ears_go_against_the_head(clip):
    head, _, _, _ = _heights(clip)
    ear = pitch_roll_yaw_rad(clip.rotations)[:-1, clip.animal.joint("ear_L"), 0]
    assert np.corrcoef(ear, head)[0, 1] < -0.5
    assert np.degrees(np.ptp(ear)) > 3.0


def test_the_tail_goes_against_the_hips(clip):
    _, tail, hips, _ = _heights(clip)
    assert np.corrcoef(tail, hips)[0, 1] < -0.3


def test_hips_and_chest_shift_over_the_feet_that_carry_them(clip):
    positions, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    feet = measure_feet(clip)
    for bone, limbs in (("femur", (2, 3)), ("scapula", (0, 1))):
        across = positions[:, [clip.animal.joint(f"{bone}_{side}") for side in "LR"], 1].mean(axis=1)
        alone = {
            side: feet.planted[:, limb] & ~feet.planted[:, other]
            for side, limb, other in (("L", limbs[0], limbs[1]), ("R", limbs[1], limbs[0]))
        }
        least_m = 0.002 if clip.facts.period_s > 0.9 else 0.0003  # in two thirds of a second there is no time
        assert across[alone["L"]].mean() > least_m > -least_m > across[alone["R"]].mean()


def test_the_back_of_a_horse_hardly_bends(clip):
    back = [clip.animal.joint(n) for n in ("lumbar_1", "thorax_4", "thorax_3", "thorax_2", "thorax_1")]
    turns = np.degrees(pitch_roll_yaw_rad(clip.rotations)[:, back])
    assert np.ptp(turns, axis=0).max() < 5.0


def test_swinging_feet_lift_and_the_sole_shows_behind(clip):
    feet = measure_feet(clip)
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    for limb, name in enumerate(("fore_hoof_L", "fore_hoof_R", "hind_hoof_L", "hind_hoof_R")):
        pitch = np.degrees(pitch_roll_yaw_rad(world[:, clip.animal.joint(name)])[:, 0])
        assert pitch.min() < -45.0
        landing = np.flatnonzero(feet.planted[1:, limb] & ~feet.planted[:-1, limb])[0] + 1
        assert -5.0 <= pitch[landing] <= 5.0
        assert 0.02 < feet.toe_m[:, limb, 2].max() < 0.15
