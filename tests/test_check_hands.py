"""Mishaps of hands on animals in other gaits than a walk: the cause is told first, and no mate is accused.

What a finding has to say here is common practice, no source.
"""

import numpy as np
import pytest
from damage import base, seen_again, with_rows
from damage_by_hand import shuddering_leg
from damage_by_strangers import (
    angles_in_radians,
    feet_exchanged,
    leg_joint_held,
    leg_late,
    pose_pasted,
    root_flat,
    start_of,
)
from damage_shots import shot_base
from marked import marked
from styled import ear_flick, tail_flick

from gaitgen.check.check import check
from gaitgen.check.frame_rate import frame_rate_doubt
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS

CLIPS = (
    ("cat", "walk", 24, True),
    ("riding_horse", "canter", None, False),
    ("dog", "trot", None, True),
    ("red_deer", "rotary_gallop", None, True),
    ("dromedary", "pace", None, False),
    ("hare", "half_bound", None, True),
)
NOT_ALONE = {"hare half_bound": "three more findings beside the root's"}
ROOTS = [
    marked(clip, why=NOT_ALONE.get(name), name=name) for clip in CLIPS for name in [f"{clip[0]} {clip[1]}"]
]
RUNS = tuple(clip for clip in CLIPS if clip[1] in {"canter", "rotary_gallop", "half_bound"})


def made(clip):
    animal, gait, frames, in_place = clip
    return start_of(animal, gait, frames, in_place=in_place)


def after(start, damaged):
    return check(seen_again(start, damaged.file))


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", CLIPS[:1] + CLIPS[2:3] + CLIPS[4:5], ids=lambda clip: clip[0])
@pytest.mark.parametrize("seed", [0, 1])
def test_a_joint_of_a_leg_that_stands_still_for_a_while_is_told_and_its_mate_is_not(clip, seed):
    start = made(clip)
    damaged = leg_joint_held(start, np.random.default_rng(seed), 6)
    found = after(start, damaged)
    assert (found[0].kind, found[0].limb) == ("stuck", damaged.joint), [(f.kind, f.place) for f in found]
    names = [list(start.map.limbs[limb].joints) for limb in LIMBS]
    row, own = next((k, names[k].index(damaged.joint)) for k in range(4) if damaged.joint in names[k])
    assert names[row ^ 1][own] not in {each.limb for each in found}


def test_joints_of_one_leg_that_stand_still_together_are_one_finding():
    start = made(CLIPS[0])
    rows = start.file.rows.copy()
    names = start.map.limbs["RH"].joints[1:3]
    at = [k for n in names for k in channel_columns(start.file, "rotation")[start.motion.joint(n)]]
    rows[6:13, at] = rows[6, at]
    first = check(seen_again(start, with_rows(start.file, rows)))[0]
    assert (first.kind, first.limb, first.first_frame, first.last_frame) == ("stuck", "RH", 7, 13)
    assert all(name in first.do for name in names)


@pytest.mark.thorough
@pytest.mark.parametrize("decimals", [6, 3, 2])
def test_no_joint_of_an_animal_that_halts_is_stuck(decimals):
    """Legs come to rest one by one, and few decimals let them rest before they do."""
    start = shot_base("a draft horse that halts between")
    rows = np.round(start.file.rows, decimals)
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert not [each for each in found if each.kind == "stuck"]


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_angles_in_radians_are_told_and_nothing_else_is(clip):
    start = made(clip)
    found = after(start, angles_in_radians(start, None))
    assert [each.kind for each in found] == ["angles in radians"]
    assert "57.2958" in found[0].do


def test_an_animal_that_hardly_moves_is_not_in_radians():
    start = made(CLIPS[0])
    rows = start.file.rows.copy()
    turning = [k for own in channel_columns(start.file, "rotation") for k in own]
    rows[:, turning] = rows[:, turning].mean(axis=0) * 0.01 + 0.01 * (rows[:, turning] - rows[0, turning])
    assert "angles in radians" not in {f.kind for f in check(seen_again(start, with_rows(start.file, rows)))}


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", RUNS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_leg_that_is_late_in_a_run_whose_sides_differ_is_told_by_how_many_frames(clip):
    start = made(clip)
    damaged = leg_late(start, np.random.default_rng(1), 2)
    found = after(start, damaged)
    assert (found[0].kind, found[0].limb) == ("leg out of time", damaged.limbs[0])
    assert found[0].do.startswith("move all keys of this leg 2 frames earlier")


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", ROOTS)
def test_a_root_that_stays_at_one_height_is_the_cause_of_soles_off_the_ground(clip):
    start = made(clip)
    found = after(start, root_flat(start, None))
    assert (found[0].kind, found[0].limb) == ("root keys missing", start.file.joint_names[0])
    assert len(found) == 1


@pytest.mark.thorough
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_feet_that_have_each_others_curves_are_told_by_their_joints(clip):
    start = made(clip)
    damaged = feet_exchanged(start, np.random.default_rng(2))
    first = after(start, damaged)[0]
    assert (first.kind, first.limb) == ("legs swapped", damaged.limbs[0])


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", CLIPS[:3] + CLIPS[4:5], ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_pose_that_is_pasted_over_a_frame_is_a_pop_and_no_mirror(clip):
    start = made(clip)
    damaged = pose_pasted(start, np.random.default_rng(3))
    found = after(start, damaged)
    assert "mirrored" not in {each.kind for each in found}
    assert (found[0].kind, found[0].limb) in {("pop", "whole body"), ("frames swapped", "whole body")}


def test_a_flick_of_a_short_tail_trails_as_it_should():
    start = made(CLIPS[-1])
    found = check(seen_again(start, tail_flick(start, np.random.default_rng(7))))
    assert "tail does not trail" not in {each.kind for each in found}


@pytest.mark.thorough
def test_short_steps_of_a_noisy_halt_are_no_feet_that_slip():
    """Noise moves toes as fast as such a step does; its way tells it, 15 cm of a horse."""
    start = shot_base("a draft horse that halts between")
    rng = np.random.default_rng(7)
    at_root = np.array([w.endswith("position") for words in start.file.channels for w in words])
    noise = np.where(at_root, 0.1, 0.2) * rng.normal(size=start.file.rows.shape)
    found = check(seen_again(start, with_rows(start.file, start.file.rows + noise)))
    assert not [each for each in found if each.kind in {"slip", "drift"}]


@pytest.mark.thorough
def test_an_ear_may_flick_in_a_shot_too():
    start = shot_base("a cat that turns right")
    found = check(seen_again(start, ear_flick(start, np.random.default_rng(7))))
    assert "pop" not in {each.kind for each in found}


def test_how_a_body_falls_says_nothing_of_a_walk():
    """A walk of which no foot is down for a frame, as one that lands late: its body is in no free fall."""
    start = made(CLIPS[0])
    seen = seen_again(start, start.file)
    planted = seen.feet.planted.copy()
    planted[5:7] = False
    object.__setattr__(seen.feet, "planted", planted)
    assert seen.gait.walks
    assert "in the air its body falls" not in frame_rate_doubt(seen)


@pytest.mark.sample(1)
@pytest.mark.parametrize("rows", range(3, 12))
def test_a_clip_of_a_few_frames_is_judged(rows):
    """A piece of a trot has rows enough neither for a stride nor, in some places, to tell what is usual."""
    start = made(("pig", "trot", None, False))
    found = check(seen_again(start, with_rows(start.file, start.file.rows[:rows])))
    assert all(1 <= each.first_frame <= rows for each in found)


@pytest.mark.sample(1)
@pytest.mark.parametrize("times", [10.0, 0.1])
@pytest.mark.parametrize("row", [3, 8])
def test_a_slipped_decimal_point_of_the_root_is_told_with_what_follows_from_it(row, times):
    start = start_of("cow", "walk", 30)
    rows = start.file.rows.copy()
    up = next(k for k, word in enumerate(start.file.channels[0]) if word == "Yposition")
    rows[row, up] *= times
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(each.kind, each.limb, each.first_frame) for each in found] == [
        ("slipped decimal point", "pelvis", row + 1)
    ]
    assert "put the decimal point of Yposition back" in found[0].do


@pytest.mark.thorough
def test_angles_without_decimals_are_told_though_the_root_has_them():
    start = start_of("goat", "walk")
    rows = start.file.rows.copy()
    rows[:, 6:] = np.trunc(rows[:, 6:])
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert found[0].kind == "rounded angles"


def test_a_root_that_drifts_aside_in_place_has_no_swapped_axes():
    start = start_of("brown_bear", "amble", in_place=True)
    rows = start.file.rows.copy()
    aside = next(k for k, word in enumerate(start.file.channels[0]) if word == "Xposition")
    rows[:, aside] += np.linspace(0.0, 8.0 * start.motion.hip_height_m, len(rows))
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert found[0].kind in {"root drift", "drift", "loop not closing"}


SHUDDERS = [
    (seed, degrees, which)
    for seed in range(3)
    for degrees in (4.0, 6.0, 9.0)
    for which in (("riding_horse", 32, False), ("draft_horse", 32, True), ("draft_horse", 20, False))
]
UNTOLD = {SHUDDERS[17]: "a pop of that joint: 9 degrees in a stride of 20 frames"}


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("seed", "degrees", "which"), [marked(*case, why=UNTOLD.get(case)) for case in SHUDDERS]
)
def test_a_joint_that_goes_to_and_fro_through_its_swing_is_told_at_that_joint(which, degrees, seed):
    """Its curve hides it in a swing of few frames; its mate does not do it half a stride later."""
    start = base(*which)
    damaged = shuddering_leg(start, degrees, np.random.default_rng(seed))
    found = check(seen_again(start, damaged.file))
    assert [(each.kind, each.joint) for each in found] == [("unlike other side", damaged.joint)]
    assert "to and fro" in found[0].do
