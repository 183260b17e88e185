"""The check on faults that were told by what follows from them: the cause is the first finding."""

import numpy as np
import pytest
from check_hits import is_named_first
from damage import base, columns, seen_again, turned, with_rows
from damage_by_strangers import SIZED, start_of
from damage_shots import shot_base

from gaitgen.check.check import check
from gaitgen.check.look import see
from gaitgen.check.text import as_text
from gaitgen.check.tracked import place

WALKS = [
    ("riding_horse", "walk", None, True),
    ("cat", "walk", None, False),
    ("elephant", "walk", None, True),
    ("hare", "walk", None, False),
]
RUNS = [("riding_horse", "gallop", None, True), ("hare", "half_bound", None, False)]


def said(found):
    return [(f.kind, f.place, f.first_frame, f.last_frame) for f in found]


def lift_offs(start):
    """Rows before, at and after the last of each stance, with a frame beside them."""
    rows = {
        (stance.last + by) % start.seen.loop.frames for stance in start.seen.feet.stances for by in (-1, 0, 1)
    }
    return sorted(row for row in {*rows, start.frames - 2} if row < start.frames - 1)


@pytest.mark.thorough
@pytest.mark.sample(2)
@pytest.mark.parametrize("which", [*WALKS, *RUNS], ids=str)
@pytest.mark.parametrize("fault", ["repeated frame", "frames swapped"])
def test_frames_out_of_time_at_a_lift_off_are_told_and_no_leg_stays_down(which, fault):
    animal, gait, frames, in_place = which
    start = start_of(animal, gait, frames, in_place=in_place)
    for row in lift_offs(start):
        rows = start.file.rows.copy()
        if fault == "repeated frame":
            rows[row + 1] = rows[row]
        else:
            rows[[row, row + 1]] = rows[[row + 1, row]]
        seen = seen_again(start, with_rows(start.file, rows))
        found = check(seen)
        is_end = row in {0, start.frames - 2}  # where a loop may close no more
        if not is_end or (row > 0) == (fault == "frames swapped"):
            assert said(found[:1]) == [(fault, "whole body", row + 1, row + 2)], row
            assert "does not leave the ground" not in as_text(seen, found), row


@pytest.mark.sample(2)
@pytest.mark.parametrize("which", [*WALKS, *RUNS, ("dog", "trot", None, True)], ids=str)
def test_left_and_right_exchanged_on_all_joints_is_one_finding(which):
    animal, gait, frames, in_place = which
    start = start_of(animal, gait, frames, in_place=in_place)
    damaged = SIZED["left and right exchanged on all joints"][0](start, None)
    found = check(seen_again(start, damaged.file))
    assert [(f.kind, f.limb) for f in found] == [("legs swapped", "all legs")]


def test_left_and_right_exchanged_in_a_shot():
    start = shot_base("a dog up a slope")
    damaged = SIZED["left and right exchanged on all joints"][0](start, None)
    found = check(seen_again(start, damaged.file))
    assert [(f.kind, f.limb) for f in found[:1]] == [("legs swapped", "all legs")]


@pytest.mark.sample(1)
@pytest.mark.parametrize("share", [0.1, 0.45, 0.9])
def test_an_ear_that_pops_between_the_gaits_of_a_shot_is_found_once(share):
    """Common practice, no source: nothing that hangs is elsewhere for one frame."""
    start = shot_base("a cat that turns right")
    out = np.zeros(start.frames)
    row = round(share * start.frames)
    out[row] = 40.0
    found = check(seen_again(start, turned(start, start.map.ear_right, "X", out)))
    assert said(found) == [("pop", start.map.ear_right, row + 1, row + 1)]


@pytest.mark.sample(1, 7)
@pytest.mark.parametrize(
    "which",
    [
        ("donkey", "walk", 28, False),
        ("cow", "walk", 32, False),
        ("dog", "trot", None, False),
        ("riding_horse", "canter", None, False),
        ("greyhound", "rotary_gallop", None, False),
    ],
    ids=str,
)
@pytest.mark.parametrize("degrees", [-8.0, 20.0])
def test_a_joint_of_the_back_that_pops_is_blamed_and_no_foot(which, degrees):
    animal, gait, frames, in_place = which
    start = start_of(animal, gait, frames, in_place=in_place)
    for k, name in enumerate(start.map.spine[1:]):
        row = 3 + k % (start.frames - 7)
        out = np.zeros(start.frames)
        out[row] = degrees
        found = check(seen_again(start, turned(start, name, "XYZ"[k % 3], out)))
        first = found[0]
        assert first.limb == name, said(found)
        assert first.kind in {"pop", "rotation jump", "slipped decimal point"}, said(found)
        assert first.first_frame <= row + 1 <= first.last_frame, said(found)


@pytest.mark.parametrize("which", [WALKS[0], WALKS[1], ("dog", "trot", None, True)], ids=str)
@pytest.mark.parametrize("degrees", [15.0, 30.0])
@pytest.mark.parametrize("axis", "XYZ")
def test_an_ear_that_is_elsewhere_for_a_frame_pops_and_one_that_flicks_does_not(which, degrees, axis):
    animal, gait, frames, in_place = which
    start = start_of(animal, gait, frames, in_place=in_place)
    name, row = start.map.ear_left, start.frames // 2
    for shape, wanted in (((1.0,), 1), ((0.7, 1.0, 0.7), 0), ((0.5, 1.0, 0.9, 0.4), 0)):
        out = np.zeros(start.frames)
        out[row : row + len(shape)] = degrees * np.array(shape)
        found = check(seen_again(start, turned(start, name, axis, out)))
        assert len(found) == wanted, said(found)
        assert all((f.kind, f.limb, f.first_frame) == ("pop", name, row + 1) for f in found), said(found)


def test_an_ear_may_flick_in_a_frame_that_lasts_long():
    """At 12 frames a second one frame and the way back take a sixth of a second: ears are that quick."""
    start = start_of("riding_horse", "walk")
    out = np.zeros(start.frames)
    out[7] = 25.0
    file = turned(start, start.map.ear_left, "Y", out)
    slow = type(file)(**{**vars(file), "frame_time_s": 1.0 / 12.0})
    found = check(see(place(slow, start.map, "slow"), start.seen.limits))
    assert start.map.ear_left not in {f.limb for f in found}


@pytest.mark.always("neck-100.0")
@pytest.mark.parametrize("times", [10.0, 0.1, 100.0])
@pytest.mark.parametrize("word", ["carpus", "neck", "spine"])
def test_a_slipped_decimal_point_of_an_angle_is_told_by_its_channel(times, word):
    """By that name where the number is farther off than a joint turns in a frame, and not by full turns."""
    start = base("riding_horse", 32)
    names = {"carpus": start.map.limbs["LF"].joints, "neck": start.map.neck, "spine": start.map.spine[1:]}
    for name in names[word]:
        joint = start.file.joint_names.index(name)
        first = sum(len(words) for words in start.file.channels[:joint])
        for k, channel in enumerate(start.file.channels[joint]):
            rows = start.file.rows.copy()
            row = 3 + int(np.abs(rows[3:-4, first + k]).argmax())
            much = rows[row, first + k] * (times - 1.0)
            if not channel.endswith("rotation") or abs(much) < 6.0:
                continue
            rows[row, first + k] = round(rows[row, first + k] * times, 6)
            found = check(seen_again(start, with_rows(start.file, rows)))
            assert name in {found[0].limb, found[0].joint}, (name, channel, said(found))
            if abs(much) > 80.0 and abs((much + 180.0) % 360.0 - 180.0) > 30.0:
                assert [f.kind for f in found] == ["slipped decimal point"], (name, channel, said(found))
                assert f"put the decimal point of {channel} back" in found[0].do


def test_what_is_new_in_the_table_of_smallest_faults_is_named():
    for name, amount in (("ear pops for a frame", 15), ("joint of the back pops for a frame", 12)):
        for which in WALKS[:3]:
            animal, gait, frames, in_place = which
            start = start_of(animal, gait, frames, in_place=in_place)
            damaged = SIZED[name][0](start, np.random.default_rng(3), amount)
            assert is_named_first(damaged, check(seen_again(start, damaged.file))), (name, which)


@pytest.mark.parametrize(("by", "says"), [(360.0, "the pose is right"), (300.0, "the pose jumps with")])
def test_numbers_that_jump_for_some_frames_are_told_with_or_without_their_pose(by, says):
    """Sixty degrees off full turns: that the pose is right was said of any number that is far off."""
    start = base()
    rows, at = start.file.rows.copy(), columns(start.file, "radius_L")["X"]
    rows[10:13, at] += by
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert (found[0].kind, found[0].limb) == ("flipped rotation", "radius_L")
    assert says in found[0].do


@pytest.mark.sample(2, 0)
@pytest.mark.parametrize("joint", ["tibia_R", "radius_R"])
@pytest.mark.parametrize("animal", ["cow", "cat", "pig"])
def test_a_joint_that_turns_in_no_frame_does_not_accuse_its_mate(animal, joint):
    """Nothing is left on the other side to tell how quickly its mate turns, nor what it should do."""
    start = start_of(animal, "walk", None, in_place=True)
    rows = start.file.rows.copy()
    own = list(columns(start.file, joint).values())
    rows[:, own] = rows[0, own]
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(f.kind, f.limb) for f in found] == [("frozen", joint)]
