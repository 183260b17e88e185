"""Legs of a pair that have each other's curves in some frames: one finding, with its frames."""

import pytest
from damage import seen_again, with_rows
from damage_by_strangers import start_of
from damage_shots import shot_base

from gaitgen.check.check import check
from gaitgen.check.findings.exchanged import exchanged
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS

WORDS = {"forelegs": LIMBS[:2], "hind legs": LIMBS[2:]}
# Clip; legs; where, as a share of the clip; frames; whether as in a mirror.
CASES = (
    (("dromedary", "walk", 36, True), "hind legs", 0.55, 5, False),
    (("cat", "trot", 24, True), "forelegs", 0.3, 4, True),
    (("red_deer", "rotary_gallop", 18, True), "forelegs", 0.5, 3, False),
    (("cow", "walk", 40, False), "forelegs", 0.2, 7, True),
    (("brown_bear", "walk", 30, True), "hind legs", 0.7, 6, True),
)


def exchanged_in(start, words, first, count, *, is_mirrored, top=0):
    """The clip with legs in each other's place in some rows, from a joint on downwards."""
    columns, names = channel_columns(start.file, "rotation"), start.file.joint_names
    channels = [word for own in start.file.channels for word in own]
    rows, at = start.file.rows.copy(), slice(first, first + count)
    for word in words:
        one, other = (start.map.limbs[limb].joints for limb in WORDS[word])
        for a, b in ((one, other), (other, one)):
            for mine, its in zip(a[top:], b[top:], strict=True):
                own, mate = list(columns[names.index(mine)]), list(columns[names.index(its)])
                rows[at, own] = start.file.rows[at, mate]
                if is_mirrored:
                    rows[at, [column for column in own if channels[column][0] != "X"]] *= -1.0
    return with_rows(start.file, rows)


def made(clip):
    animal, gait, frames, in_place = clip
    return start_of(animal, gait, frames, in_place=in_place)


@pytest.mark.sample(2)
@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0][0]} {case[0][1]} {case[1]}")
def test_legs_that_are_exchanged_for_some_frames_are_told_once_with_these_frames(case):
    clip, word, share, count, is_mirrored = case
    start = made(clip)
    first = round(share * start.frames)
    found = check(seen_again(start, exchanged_in(start, [word], first, count, is_mirrored=is_mirrored)))
    told = [(f.kind, f.limb, f.first_frame, f.last_frame, f.amount) for f in found]
    assert told == [("legs swapped", word, first + 1, first + count, count)]
    assert (
        f"in frames {first + 1} to {first + count} put the curves of the left and right {word}" in found[0].do
    )


LOWER = (  # with the first joint that is exchanged
    (("dromedary", "walk", 36, True), "hind legs", 20, 5, False, 2),
    (("cat", "trot", 24, True), "forelegs", 8, 4, False, 3),
    (("cow", "walk", 40, False), "forelegs", 12, 1, True, 2),
    (("brown_bear", "walk", 30, True), "hind legs", 21, 3, False, 1),
)


@pytest.mark.sample(2)
@pytest.mark.parametrize("case", LOWER, ids=lambda case: f"{case[0][0]} {case[0][1]} {case[1]}")
def test_legs_that_are_exchanged_below_a_joint_alone_are_told_with_it(case):
    clip, word, first, count, is_mirrored, top = case
    start = made(clip)
    damaged = exchanged_in(start, [word], first, count, is_mirrored=is_mirrored, top=top)
    found = check(seen_again(start, damaged))
    assert [(f.kind, f.limb, f.first_frame, f.last_frame) for f in found] == [
        ("legs swapped", word, first + 1, first + count)
    ]
    joint = start.map.limbs[WORDS[word][0]].joints[top]
    assert f"from {joint} down" in found[0].do


@pytest.mark.sample(2)
@pytest.mark.parametrize(("clip", "word", "row"), [(case[0], case[1], 9 + k) for k, case in enumerate(CASES)])
def test_legs_that_are_exchanged_in_one_frame_are_told(clip, word, row):
    start = made(clip)
    found = check(seen_again(start, exchanged_in(start, [word], row, 1, is_mirrored=False)))
    assert [(f.kind, f.limb, f.first_frame, f.last_frame) for f in found] == [
        ("legs swapped", word, row + 1, row + 1)
    ]
    assert found[0].do.startswith(f"in frame {row + 1} put")


def test_a_pose_of_half_a_stride_later_in_one_frame_is_no_exchange():
    """The whole body is as in a mirror there, not the legs alone."""
    start = made(CASES[4][0])
    rows = start.file.rows.copy()
    turning = [column for own in channel_columns(start.file, "rotation") for column in own]
    rows[9, turning] = start.file.rows[(9 + start.period // 2) % start.period][turning]
    assert exchanged(seen_again(start, with_rows(start.file, rows))) == []


def test_all_legs_that_are_exchanged_in_the_same_frames_are_one_finding():
    start = made(CASES[0][0])
    found = check(seen_again(start, exchanged_in(start, WORDS, 20, 5, is_mirrored=False)))
    assert [(f.kind, f.limb, f.first_frame, f.last_frame) for f in found] == [
        ("legs swapped", "all legs", 21, 25)
    ]


@pytest.mark.parametrize("first", [0, 33])
def test_legs_that_are_exchanged_at_an_end_of_the_clip_are_found(first):
    """Of a loop of which one end alone is damaged, so that it does not close any more."""
    start = made(CASES[0][0])
    found = check(seen_again(start, exchanged_in(start, ["hind legs"], first, 4, is_mirrored=False)))
    assert [(f.kind, f.limb, f.first_frame, f.last_frame) for f in found[:1]] == [
        ("legs swapped", "hind legs", first + 1, first + 4)
    ]


def test_a_shot_is_looked_through_as_well():
    start = shot_base("a cat that turns right")
    part = next(part.stretch for part in start.seen.parts if part.stretch.what == "goes")
    first = (part.first + part.last) // 2
    damaged = seen_again(start, exchanged_in(start, ["forelegs"], first, 5, is_mirrored=False))
    assert [(f.kind, f.limb, f.first_frame, f.last_frame) for f in check(damaged)[:1]] == [
        ("legs swapped", "forelegs", first + 1, first + 5)
    ]


def test_another_fault_elsewhere_is_still_told_beside_it():
    start = made(CASES[3][0])
    file = exchanged_in(start, ["forelegs"], 8, 7, is_mirrored=True)
    name = start.map.limbs["LH"].joints[1]
    rows = file.rows.copy()
    rows[30, list(channel_columns(file, "rotation")[file.joint_names.index(name)])] += 15.0
    found = check(seen_again(start, with_rows(file, rows)))
    assert [f.kind for f in found[:1]] == ["legs swapped"]
    beside = [
        f for f in found if f.first_frame - 1 <= 30 <= f.last_frame
    ]  # it is off, and its foot slips for it
    assert "pop" in {each.kind for f in beside for each in (f, *f.follows)}


@pytest.mark.sample(2)
@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0][0]} {case[0][1]}")
@pytest.mark.parametrize("frames", [8, 10, 12])
def test_quick_legs_that_pass_each_other_in_few_frames_are_not_taken_for_it(case, frames):
    animal, gait, _, in_place = case[0]
    assert exchanged(start_of(animal, gait, frames, in_place=in_place).seen) == []


def test_a_leg_that_kicks_for_a_frame_is_no_exchange():
    start = made(CASES[4][0])
    rows = start.file.rows.copy()
    name = start.map.limbs["LH"].joints[0]
    rows[12, list(channel_columns(start.file, "rotation")[start.file.joint_names.index(name)])] += 20.0
    assert exchanged(seen_again(start, with_rows(start.file, rows))) == []
