"""The check on loops of which a part is scaled in time: one finding, with which frames and by how much."""

import numpy as np
import pytest
from damage import seen_again, with_rows
from damage_by_strangers import half_retimed, start_of

from gaitgen.check.check import check

EVEN = [
    ("riding_horse", "walk", 32, False, 1),
    ("cat", "walk", 28, True, 1),
    ("dog", "trot", None, True, 1),
    ("elephant", "amble", None, True, 1),
    ("giraffe", "walk", None, False, 1),
    ("riding_horse", "walk", 32, True, 2),
]


def made(animal, gait, frames, in_place, strides):
    return start_of(animal, gait, frames, in_place=in_place, strides=strides)


TIMES = [0.8, 0.9, 1.1, 1.2, 1.3]


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    ("which", "times"),
    [pytest.param(which, times, id=f"{which}-{times}") for times in TIMES for which in EVEN],
)
def test_half_a_loop_that_is_scaled_in_time_is_told_with_its_frames_and_its_amount(which, times):
    """What feet, body and joints then do follows from it: no body moves over its feet, no leg is late."""
    start = made(*which)
    damaged = half_retimed(start, np.random.default_rng(1), times)
    found = check(seen_again(start, damaged.file))
    assert [(each.kind, each.limb) for each in found] == [("retimed", "whole body")]
    assert found[0].first_frame == 1
    assert found[0].last_frame == pytest.approx(damaged.frames[1], abs=1)
    assert found[0].amount == pytest.approx(100.0 * abs(times - 1.0), abs=2.0)
    assert ("stretched" if times > 1.0 else "squeezed") in found[0].do


@pytest.mark.sample(1)
@pytest.mark.parametrize("frames", [25, 27, 29, 33])
def test_a_stride_of_an_odd_number_of_frames_is_not_retimed(frames):
    """One of its steps is longer by a frame: that is what whole frames make of it."""
    assert check(start_of("riding_horse", "walk", frames).seen) == []


@pytest.mark.sample(1)
@pytest.mark.parametrize(("animal", "gait"), [("dog", "walk"), ("cat", "walk"), ("cat", "trot")])
def test_a_loop_that_lacks_three_frames_before_its_end_is_not_retimed_nor_mirrored(animal, gait):
    start = start_of(animal, gait)
    rows = np.delete(start.file.rows, np.arange(start.frames - 4, start.frames - 1), axis=0)
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(each.kind, each.first_frame, each.amount) for each in found] == [
        ("frames missing", len(rows) - 1, 3)
    ]


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["dog", "cat"])
def test_two_frames_that_are_held_one_after_the_other_are_not_retimed(animal):
    start = start_of(animal, "trot")
    rows = np.insert(start.file.rows, [3, 4], start.file.rows[[3, 4]], axis=0)
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(each.kind, each.first_frame) for each in found[:2]] == [
        ("repeated frame", 4),
        ("repeated frame", 6),
    ]
