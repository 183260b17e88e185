"""Faults of an ordinary day, of a part of a clip or of a leg: what is told is where it is, and not a mate."""

import numpy as np
import pytest
from damage import columns, seen_again, with_rows
from damage_by_strangers import start_of

from gaitgen.check.check import check
from gaitgen.check.findings.in_between import in_between
from gaitgen.check.findings.shaking_parts import parts_that_shake
from gaitgen.course import steps
from gaitgen.course.named_gait import summarise

SHAKY = [("cat", "walk"), ("red_deer", "walk"), ("giraffe", "walk"), ("riding_horse", "trot")]
# A part is told to within so many frames of where it begins and ends: noise may be small there for a while.
NEAR = 7


def strides_of(animal, gait):
    """Three strides that travel."""
    return start_of(animal, gait, in_place=False, strides=3)


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", SHAKY, ids=" ".join)
@pytest.mark.parametrize("part", ["neck", "head", "tail", "back"])
def test_what_shakes_in_a_part_of_a_clip_is_told_with_its_frames(clip, part):
    start = strides_of(*clip)
    rig, rng = start.map, np.random.default_rng(len(part))
    joint = {"neck": rig.neck[0], "head": rig.head, "tail": rig.tail[0], "back": rig.spine[2]}[part]
    first = start.frames // 3
    rows, own = start.file.rows.copy(), list(columns(start.file, joint).values())
    rows[first : first + 14, own] += rng.normal(0.0, 1.0, (14, len(own)))
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(each.kind, each.limb) for each in found] == [("jitter", joint)]
    assert abs(found[0].first_frame - (first + 1)) <= NEAR
    assert abs(found[0].last_frame - (first + 14)) <= NEAR
    assert found[0].do.startswith("smooth the curves between these frames")


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", SHAKY, ids=" ".join)
def test_nothing_shakes_in_a_part_of_a_clean_clip(clip):
    """Not by a third of what is told."""
    assert parts_that_shake(strides_of(*clip).seen, 2.0) == []


@pytest.mark.sample(2)
@pytest.mark.parametrize("in_place", [True, False])
@pytest.mark.parametrize("clip", [("cow", "walk"), ("cat", "walk"), ("riding_horse", "canter")], ids=" ".join)
def test_a_frame_too_many_midway_between_two_is_told(clip, in_place):
    start = start_of(*clip, in_place=in_place, strides=1 if in_place else 3)
    row, own = start.frames // 2, start.file.rows
    rows = np.concatenate([own[:row], (own[row - 1 : row] + own[row : row + 1]) / 2.0, own[row:]])
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(each.kind, each.limb, each.first_frame) for each in found] == [
        ("repeated frame", "whole body", row + 1)
    ]
    assert found[0].do.startswith(f"take frame {row + 1} out: it lies midway")


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot", "gallop"])
@pytest.mark.parametrize("animal", ["riding_horse", "pig", "goat"])
def test_no_frame_of_a_clean_clip_lies_midway(animal, gait):
    assert in_between(start_of(animal, gait, strides=2, in_place=False).seen) == []


@pytest.mark.parametrize("share", [0.8, 0.9])
def test_of_a_leg_on_a_layer_in_a_quick_trot_its_mate_is_not_accused(share):
    """A foreleg of a goat folds by 62 degrees in one frame of ten; the other, made smaller, by less."""
    start = start_of("goat", "trot")
    rows = start.file.rows.copy()
    own = [c for joint in start.map.limbs["LF"].joints for c in columns(start.file, joint).values()]
    rows[:, own] *= share
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert {each.limb for each in found} == {"LF"}


@pytest.mark.parametrize(
    ("duty", "pace"), [(0.55, "walk"), (0.45, "amble"), (0.27, "amble"), (0.2, "run")], ids=str
)
def test_four_even_beats_are_a_run_if_all_feet_are_in_the_air_at_once(duty, pace):
    """By hand: with four beats at quarters of a stride some foot is down all the time from 0.25 on."""
    lands = np.array([0.25, 0.75, 0.0, 0.5])
    beats = steps.Steps(
        limb=np.arange(4),
        touchdown_s=lands,
        liftoff_s=lands + duty,
        place_m=np.zeros((4, 2)),
        heading_rad=np.zeros(4),
        loop=steps.Loop(1.0),
    )
    assert summarise(beats).name == f"{pace}, lateral sequence, single foot"
