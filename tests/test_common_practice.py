"""What animators do by rule, of horses mostly. Common practice, no source, for every check in this file."""

import numpy as np
import pytest

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.gait.gait import load_gait
from gaitgen.motion.flesh import pose
from gaitgen.motion.kinematics import included_angles_rad, landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.motion.report import report
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad

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


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
@pytest.mark.parametrize("frames", COMMON_LENGTHS)
def test_each_ear_goes_its_own_way(animal, frames):
    """A little, at a walk: more than 3 degrees and less than 6, and never as one."""
    clip = make_cycle(Request(animal=animal, frames=frames))
    pitch = np.degrees(pitch_roll_yaw_rad(clip.rotations)[:-1, :, 0])
    left, right = (pitch[:, clip.animal.joint(f"ear_{side}")] for side in "LR")
    assert all(3.0 < np.ptp(ear) < 6.0 for ear in (left, right))
    assert abs(np.corrcoef(left, right)[0, 1]) < 0.5
    assert np.ptp(left - right) > 1.5


def test_the_tail_goes_against_the_hips(clip):
    _, tail, hips, _ = _heights(clip)
    assert np.corrcoef(tail, hips)[0, 1] < -0.3


@pytest.fixture(scope="module", params=HORSES)
def walking(request):
    return make_cycle(Request(animal=request.param, frames=24))


def _tail(clip):
    """The joints of the tail, and (frames, joints, 2) how far their bones swing aside and ahead. [m]"""
    joints = list(next(part for part in clip.animal.hanging if part.name == "tail").joints)
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    bones = (world[:-1, joints] @ clip.animal.tips_m[joints][..., None])[..., 0]
    return joints, bones[..., [1, 0]] - bones[..., [1, 0]].mean(axis=0)


def test_the_tail_swings_aside_once_a_stride_each_joint_wider_and_later(walking):
    joints, swing = _tail(walking)
    waves = np.fft.rfft(swing[..., 0], axis=0)
    lengths = np.linalg.norm(walking.animal.tips_m[joints], axis=1)
    assert np.all(np.abs(waves[1]) > 2.0 * np.abs(waves[2:6]).max(axis=0))
    assert np.all(np.diff(np.abs(waves[1]) / lengths) > 0.0)
    later = -np.diff(np.unwrap(np.angle(waves[1]))) / (2.0 * np.pi)  # of a stride
    assert np.all((later > 0.015) & (later < 0.10))


def test_the_tail_does_not_kick_with_the_legs(walking):
    """It hangs: it goes less to the front and back than to the sides, and never lifts in a jerk."""
    _, swing = _tail(walking)
    aside, ahead = np.ptp(swing.sum(axis=1), axis=0)
    assert 0.03 < aside / walking.animal.withers_height_m < 0.12
    assert ahead < 0.8 * aside


def test_the_tail_hangs_clear_of_the_legs(walking):
    """What hangs under the dock is not in a leg by more than the hair gives."""
    posed = pose(walking, np.arange(walking.frames - 1))
    share = np.linspace(0.0, 1.0, 5)[:, None]

    def balls(which):
        ends, radii = posed.ends_m[:, which], posed.body.radii_m[which]
        places = ends[:, :, None, 0] * (1.0 - share) + ends[:, :, None, 1] * share
        size = radii[:, :1] * (1.0 - share[:, 0]) + radii[:, 1:] * share[:, 0]
        return places.reshape(len(ends), -1, 3), size.ravel()

    hair, thick = balls(posed.body.layer("tail"))
    legs, wide = balls(posed.body.limbs(["LH", "RH"]))
    away = np.linalg.norm(hair[:, :, None] - legs[:, None], axis=-1) - thick[:, None] - wide
    dock, _ = world_frames(walking.animal, walking.root_path_m, walking.rotations)
    height_m = walking.animal.withers_height_m
    under = hair[..., 2] < dock[:-1, walking.animal.joint("tail_1"), None, 2] - 0.12 * height_m
    assert away[under].min() > -0.015 * height_m


def test_a_hind_leg_is_not_stretched_before_it_lands(walking):
    """A stifle that opens and closes again before the foot is down reads as a stumble."""
    angles = np.degrees(included_angles_rad(walking.animal, walking.rotations))[:-1]
    stifle = angles[:, walking.animal.joint("tibia_R")]
    landing = round(float(walking.steps.touchdown_s[list(walking.steps.limb).index(3)]) * 24)
    before = np.roll(stifle, -landing)
    folded = int(np.argmin(before))
    assert before[folded:].max() < before[0] + 4.5


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
@pytest.mark.parametrize("frames", [24, 28, 32])
def test_a_hind_leg_folds_at_once_after_it_leaves(animal, frames):
    """A fold that stops half-way and goes on reads as a hitch: no frame closes by half of those around it."""
    clip = make_cycle(Request(animal=animal, frames=frames))
    stifle = np.degrees(included_angles_rad(clip.animal, clip.rotations))[:-1, clip.animal.joint("tibia_R")]
    left = round(float(clip.steps.liftoff_s[list(clip.steps.limb).index(3)]) * 24)
    after = np.roll(stifle, 1 - left)  # the last frame of the stance is its second
    closes = -np.diff(after[: int(np.argmin(after)) + 1])
    before = np.maximum.accumulate(closes)[:-2]
    later = np.maximum.accumulate(closes[::-1])[::-1][2:]
    assert np.all(closes[1:-1] > 0.5 * np.minimum(before, later))


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


@pytest.mark.parametrize("animal", animal_names())
def test_no_neck_is_still_at_a_walk(animal):
    """Common practice, no source: neck and head give with each step, seen from the side; a cat's least."""
    clip = make_cycle(Request(animal=animal))
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    ahead = landmark_m(clip.animal, positions, world, "poll") - positions[:, clip.animal.neck[0]]
    pitch_deg = np.degrees(np.arctan2(ahead[:, 2], np.linalg.norm(ahead[:, :2], axis=1)))
    assert 1.0 < np.ptp(pitch_deg) < 25.0


RUNS = [
    (animal, gait)
    for animal in animal_names()
    if animal != "elephant"  # whose neck hardly bends
    for gait in load_animal(animal).gaits
    if not load_gait(gait).walks
]


@pytest.mark.sample(6, 2)
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_no_head_is_welded_on_in_a_run(animal, gait):
    """Neck, head and ears move in space and against the trunk, farther where both hind feet go together.

    Least ranges: common practice, no source. Greatest of a head: 20 degrees, horses, Dunbar et al. 2008,
    J Exp Biol 211:3889 (abstract), and monkeys that gallop, Dunbar et al. 2004 (text).
    """
    clip = make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=96.0))
    own = clip.animal
    places, world = world_frames(own, clip.root_path_m, clip.rotations)
    line = places[:, own.head] - places[:, next(part.joints[0] for part in own.hanging if part.kind == "nod")]
    neck = np.degrees(np.arctan2(line[:, 2], line[:, 0]))
    trunk, head = (
        np.degrees(np.arctan2(world[:, joint, 2, 0], world[:, joint, 0, 0]))
        for joint in (own.chest, own.head)
    )
    has_lead = load_gait(gait).has_lead
    assert np.ptp(neck) > (6.0 if has_lead else 2.0)
    assert np.ptp(neck - trunk) > (6.0 if has_lead else 2.0)
    assert (2.0 if has_lead else 1.0) < np.ptp(head) < 20.0
    for ear in (part for part in own.hanging if part.name.startswith("ear")) if has_lead else ():
        turned = pitch_roll_yaw_rad(matrix_from_quaternion(clip.rotations[:, ear.joints[0]]))[:, 0]
        assert np.degrees(np.ptp(turned)) > 6.0


@pytest.mark.sample(5, 1)
@pytest.mark.parametrize(
    ("animal", "gait"), [(a, g) for a, g in RUNS if load_gait(g).has_lead and g != "half_bound"]
)
def test_no_trunk_gallops_on_rails(animal, gait):
    """Seen from the front and from above hips and chest turn and roll with the feet that lead.

    Common practice, no source: the hip of the leading leg goes ahead; little in horses, more in supple backs.
    """
    clip = make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=96.0))
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    supple = clip.animal.back.bending_rad > np.radians(15.0)
    for joint in (clip.animal.spine[0], clip.animal.chest):
        roll, yaw = np.degrees(np.ptp(pitch_roll_yaw_rad(world[:, joint])[:, 1:], axis=0))
        assert (4.0 if supple else 1.0) < yaw < 13.0
        assert 2.0 < roll < 13.0


LONG_TAILED = [
    (animal, gait)
    for animal, gait in RUNS
    if load_gait(gait).has_lead
    and gait == load_animal(animal).gaits[-1]
    and any(part.name == "tail" and len(part.joints) > 3 for part in load_animal(animal).hanging)
]


@pytest.mark.sample(4, 1)
@pytest.mark.parametrize(("animal", "gait"), LONG_TAILED)
def test_no_tail_is_a_stiff_curve_at_a_gallop(animal, gait):
    """Its end turns against its root, its last joints one after the other: common practice, no source."""
    clip = make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=96.0))
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    joints, _ = _tail(clip)
    lines = np.stack([world[:-1, joint] @ clip.animal.tips_m[joint] for joint in joints], axis=1)
    pitch = np.unwrap(np.arctan2(lines[..., 2], -lines[..., 0]), axis=0)  # (frames, joints)
    assert 14.0 < np.ptp(np.degrees(pitch[:, -1] - pitch[:, 0])) < 60.0
    waves = np.fft.rfft(pitch[:, -3:], axis=0)[1]
    behind = np.angle(waves[:-1] / waves[1:]) / (2.0 * np.pi)  # of a stride
    assert np.all(behind > 0.005)
    assert 0.02 < behind.sum() < 0.5
