"""Joints of the back, the neck or the head that stand still while what is beside them moves."""

import pytest
from damage import seen_again, with_rows
from damage_by_strangers import start_of
from damage_shots import shot_base

from gaitgen.check.check import check
from gaitgen.formats.bvh_file import channel_columns

# Clip; joints by their place in the back from the hips on, or the head.
CASES = (
    (("dromedary", "walk", 34, True), (2, 3)),
    (("cow", "trot", 24, True), (1,)),
    (("cat", "walk", 28, False), "head"),
    (("brown_bear", "canter", None, True), "head"),
    (("greyhound", "rotary_gallop", 20, True), (1, 2)),
)


def made(clip):
    animal, gait, frames, in_place = clip
    return start_of(animal, gait, frames, in_place=in_place)


def names_of(start, which):
    """Joints of a case."""
    return [start.map.head] if which == "head" else [start.map.spine[place] for place in which]


def held(start, names, first, last):
    """The clip with joints that stand in some rows as in the first of them."""
    columns, rows = channel_columns(start.file, "rotation"), start.file.rows.copy()
    at = [column for name in names for column in columns[start.file.joint_names.index(name)]]
    rows[first : last + 1, at] = rows[first, at]
    return with_rows(start.file, rows)


def ids(case):
    return f"{case[0][0]} {case[0][1]} {case[1]}"


@pytest.mark.sample(2)
@pytest.mark.parametrize("case", CASES, ids=ids)
def test_joints_of_the_middle_that_turn_in_no_frame_are_one_finding_with_their_names(case):
    start = made(case[0])
    names = names_of(start, case[1])
    found = check(seen_again(start, held(start, names, 0, start.frames - 1)))
    place = "spine" if len(names) > 1 else names[0]
    assert [(f.kind, f.limb) for f in found] == [("frozen", place)]
    assert all(name in found[0].do for name in names)


@pytest.mark.sample(2)
@pytest.mark.parametrize("case", CASES, ids=ids)
def test_joints_of_the_middle_that_stand_still_for_a_while_are_told_first_with_these_frames(case):
    start = made(case[0])
    names = names_of(start, case[1])
    first = round(0.3 * start.period)
    last = first + round(0.35 * start.period)
    found = check(seen_again(start, held(start, names, first, last)))
    told = [(f.kind, f.limb, f.first_frame, f.last_frame) for f in found]
    place = "spine" if len(names) > 1 else names[0]
    assert told == [("stuck", place, first + 1, last + 1)]
    assert all(name in found[0].do for name in names)
    assert "the rest of the body goes on" in found[0].do


def test_a_joint_that_nobody_has_keyed_is_not_missed():
    """As rigs have some: it stands as in the standing rig."""
    start = made(CASES[0][0])
    columns, rows = channel_columns(start.file, "rotation"), start.file.rows.copy()
    for name in (start.map.spine[2], start.map.head):
        rows[:, columns[start.file.joint_names.index(name)]] = 0.0
    kinds = [f.kind for f in check(seen_again(start, with_rows(start.file, rows)))]
    assert "frozen" not in kinds


def test_a_back_that_stands_in_a_halt_is_not_stuck():
    start = shot_base("a draft horse that halts between")
    assert [f for f in check(start.seen) if f.kind in {"stuck", "frozen"}] == []
