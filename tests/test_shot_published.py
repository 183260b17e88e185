"""What was measured on animals that change their gait, set off, and climb: rows whose source was read."""

from functools import cache

import numpy as np
import pytest

from gaitgen.course.ground import Ground
from gaitgen.course.surfaces import stairs
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import end_middle_m, world_frames
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.join import make_join
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of

LEE = "Lee 2011, J Exp Biol 214:402 (abstract): dogs trotting on slopes of 15 degrees"
WALTER = "Walter & Carrier 2009, J Exp Biol 212:1930 (abstract): dogs that accelerate"
BLASZCZYK = "Blaszczyk & Dobrzecka 1989, Acta Neurobiol Exp 49 (abstract): dogs that change their gait"
DUTTO = "Dutto et al. 2004, J Exp Biol 207:3507, as quoted in J Exp Biol 211:935 (legend of figure 7)"


@cache
def trot(animal, grade):
    passage = Passage(cycle=Request(gait="trot", animal=animal, frame_rate_hz=48.0), strides=6)
    asked = ShotRequest((passage,), starts=False, ends=False, ground=Ground(grade, 0.0))
    return make_shot(shot_of(asked)).clip


def middle(clip):
    return slice(clip.frames // 4, 3 * clip.frames // 4)


@pytest.mark.sample(1)
@pytest.mark.parametrize(("degrees", "sign"), [(15.0, 1.0), (-15.0, -1.0)])
def test_up_a_slope_all_limbs_only_propel_and_down_it_they_only_brake(degrees, sign):
    """The force along the slope has one sign in every limb (Lee 2011)."""
    clip = trot("dog", float(np.tan(np.radians(degrees))))
    rows, slope = middle(clip), np.radians(degrees)
    ahead, up = clip.plan.force_horizontal_n[rows][..., 0], clip.plan.force_n[rows]
    along = sign * (ahead * np.cos(slope) + up * np.sin(slope))
    assert (np.maximum(-along, 0.0).sum(axis=0) < 0.01 * np.abs(along).sum(axis=0)).all(), LEE


def _fore_share(clip, rows):
    force = clip.plan.force_n[rows]
    return force[:, :2].sum() / force.sum()


def test_the_load_shifts_farther_uphill_than_downhill():
    """Lee 2011."""
    grade = float(np.tan(np.radians(15.0)))
    level, up, down = (
        _fore_share(clip, middle(clip)) for clip in (trot("dog", g) for g in (0.0, grade, -grade))
    )
    assert level - up > abs(down - level), LEE
    assert up < level


def test_the_load_of_a_trotting_horse_shifts_by_five_points_on_ten_per_cent():
    """From 57 to 52 % on the fore limbs (Dutto et al. 2004)."""
    level, up = (_fore_share(clip, middle(clip)) for clip in (trot("riding_horse", g) for g in (0.0, 0.1)))
    assert level - up == pytest.approx(0.05, abs=0.02), DUTTO


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["dog", "riding_horse"])
def test_down_a_slope_fore_limbs_carry_more(animal):
    """By statics; and by less than hind limbs do up it (Lee 2011, of dogs)."""
    level, up, down = (
        _fore_share(clip, middle(clip)) for clip in (trot(animal, g) for g in (0.0, 0.1, -0.1))
    )
    assert 0.01 < down - level < level - up, LEE


def test_fore_limbs_carry_less_while_a_dog_speeds_up():
    """43 % of the load, against 56 to 64 % at an even speed (Walter & Carrier 2009)."""
    made = make_join("halt", "trot", Request(animal="dog", frame_rate_hz=48.0))
    place = made.root_motion()[0][:, 0]
    gained = np.gradient(np.gradient(place)) * 48.0**2
    share = _fore_share(made.clip, gained > 0.5 * gained.max())
    assert share == pytest.approx(0.43, abs=0.04), WALTER
    own = made.timeline.cycles[-1].solved.body.balance.force_n[..., 2]
    assert 0.56 <= own[:, :2].sum() / own.sum() <= 0.64, WALTER


def test_no_animal_speeds_up_so_fast_that_it_would_tip_over():
    """At low speed the pitch is the limit (Williams et al. 2009, Biol Lett 5:610): a < g x / h, by statics.

    x is from the centre of mass to the hind feet, h its height, taken from the standing animal.
    """
    from gaitgen.animal.mass import whole_body
    from gaitgen.animal.standing import standing_positions_m

    made = make_join("halt", "trot", Request(animal="dog", frame_rate_hz=48.0))
    animal = made.clip.animal
    standing, centre = standing_positions_m(animal), whole_body(animal).centre_m
    behind = centre[0] - standing[animal.limb("hind").foot_joint, 0]
    gained = np.gradient(np.gradient(made.root_motion()[0][:, 0])) * 48.0**2
    assert gained.max() < GRAVITY_M_S2 * behind / centre[2]


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["dog", "riding_horse"])
def test_from_a_trot_to_a_canter_one_diagonal_stays_together_and_the_other_parts(animal):
    """Blaszczyk & Dobrzecka 1989."""
    made = make_join("trot", "canter", Request(animal=animal))
    steps, length_s = made.clip.steps, made.timeline.cycles[1].frames / 24.0
    apart = {}
    for fore, hind in ((0, 3), (1, 2)):
        lands, follows = (np.sort(steps.touchdown_s[steps.limb == limb]) for limb in (hind, fore))
        inside = lands[(lands > -0.1) & (lands < made.clip.frames / 24.0 + 0.1)]
        nearest = follows[np.abs(follows - inside[:, None]).argmin(axis=1)]
        apart[fore] = np.abs(nearest - inside) / length_s
    assert apart[1].max() < 0.06, BLASZCZYK  # right fore and left hind, of a left lead
    assert apart[0][0] < 0.06, BLASZCZYK
    assert apart[0][-1] > 0.2, BLASZCZYK
    between = (apart[0] > 0.06) & (apart[0] < 0.9 * apart[0][-1])
    assert between.sum() <= 2, BLASZCZYK  # within one stride or so


ACROSS = "BMC Vet Res 2014, 10:241 (abstract): dogs across slopes of 10 to 15 degrees"
CIRCLE = "Sensors 2023, 23:4232 (abstract): horses on circles of 10 m and straight ahead"
SLOET = "Sloet van Oldruitenborgh-Oosterbaan et al. 1997, Equine Vet J Suppl 23 (abstract): 4 m/s, 6 % up"
STAIRS = "VCOT 2011, 24:99, and JSAP 2010 and 2013 (abstracts): dogs on stairs"


@cache
def walked(animal, gait="walk", ground=None, turn=None, strides=8):
    """Make a passage that goes on, on a slope or round a turn from its start."""
    passage = Passage(cycle=Request(gait=gait, animal=animal, frame_rate_hz=48.0), strides=strides)
    more = {} if turn is None else {"pieces": (turn,)}
    asked = ShotRequest((passage,), starts=False, ends=False, ground=ground or Ground(), **more)
    return make_shot(shot_of(asked))


@pytest.mark.sample(1)
@pytest.mark.parametrize("degrees", [10.0, 15.0])
def test_across_a_slope_the_fore_foot_down_it_loads_and_the_hind_foot_up_it_unloads(degrees):
    """BMC Vet Res 2014."""
    left_up = Ground(float(np.tan(np.radians(degrees))), np.pi / 2.0)
    level, across = (walked("dog", ground=ground).clip for ground in (None, left_up))
    was, now = (clip.plan.force_n[middle(clip)].sum(axis=0) for clip in (level, across))
    change = now / now.sum() - was / was.sum()
    assert change[1] > 0.005, ACROSS
    assert change[2] < -0.0025, ACROSS


def _steps_m(made, limb):
    """How far a foot lands ahead of the other of its pair, which has landed before it. [m]"""
    steps, pair = made.clip.steps, limb ^ 1
    own, other = (np.flatnonzero(steps.limb == number) for number in (limb, pair))
    last = np.searchsorted(steps.touchdown_s[other], steps.touchdown_s[own]) - 1
    along = made.path.distance_m(steps.touchdown_s[own])
    kept = (last >= 0) & (along > 1.0) & (along < along.max() - 1.0)
    return float(np.mean(steps.place_m[own[kept], 0] - steps.place_m[other[last[kept]], 0]))


def test_across_a_slope_the_fore_step_down_it_is_shorter():
    """BMC Vet Res 2014."""
    made = walked("dog", ground=Ground(float(np.tan(np.radians(12.0))), np.pi / 2.0))
    assert _steps_m(made, 1) < 0.99 * _steps_m(made, 0), ACROSS


def _stride_s(made, limb):
    mine = made.clip.steps.limb == limb
    return float(np.diff(made.clip.steps.touchdown_s[mine])[1:-1].mean())


def _stance_s(made, limb):
    steps = made.clip.steps
    mine = steps.limb == limb
    return float((steps.liftoff_s - steps.touchdown_s)[mine][1:-1].mean())


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_on_a_circle_strides_are_slower(gait):
    """Stride frequency is lower at walk and trot (Sensors 2023)."""
    straight, round_it = walked("riding_horse", gait), walked("riding_horse", gait, turn=(40.0, 0.2))
    assert _stride_s(round_it, 0) > 1.005 * _stride_s(straight, 0), CIRCLE


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_on_a_circle_the_inner_fore_foot_is_down_for_longer(gait):
    """Sensors 2023; Hobbs, Licka & Polman 2011, Equine Vet J 43:686 (abstract), at a canter."""
    made = walked("riding_horse", gait, turn=(40.0, 0.2))
    assert _stance_s(made, 0) > 1.005 * _stance_s(made, 1), CIRCLE


@pytest.mark.thorough
def test_a_horse_that_trots_uphill_has_longer_stances():
    """Sloet 1997: stride and stance longer."""
    level, up = walked("riding_horse", "trot"), walked("riding_horse", "trot", Ground(0.06, 0.0))
    assert _stance_s(up, 2) > 1.005 * _stance_s(level, 2), SLOET


@cache
def uphill(animal, fps, grade):
    passage = Passage(cycle=Request(gait="trot", animal=animal, frame_rate_hz=fps), strides=4)
    asked = ShotRequest((passage,), starts=False, ends=False, ground=Ground(grade, 0.0))
    return make_shot(shot_of(asked))


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "fps"),
    [("dog", 48.0), ("riding_horse", 24.0), ("riding_horse", 48.0), ("dog", 60.0), ("cat", 48.0)],
)
def test_a_trot_goes_uphill_as_high_and_evenly_as_on_the_level(animal, fps):
    """Its two steps take as long, and the trunk is nowhere lower, nor the chest thrown up and down farther.

    Of strides of 25 frames steps take 12 and 13 by turns, and a dog's chest went up and down by 12 % of the
    height of its hips, where 8 % are its own, and sank by 2.5 % more.
    """
    level, up = (uphill(animal, fps, grade) for grade in (0.0, 0.1))
    steps = up.clip.steps
    lands = np.sort(steps.touchdown_s[(steps.limb >= 2) & (steps.touchdown_s >= 0.0)]) * fps
    assert np.abs(np.diff(lands, 2)).max() < 1.01
    left = np.sort(steps.touchdown_s[steps.limb == 2]) * fps
    inside = np.diff(left)[1:-2]
    assert np.all(inside % 2.0 == 0.0)
    for end in ("fore", "hind"):
        own, now = (_over_ground_m(made, end) for made in (level, up))
        assert now.min() > own.min() - 0.01 * up.clip.animal.hip_height_m, end
    own, now = (np.ptp(made.clip.plan.chest_heave_m) for made in (level, up))
    assert now < 1.25 * own


def _over_ground_m(made, end):
    clip = made.clip
    place = end_middle_m(clip.animal, *world_frames(clip.animal, clip.root_path_m, clip.rotations), end)
    return (place[:, 2] - made.ground.height_m(place[:, :2]))[middle(clip)]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "gait", "fps"),
    [("riding_horse", "walk", 48.0), ("dog", "trot", 60.0)],
)
def test_after_a_bend_a_passage_is_its_cycle_again_on_whole_frames(animal, gait, fps):
    """And in it all strides but the first and the last are as long, by whole frames: our own promise."""
    request = Request(gait=gait, animal=animal, frame_rate_hz=fps)
    way = ((8.0, 0.0), (6.0, 0.2 if animal == "riding_horse" else 0.7))
    asked = ShotRequest((Passage(cycle=request, distance_m=26.0),), starts=False, ends=False, pieces=way)
    made = make_shot(shot_of(asked))
    (piece,) = made.timeline.pieces
    cycle, (slow,) = made.timeline.cycles[0], piece.lingers
    mine = made.clip.steps.touchdown_s[made.clip.steps.limb == 2] * fps
    lengths = np.diff(mine[(mine > slow.first + cycle.frames) & (mine < slow.after - cycle.frames)])
    assert lengths.size >= 2
    np.testing.assert_allclose(lengths, lengths[0], atol=1e-9)
    assert lengths[0] > cycle.frames + 0.5
    first, last = made.clip.rotations[[0, -1], 1:]  # a whole number of strides each from the bend
    np.testing.assert_allclose(last, first, atol=1e-4)


def _range_deg(made, joint):
    clip = made.clip
    row = clip.animal.joint_names.index(joint)
    pitch = pitch_roll_yaw_rad(matrix_from_quaternion(clip.rotations[middle(clip), row]))[:, 0]
    return float(np.degrees(np.ptp(pitch)))


@pytest.mark.sample(1)
@pytest.mark.parametrize("bone", ["tibia", "metatarsus"])
def test_up_stairs_stifles_and_hocks_of_dogs_move_farther(bone):
    """All hind joints move through larger ranges up stairs than on level ground."""
    level, up = walked("dog"), walked("dog", ground=stairs([(1.2 + 0.35 * k, 0.1) for k in range(12)], 0.0))
    assert _range_deg(up, f"{bone}_L") > _range_deg(level, f"{bone}_L") + 3.0, STAIRS
