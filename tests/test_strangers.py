"""Animals that are no horses, made from their files alone: they stand and walk, and no code knows them."""

import io
import re
import tokenize
import tomllib
from functools import lru_cache
from pathlib import Path

import animal_figures
import animal_measures
import animal_strides
import numpy as np
import pytest

import gaitgen
from gaitgen import Proportions, Request, load_animal, make_cycle
from gaitgen.animal.library import read_skeleton, skeleton_folder
from gaitgen.animal.standing import standing_fault, standing_landmark_m, standing_positions_m
from gaitgen.course.cycle import cycle_timing
from gaitgen.errors import AnimalError
from gaitgen.gait.gait import LIMBS, load_gait, symmetrical
from gaitgen.gait.own_speeds import own_speeds
from gaitgen.gait.tempo import GRAVITY_M_S2, own_gait_at
from gaitgen.motion.kinematics import included_angles_rad, landmark_m, tips_m, world_frames
from gaitgen.motion.measure import (
    bone_lengths_m,
    found_feet,
    loop_gap,
    measure_feet,
    range_margins_rad,
    slip_m,
)
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

LENGTHS = {
    "big_cat": (16, 28),
    "brown_bear": (18, 32),
    "cat": (8, 11, 16, 24, 32, 48),
    "cow": (20, 30),
    "dachshund": (10, 14),
    "dog": (12, 19, 32),
    "donkey": (20, 26),
    "dromedary": (24, 40),
    "elephant": (24, 32, 37, 48, 64, 96),
    "foal": (20, 26),
    "giraffe": (28, 40),
    "goat": (12, 18),
    "greyhound": (14, 20),
    "hare": (14, 24),
    "pig": (14, 20),
    "pony": (20, 26),
    "red_deer": (18, 32),
}
STRANGERS = tuple(LENGTHS)
EACH = [(animal, frames) for animal in STRANGERS for frames in LENGTHS[animal]]
ROWS = tomllib.loads((Path(__file__).parent / "published_strangers.toml").read_text(encoding="utf-8"))[
    "value"
]
FPS = 100.0


@lru_cache
def gait_of(animal):
    return load_gait("walk").as_used_by(load_animal(animal))


@lru_cache
def walk(animal, frames, fps=24.0):
    return make_cycle(Request(animal=animal, frames=frames, frame_rate_hz=fps, lag=gait_of(animal).lag))


@lru_cache
def walk_at(animal, speed_m_s):
    """The cycle, in whole hundredths of a second, whose own speed comes nearest to one."""
    tempo = load_animal(animal).tempo
    frames = round(FPS * (tempo.stance_distance_m / speed_m_s + tempo.swing_time_s))
    clip = walk(animal, frames, FPS)
    assert clip.facts.speed_m_s == pytest.approx(speed_m_s, rel=0.03)
    return clip


def body(clip):
    return world_frames(clip.animal, clip.root_path_m, clip.rotations)


@pytest.mark.parametrize("animal", STRANGERS)
def test_it_stands(animal):
    made = load_animal(animal)
    assert standing_fault(made) is None
    positions = standing_positions_m(made)
    for limb in made.limbs:
        assert positions[limb.foot_joint, 2] == pytest.approx(limb.foot.height_m, abs=1e-3)
    for name, height in (("withers", made.withers_height_m), ("croup", made.croup_height_m)):
        assert standing_landmark_m(made, name)[2] == pytest.approx(height, abs=1e-3)
    assert made.mass_shares.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("animal", STRANGERS)
def test_every_table_has_a_source_or_is_an_estimate(animal):
    tables = tomllib.loads((skeleton_folder() / f"{animal}.toml").read_text(encoding="utf-8"))

    def walk_through(table, place):
        numbers = [key for key, value in table.items() if isinstance(value, int | float | list)]
        if numbers and place not in {"", "body"}:
            assert any("source" in key for key in table), f"[{place}] of {animal} has no source"
        for key, value in table.items():
            if isinstance(value, dict):
                walk_through(value, f"{place}.{key}".strip("."))

    walk_through({key: value for key, value in tables.items() if key != "outline"}, "")


@pytest.mark.parametrize("animal", STRANGERS)
@pytest.mark.parametrize("factor", [0.8, 1.0, 1.15])
def test_it_stands_in_other_sizes(animal, factor):
    made = load_animal(animal)
    height = factor * made.withers_height_m
    other = load_animal(animal, Proportions(withers_height_m=height, neck_factor=1.1, back_factor=0.95))
    assert standing_fault(other) is None
    assert other.withers_height_m == pytest.approx(height)
    assert other.body_mass_kg == pytest.approx(made.body_mass_kg * factor**made.mass_height_power)
    assert other.limb("fore").foot.rim_m == pytest.approx([factor * m for m in made.limb("fore").foot.rim_m])
    if made.limb("fore").cannon is None:
        with pytest.raises(AnimalError, match="names no cannon bone"):
            load_animal(animal, Proportions(cannon_ratio=0.16))


@pytest.mark.parametrize("animal", STRANGERS)
@pytest.mark.parametrize(
    "changed",
    [
        {"withers_height_m": 0.05},
        {"withers_height_m": 5.0},
        {"leg_factor": 0.7},
        {"leg_factor": 1.4},
        {"neck_factor": 0.5},
        {"neck_factor": 2.0},
        {"back_factor": 0.7},
        {"back_factor": 1.4},
        {"head_factor": 0.5},
        {"head_factor": 1.6},
        {"withers_height_m": 2.0, "leg_factor": 0.7, "neck_factor": 2.0, "back_factor": 1.4},
        {"withers_height_m": 2.0, "leg_factor": 1.4, "neck_factor": 0.5, "back_factor": 0.7},
    ],
    ids=lambda changed: "-".join(f"{name}-{value}" for name, value in changed.items()),
)
def test_it_stands_flat_at_the_limits_of_its_proportions(animal, changed):
    other = load_animal(animal, Proportions(**changed))
    positions = standing_positions_m(other)
    for limb in other.limbs:
        assert positions[limb.foot_joint, 2] == pytest.approx(limb.foot.height_m, abs=1e-3)
    assert standing_landmark_m(other, "withers")[2] == pytest.approx(other.withers_height_m, abs=1e-3)


@pytest.mark.parametrize("animal", [name for name in STRANGERS if load_animal(name).limb("fore").cannon])
@pytest.mark.parametrize("factor", [0.9, 1.1])
def test_it_stands_on_longer_and_shorter_cannons_at_its_height(animal, factor):
    made = load_animal(animal)
    cannon = made.limb("fore").joints[made.limb("fore").cannon]
    ratio = -factor * made.tips_m[cannon, 2] / made.withers_height_m
    other = load_animal(animal, Proportions(cannon_ratio=ratio))
    assert standing_fault(other) is None
    assert other.withers_height_m == pytest.approx(made.withers_height_m)
    assert -other.tips_m[cannon, 2] / other.withers_height_m == pytest.approx(ratio)


@pytest.mark.parametrize("animal", STRANGERS)
@pytest.mark.parametrize("factor", [0.8, 1.25])
def test_it_stands_on_longer_and_shorter_legs_at_its_height(animal, factor):
    made, other = load_animal(animal), load_animal(animal, Proportions(leg_factor=factor))
    assert standing_fault(other) is None
    assert other.withers_height_m == pytest.approx(made.withers_height_m)

    def legs_over_trunk(of):
        hind = [*of.limb("hind").joints[:-1]]
        back = list(of.spine[1:])
        return (
            np.linalg.norm(of.tips_m[hind], axis=1).sum() / np.linalg.norm(of.offsets_m[back], axis=1).sum()
        )

    assert legs_over_trunk(other) == pytest.approx(factor * legs_over_trunk(made))
    assert np.degrees(other.standing_angles_rad) == pytest.approx(
        np.degrees(made.standing_angles_rad), abs=4.0, nan_ok=True
    )


def test_they_are_as_different_as_they_should_be():
    cat, elephant = load_animal("cat"), load_animal("elephant")
    assert len(cat.spine) >= 7
    assert len(cat.part("tail").joints) >= 8
    assert len(elephant.part("trunk").joints) == 10
    assert {limb.foot.kind for limb in cat.limbs} == {"paw"}
    assert {limb.foot.kind for limb in elephant.limbs} == {"column"}
    assert len(cat.limb("fore").joints) != len(elephant.limb("fore").joints)


@pytest.mark.sample(11)
@pytest.mark.parametrize(("animal", "frames"), EACH)
def test_it_walks(animal, frames):
    clip = walk(animal, frames)
    assert np.isfinite(clip.rotations).all()
    assert np.isfinite(clip.root_path_m).all()
    feet = measure_feet(clip)
    assert slip_m(clip, feet) < 5e-4
    assert feet.lowest_m.min() > -1e-3
    assert loop_gap(clip) < 1e-9
    assert np.ptp(bone_lengths_m(clip), axis=0).max() < 1e-9


@pytest.mark.parametrize(("animal", "frames"), EACH)
def test_contacts_measured_back_are_those_of_the_gait(animal, frames):
    clip = walk(animal, frames)
    feet = measure_feet(clip)
    np.testing.assert_array_equal(found_feet(clip).planted, feet.planted)
    landing = [
        int(np.flatnonzero(feet.planted[1:, k] & ~feet.planted[:-1, k])[0] + 1) % frames for k in range(4)
    ]
    order = sorted(range(4), key=lambda k: landing[k])
    assert [LIMBS[k] for k in order] == ["RH", "RF", "LH", "LF"]
    lag = (landing[LIMBS.index("RF")] - landing[LIMBS.index("RH")]) / frames
    assert abs(lag - gait_of(animal).lag) <= 0.5 / frames + 1e-9


@pytest.mark.parametrize(("animal", "frames"), EACH)
def test_joints_are_inside_their_ranges_or_a_notice_says_why_not(animal, frames):
    clip = walk(animal, frames)
    margin = range_margins_rad(clip).min()
    said = {notice.topic for notice in clip.notices}
    assert margin > -1e-9 or "range" in said
    assert margin > -np.radians(6.0)


@pytest.mark.parametrize("animal", STRANGERS)
def test_at_its_own_pace_there_is_nothing_to_say(animal):
    clip = make_cycle(Request(animal=animal))
    assert [notice.text for notice in clip.notices] == []
    assert range_margins_rad(clip).min() >= 0.0


@pytest.mark.parametrize("animal", STRANGERS)
def test_the_middle_frame_is_the_mirror_of_the_first(animal):
    clip = walk(animal, 32)
    names = clip.animal.joint_names
    free = {row for part in clip.animal.hanging for row in part.joints if names[row][-2:] in {"_L", "_R"}}
    kept = [row for row in range(len(names)) if row not in free]
    mirrored = {"_L": "_R", "_R": "_L"}
    other = [
        names.index(names[k][:-2] + mirrored[names[k][-2:]]) if names[k][-2:] in mirrored else k for k in kept
    ]
    positions, _ = body(clip)
    middle = positions[16, other] * np.array([1.0, -1.0, 1.0])
    np.testing.assert_allclose(middle, positions[0, kept], atol=1e-6)


@pytest.mark.parametrize(
    ("animal", "joints"), [("cat", ("radius", "tibia", "metatarsus")), ("elephant", ("radius", "tibia"))]
)
def test_legs_land_bent_and_give(animal, joints):
    clip = walk_at(animal, {"cat": 0.6, "elephant": 1.2}[animal])
    angles = np.degrees(included_angles_rad(clip.animal, clip.rotations))[:-1]
    planted = measure_feet(clip).planted[:-1]
    for joint in joints:
        row = clip.animal.joint(f"{joint}_R")
        limb = next(k for k, limb in enumerate(clip.animal.limbs) if row in limb.joints)
        start = int(np.flatnonzero(planted[:, limb] & ~np.roll(planted[:, limb], 1))[0])
        down = np.roll(angles[:, row], -start)[: planted[:, limb].sum()]
        early = down[: round(0.3 * down.size)]
        assert 4.0 < down[0] - early.min() < 18.0
        assert down[0] < 155.0
        assert down[round(0.3 * down.size) :].max() > early.min() + 5.0


def test_the_head_of_a_cat_keeps_level():
    clip = walk_at("cat", 0.6)
    positions, world = body(clip)
    height = landmark_m(clip.animal, positions, world, "poll")[:, 2]
    turns = np.degrees(pitch_roll_yaw_rad(world[:, clip.animal.joint("head")]))
    assert np.ptp(height) < 0.02 * clip.animal.withers_height_m
    assert np.ptp(turns, axis=0).max() < 1.0


def test_the_wrist_of_an_elephant_folds_in_swing_without_a_jerk():
    clip = walk_at("elephant", 1.2)
    bend = np.degrees(pitch_roll_yaw_rad(clip.rotations[:-1, clip.animal.joint("fore_foot_R")])[:, 0])
    planted = measure_feet(clip).planted[:-1, LIMBS.index("RF")]
    assert bend[~planted].min() < bend[planted].min() - 10.0
    jerk = np.abs(np.diff(np.concatenate([bend, bend[:3]]), 2))
    landing = int(np.flatnonzero(planted & ~np.roll(planted, 1))[0])
    near = np.roll(jerk, 2 - landing)[:5]
    assert near.max() < 2.0 * jerk.max()
    assert np.abs(np.diff(bend)).max() * FPS < 300.0


@pytest.mark.parametrize(("animal", "end"), [("brown_bear", "fore"), ("pig", "hind"), ("goat", "fore")])
def test_toes_point_in_or_out_as_the_file_says_while_the_leg_goes_straight(animal, end):
    """A bear's forepaws turn in (common practice, no source)."""
    clip = walk(animal, LENGTHS[animal][0])
    _, world = body(clip)
    planted = measure_feet(clip).planted
    for k, limb in enumerate(clip.animal.limbs):
        if limb.end == end:
            ahead = world[planted[:, k], limb.foot_joint][:, :, 0]
            out = np.arctan2(ahead[:, 1], ahead[:, 0]) * (1.0 if limb.is_left else -1.0)
            np.testing.assert_allclose(out, limb.foot.toes_out_rad, atol=1e-6)
            assert np.sign(limb.foot.toes_out_rad) == {"brown_bear": -1, "pig": 1, "goat": 0}[animal]


@pytest.mark.parametrize(("animal", "over"), [("cat", 0.02), ("big_cat", 0.02)])
def test_the_blades_of_a_cat_rise_above_its_back_in_turn(animal, over):
    """Common practice, no source; the flesh of blade and back are compared where the blade is."""
    clip = make_cycle(Request(animal=animal))
    made, (positions, world) = clip.animal, body(clip)
    tops = {"blade": [], "back": []}
    blade_x = positions[:, made.joint("scapula_L"), 0]
    for name, centre, radius, _ in made.outline:
        joint = made.joint(name)
        if joint in made.spine or name == "scapula_L":
            place = positions[:, joint] + world[:, joint] @ np.array(centre)
            near = np.abs(place[:, 0] - blade_x) < 0.12 * made.withers_height_m
            tops["blade" if name == "scapula_L" else "back"].append(
                np.where(near, place[:, 2] + radius, -1.0)
            )
    rises = (np.max(tops["blade"], axis=0) - np.max(tops["back"], axis=0)) / made.withers_height_m
    planted = measure_feet(clip).planted[:, LIMBS.index("LF")]
    assert rises[planted].max() > over
    assert rises[~planted].min() < -over


def test_backs_are_stiff_and_supple():
    ranges = {}
    for animal, speed in (("cat", 0.6), ("elephant", 1.2)):
        clip = walk_at(animal, speed)
        _, world = body(clip)
        ends = [clip.animal.spine[0], clip.animal.chest]
        pelvis, chest = np.degrees(pitch_roll_yaw_rad(world[:, ends])).transpose(1, 0, 2)
        ranges[animal] = np.ptp(chest - pelvis, axis=0)
    assert ranges["elephant"].max() < 9.0
    assert ranges["cat"][2] > 1.5 * ranges["elephant"][2]
    assert ranges["cat"][0] > 2.0 * ranges["elephant"][0]


@pytest.mark.parametrize(
    ("animal", "first", "last"),
    [("elephant", "trunk_1", "trunk_10"), ("elephant", "tail_1", "tail_5"), ("cat", "tail_1", "tail_10")],
)
def test_what_hangs_swings_wider_at_its_end_and_later(animal, first, last):
    clip = walk_at(animal, {"cat": 0.6, "elephant": 1.2}[animal])
    positions, world = body(clip)
    base = positions[:-1, clip.animal.joint(first), 1]
    tip = tips_m(clip.animal, positions, world)[:-1, clip.animal.joint(last), 1]
    assert np.ptp(tip) > 1.5 * np.ptp(base)
    match = [np.dot(base - base.mean(), np.roll(tip - tip.mean(), -k)) for k in range(len(tip))]
    assert 0.05 < np.argmax(match) / len(tip) < 0.5


# Figures from outside


def body_mass_kg(animal):
    return load_animal(animal).body_mass_kg


def hip_height_m(animal):
    return load_animal(animal).hip_height_m


def withers_height_m(animal):
    return load_animal(animal).withers_height_m


def croup_over_withers(animal):
    made = load_animal(animal)
    return made.croup_height_m / made.withers_height_m


def head_over_withers(animal):
    made = load_animal(animal)
    ends = [standing_landmark_m(made, name) for name in ("poll", "muzzle")]
    return np.linalg.norm(ends[1] - ends[0]) / made.withers_height_m


def standing_lean_deg(animal, bone):
    made = load_animal(animal)
    x, _, z = made.tips_m[made.joint(f"{bone}_L")]
    return abs(np.degrees(np.arctan2(x, -z)))


def _duty_factor(animal, speed_m_s, limb):
    planted = measure_feet(walk_at(animal, speed_m_s)).planted[:-1, LIMBS.index(limb)]
    return (planted.sum() - 1) / planted.size


def fore_duty_factor(animal, speed_m_s):
    return _duty_factor(animal, speed_m_s, "RF")


def hind_duty_factor(animal, speed_m_s):
    return _duty_factor(animal, speed_m_s, "RH")


def stride_length_m(animal, speed_m_s):
    clip = walk_at(animal, speed_m_s)
    return speed_m_s * (clip.frames - 1) / FPS


def hoof_lift_m(animal, speed_m_s):
    return np.ptp(measure_feet(walk_at(animal, speed_m_s)).toe_m[:, :, 2], axis=0).mean()


def peak_force_body_weights(animal, speed_m_s, limb):
    clip = walk_at(animal, speed_m_s)
    return clip.plan.force_n[:, LIMBS.index(limb)].max() / (clip.animal.body_mass_kg * GRAVITY_M_S2)


def stance_time_s(animal, speed_m_s):
    planted = measure_feet(walk_at(animal, speed_m_s)).planted[:-1]
    return (planted.sum(axis=0).mean() - 1) / FPS


def lag(animal, speed_m_s):
    return walk_at(animal, speed_m_s).facts.lag


def load_share_fore(animal):
    return load_animal(animal).load_share_fore


def usual_speed_m_s(animal, gait):
    return next(own.speed_m_s for own in own_speeds(load_animal(animal)) if own.name == gait)


def fore_to_hind_peak(animal, speed_m_s):
    peaks = walk_at(animal, speed_m_s).plan.force_n.max(axis=0)
    return peaks[:2].mean() / peaks[2:].mean()


def centre_rise_m(animal, speed_m_s):
    clip = walk_at(animal, speed_m_s)
    positions, world = body(clip)
    centres = positions + np.einsum("fjab,jb->fja", world, clip.animal.mass_centres_m)
    return np.ptp(np.einsum("j,fja->fa", clip.animal.mass_shares, centres)[:, 2])


def _blade_top_m(clip):
    """Height of the top of the right shoulder blade on the chest, frame by frame, the last left out."""
    positions, world = body(clip)
    chest, blade = clip.animal.chest, clip.animal.joint("scapula_R")
    on_chest = np.einsum("fji,fj->fi", world[:, chest], positions[:, blade] - positions[:, chest])
    return on_chest[:-1, 2]


def _share_since(is_in, row):
    start = int(np.flatnonzero(is_in & ~np.roll(is_in, 1))[0])
    return ((row - start) % is_in.size) / is_in.sum()


def blade_highest_share_of_stance(animal, speed_m_s):
    clip = walk_at(animal, speed_m_s)
    planted = measure_feet(clip).planted[:-1, LIMBS.index("RF")]
    return _share_since(planted, int(np.argmax(_blade_top_m(clip))))


def blade_lowest_share_of_swing(animal, speed_m_s):
    clip = walk_at(animal, speed_m_s)
    planted = measure_feet(clip).planted[:-1, LIMBS.index("RF")]
    return _share_since(~planted, int(np.argmin(_blade_top_m(clip))))


def _parameter(row):
    marks = [pytest.mark.xfail(reason=row["deviation"], strict=True)] if "deviation" in row else []
    values = "-".join(map(str, row["inputs"].values()))
    return pytest.param(row, id=f"{row['measure']}-{values}", marks=marks)


@pytest.mark.sample(30)
@pytest.mark.parametrize("row", [_parameter(row) for row in ROWS])
def test_published(row):
    found = {**vars(animal_measures), **vars(animal_figures), **vars(animal_strides), **globals()}[
        row["measure"]
    ]
    measured = found(**row["inputs"])
    assert measured == pytest.approx(row["expected"], abs=row["tolerance"] + 1e-9), row["source"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["measure"])
def test_every_row_says_where_it_is_from(row):
    assert len(row["source"]) > 15
    assert len(row["locator"]) > 10
    assert row["status"] in {"abstract", "figure", "table", "text", "summary"}
    assert row["inputs"]["animal"] in STRANGERS


# Numbers of a gait that an animal has its own way


def test_an_animal_changes_the_gait_it_uses_and_no_other():
    plain = load_gait("walk")
    assert plain.as_used_by(load_animal("riding_horse")) == plain
    lags = {animal: load_animal(animal).own_gaits["walk"].lag for animal in STRANGERS}
    assert len(set(lags.values()) - {plain.lag}) > 3  # a pig's is that of a plain walk
    for animal in STRANGERS:
        own = load_animal(animal).own_gaits["walk"]
        used = plain.as_used_by(load_animal(animal))
        assert used.lag == own.lag
        assert used != plain
        assert used.name == plain.name
        assert used.froude_range == (own.froude_range or plain.froude_range)


def test_fore_feet_stay_down_longer_where_the_animal_says_so():
    """Fore duty factor above hind: Hutchinson et al. 2006, J Exp Biol 209:3812, abstract."""
    more = gait_of("elephant").fore_duty_more
    assert more > 0.0
    timing = cycle_timing(100, 0.70, symmetrical(0.17), fore_duty_more=more)
    down = dict(zip(LIMBS, timing.down, strict=True))
    assert (down["LF"], down["RF"], down["LH"], down["RH"]) == (72.0, 72.0, 68.0, 68.0)
    assert set(cycle_timing(100, 0.70, symmetrical(0.17)).down) == {70.0}


ELEPHANT = (skeleton_folder() / "elephant.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[gait.walk]", "[gait.trot]", "is about a gait that is not in gaits; add it there"),
        ("lag = 0.16", "lag = 1.6", "lag is 1.6; write a number from 0 to 1"),
        ("fore_duty_more = 0.04", "fore_duty_moor = 0.04", "unknown key 'fore_duty_moor'"),
        ("rim_m = [0.20, 0.185, 0.17, 0.165]", "rim_m = [0.0, 0.185, 0.17, 0.165]", "rim_m is no rim"),
    ],
)
def test_bad_tables_are_refused_in_one_line(old, new, words):
    text = ELEPHANT.replace("[0.10, 0.20, 0.19, 0.185]", "[0.1, 0.2, 0.19, 0.185]")
    assert old in text
    with pytest.raises(AnimalError) as caught:
        read_skeleton(text.replace(old, new, 1).encode(), "mine.toml")
    assert words in str(caught.value)
    assert str(caught.value).startswith("mine.toml")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("animal", "froude", "gait"),
    [
        # Same order of footfalls at 0.4 to 6.8 m/s, never a trot or gallop: Hutchinson et al. 2006, abstract.
        ("elephant", 0.1, "walk"),
        ("elephant", 1.2, "amble"),
        # Gallop at 2.1 m/s on a treadmill: Hoy & Zernicke 1985, J Biomech 18:49, abstract.
        ("cat", 2.15**2 / (9.81 * 0.257), "rotary_gallop"),
        # Trot at Froude numbers of 0.5 to 3: Andrada et al. 2023, Front Bioeng 11:1193177, abstract.
        ("dog", 0.5, "trot"),
        ("dog", 2.0, "trot"),
        # A walk at 0.4 m/s, a rotary gallop at 10: Maes et al. 2008, J Exp Biol 211:138, abstract.
        ("dog", 0.4**2 / (9.81 * 0.50), "walk"),
        ("dog", 10.0**2 / (9.81 * 0.50), "rotary_gallop"),
        # Cats walk at 0.54 to 0.74 m/s on a pressure walkway: BMC Vet Res 9:129, abstract.
        ("cat", 0.54**2 / (9.81 * 0.257), "walk"),
        ("cat", 0.74**2 / (9.81 * 0.257), "walk"),
        # Small pigs walk at 0.28 to 0.97 m/s: Kumar et al. 2020, J Neurotrauma, abstract.
        ("pig", 0.97**2 / (9.81 * 0.52), "walk"),
        # Paces when it runs, never trots: Dagg 1974, J Zool, abstract.
        ("dromedary", 0.1, "walk"),
        # Walk, then running walk, no trot: Shine et al. 2015, J Exp Biol 218:3102, abstract.
        ("brown_bear", 0.2, "walk"),
        ("brown_bear", 0.7, "running_walk"),
        ("brown_bear", 2.0, "canter"),
        ("dromedary", 1.0, "pace"),
        # Gallop when chased (Dagg 1974, abstract), sprint at some 65 km/h (species pages).
        ("dromedary", 18.0**2 / (9.81 * 1.49), "gallop"),
        # A grounded rotary gallop at 3.4 to 6.9 m/s: Basu et al. 2019, PeerJ 7:e6312, abstract.
        ("giraffe", 3.4**2 / (9.81 * 2.16), "rotary_gallop"),
        ("giraffe", 6.9**2 / (9.81 * 2.16), "rotary_gallop"),
        # Sheep, for which the goat stands, walk at 1.06 m/s: Kim & Breur 2008, Can J Vet Res 72:50, abstract.
        ("goat", 1.06**2 / (9.81 * 0.638), "walk"),
        # Cows walk at 1.22 m/s: de Passille et al. 2007, J Dairy Sci 90:1235, abstract.
        ("cow", 1.22**2 / (9.81 * 1.176), "walk"),
    ],
)
def test_each_goes_in_the_gait_that_was_seen_at_that_speed(animal, froude, gait):
    assert own_gait_at(load_animal(animal), froude).name == gait


RUNS = [(animal, gait) for animal in STRANGERS for gait in load_animal(animal).gaits if gait != "walk"]


@pytest.mark.sample(8)
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_in_its_other_gaits_there_is_nothing_to_say_either(animal, gait):
    clip = make_cycle(Request(animal=animal, gait=gait))
    feet = measure_feet(clip)
    said = {notice.topic: notice.text for notice in clip.notices}
    assert said == {}
    assert slip_m(clip, feet) < 5e-4
    assert feet.lowest_m.min() > -1e-3
    assert loop_gap(clip) < 1e-9
    assert range_margins_rad(clip).min() > -1e-9


@pytest.mark.parametrize(
    ("animal", "gait", "froude", "said"),
    [
        ("elephant", "amble", 2.8, "above 2.5 this animal goes in no gait"),
        ("brown_bear", "running_walk", 2.0, "would leave the running walk for a faster gait"),
    ],
)
def test_what_is_too_fast_for_a_gait_is_told_from_what_is_too_fast_for_the_animal(animal, gait, froude, said):
    clip = make_cycle(Request(animal=animal, gait=gait, froude=froude))
    assert any(said in notice.text for notice in clip.notices)


def test_a_giraffe_has_no_trot_and_never_leaves_the_ground_at_a_gallop():
    """A rotary gallop without a flight of the whole body: Basu et al. 2019, PeerJ 7:e6312, abstract."""
    assert load_animal("giraffe").gaits == ("walk", "rotary_gallop")
    for speed_m_s in (3.5, 5.0, 6.5):
        clip = make_cycle(
            Request(animal="giraffe", gait="rotary_gallop", speed_m_s=speed_m_s, frame_rate_hz=96.0)
        )
        assert measure_feet(clip).planted.any(axis=1).all()


@pytest.mark.parametrize(
    ("animal", "gaits"),
    [
        # Walk, running walk and canter: Shine et al. 2015, J Exp Biol 218:3102, abstract.
        ("brown_bear", ("walk", "running_walk", "canter")),
        # Never trots; paces, and gallops when it is chased: Dagg 1974, J Zool, abstract.
        ("dromedary", ("walk", "pace", "gallop")),
        # One order of footfalls at all speeds: Hutchinson et al. 2006, J Exp Biol 209:3812, abstract.
        ("elephant", ("walk", "amble")),
    ],
)
def test_some_have_gaits_of_their_own_and_no_others(animal, gaits):
    assert load_animal(animal).gaits == gaits


def test_the_swing_of_a_pig_keeps_its_time():
    """Over 0.28 to 0.97 m/s, in minipigs: Kumar et al. 2020, J Neurotrauma, abstract; tolerance ours."""
    swing_s = []
    for speed_m_s in (0.5, 0.7, 0.97):
        planted = measure_feet(walk_at("pig", speed_m_s)).planted[:-1]
        swing_s.append((~planted).sum(axis=0).mean() / FPS)
    assert swing_s == pytest.approx([swing_s[1]] * 3, rel=0.1)


def test_the_hind_feet_of_a_hare_land_ahead_of_its_fore_feet_and_farther_the_faster():
    """Tracks in snow: Seton, text on hares and rabbits, for the order and for what speed does to it."""
    ahead = []
    for speed_m_s in (3.0, 6.0):
        clip = make_cycle(
            Request(animal="hare", gait="half_bound", start="RH", frame_rate_hz=96.0, speed_m_s=speed_m_s)
        )
        feet = measure_feet(clip)
        landed = feet.planted[:-1] & ~np.roll(feet.planted[:-1], 1, axis=0)
        assert landed[0, 2:].all()
        fore = [float(feet.toe_m[landed[:, limb].argmax(), limb, 0]) for limb in range(2)]
        next_hind_m = feet.toe_m[0, 2:, 0].mean() + clip.facts.speed_m_s * (clip.frames - 1) / 96.0
        ahead.append(next_hind_m - np.mean(fore))
    assert 0.0 < ahead[0] < ahead[1]


# Nothing in the code knows them

PACKAGE = Path(gaitgen.__file__).parent
# Words of the body of any animal, of geometry, and of what the top of a limb may hang in.
ANYBODYS = {"pelvis", "neck", "head", "ear", "jaw", "tail", "radius", "trunk", "sling"}
# Rigs of other people are known by the words of anatomy, which name no animal.
ANATOMY = {"scapula", "humerus", "femur", "tibia", "thorax", "lumbar"}


def words_of_the_strangers():
    words = {
        "feline",
        "kitten",
        "canine",
        "puppy",
        "pachyderm",
        "tusk",
        "tusks",
        "proboscis",
        "cats",
        "elephants",
        *STRANGERS,
    }
    for animal in STRANGERS:
        made = load_animal(animal)
        words |= {made.name, made.species, made.title.lower()}
        words |= {re.sub(r"(_[LR])?(_\d+)?$", "", re.sub(r"_[LR]$", "", name)) for name in made.joint_names}
    return words - ANYBODYS


# Since 3.12 the text inside an f-string is a token of its own.
WORDY = {tokenize.NAME, tokenize.STRING, getattr(tokenize, "FSTRING_MIDDLE", tokenize.STRING)}


def code_words(path):
    """Words of a file that a program sees: of Python all but comments and docstrings; of the rest all."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        return re.findall(r"[A-Za-z_]+", text)
    parts, before = [], tokenize.NEWLINE
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type in {tokenize.COMMENT, tokenize.NL}:
            continue
        is_docstring = token.type == tokenize.STRING and before in {tokenize.NEWLINE, tokenize.INDENT}
        if token.type in WORDY and not is_docstring:
            parts += re.findall(r"[A-Za-z_]+", token.string)
        before = token.type
    return parts


def names_in(path, words):
    found = {word.lower() for word in code_words(path)}
    pieces = found | {piece for word in found for piece in word.split("_")}
    return sorted(pieces & words)


FILES = sorted(path for end in ("py", "js", "html", "css", "toml") for path in PACKAGE.rglob(f"*.{end}"))


@pytest.mark.thorough
def test_no_file_of_the_code_names_these_animals_or_their_bones():
    words = words_of_the_strangers()
    assert {"cat", "elephant", "metacarpus", "metatarsus", "fore_paw", "hind_foot"} <= words
    assert len(FILES) > 150
    for path in FILES:
        if any(path.is_relative_to(PACKAGE / data) for data in ("skeletons", "check/limits")):
            continue
        allowed = ANATOMY if path.is_relative_to(PACKAGE / "rigs") else set()
        assert not set(names_in(path, words)) - allowed, path


def test_the_search_for_names_finds_them(tmp_path):
    for text in ('kind = "elephant"\n', "def metacarpus_m() -> None: ...\n", "if name == 'fore_paw': pass\n"):
        (tmp_path / "some.py").write_text(text, encoding="utf-8")
        assert names_in(tmp_path / "some.py", words_of_the_strangers())
    (tmp_path / "some.py").write_text(
        '"""Like a cat (1996)."""\n# an elephant\nconcatenate = 1\n', encoding="utf-8"
    )
    assert not names_in(tmp_path / "some.py", words_of_the_strangers())


@pytest.mark.parametrize("speed_m_s", [14.0, 15.0, 16.0])
def test_a_greyhound_gallops_fast_within_its_joints(speed_m_s):
    """Up to 17 m/s: Hudson, Corr & Wilson 2012, J Exp Biol 215:2425, text."""
    clip = make_cycle(
        Request(animal="greyhound", gait="rotary_gallop", speed_m_s=speed_m_s, frame_rate_hz=48.0)
    )
    assert [notice.text for notice in clip.notices] == []
    assert range_margins_rad(clip).min() > -1e-9
