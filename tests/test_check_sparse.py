"""The check as a stranger meets it: clips of any animal and gait, damaged in one plain way (bench/sparse.py).

The animals and lengths here are others than those on which the check was mended.
"""

import numpy as np
import pytest
from bench.sparse import clip_of, hind_feet_pitched, root_smoothed, root_with_axes_exchanged
from damage import along, root_moved, seen_again, turned
from damage_by_strangers import body_levelled, root_flat, start_of

from gaitgen.check.check import check
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request, make_cycle

RNG = np.random.default_rng


def named(found):
    return [(each.kind, each.limb) for each in found]


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait", "frames"),
    [
        ("donkey", "walk", 29),
        ("cat", "walk", 25),
        ("brown_bear", "walk", 29),
        ("elephant", "amble", 29),
        ("pig", "walk", 29),
        ("dromedary", "walk", 51),
    ],
)
@pytest.mark.parametrize("strides", [1, 2, 3])
def test_strides_of_an_odd_length_are_even_however_many_there_are(animal, gait, frames, strides):
    assert check(start_of(animal, gait, frames, strides=strides).seen) == []


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait", "frames"),
    [("goat", "walk", 25), ("draft_horse", "walk", 31), ("cow", "trot", 17), ("big_cat", "walk", 35)],
)
def test_in_an_odd_stride_a_joint_that_is_turned_is_still_found(animal, gait, frames):
    start = start_of(animal, gait, frames)
    assert check(start.seen) == []
    name = start.map.limbs["LH"].joints[1]
    found = check(seen_again(start, turned(start, name, "X", np.full(start.frames, 6.0))))
    assert found[0].limb == "LH"
    assert {each.limb for each in found} <= {"LH", name}


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [("goat", "gallop"), ("donkey", "trot"), ("draft_horse", "walk"), ("greyhound", "rotary_gallop")],
)
@pytest.mark.parametrize("degrees", [0.7, 1.0])
def test_a_loop_that_is_open_by_a_degree_is_told_at_its_joint(animal, gait, degrees):
    start = start_of(animal, gait)
    assert check(start.seen) == []
    for name in (start.map.limbs["RF"].joints[1], start.map.spine[1], start.map.neck[0]):
        out = degrees * np.clip((np.arange(start.frames) - start.frames + 6) / 5.0, 0.0, 1.0)
        found = check(seen_again(start, turned(start, name, "X", out)))
        assert named(found)[0] == ("loop not closing", name)
        assert {each.kind for each in found[1:]} <= {"joint locked at lift-off", "drift"}  # of the opened leg
        assert found[0].amount == pytest.approx(degrees, rel=1e-3)


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [("goat", "gallop"), ("pig", "gallop"), ("greyhound", "rotary_gallop"), ("dog", "canter")],
)
def test_a_root_that_does_not_come_back_to_its_height_is_told_in_quick_strides(animal, gait):
    start = start_of(animal, gait)
    rise_m = 0.007 * start.motion.hip_height_m
    file = root_moved(start, along(np.linspace(0.0, rise_m, start.frames), 2))
    found = check(seen_again(start, file))
    assert named(found)[0] == ("loop not closing", start.file.joint_names[0])
    assert found[0].amount == pytest.approx(1000.0 * rise_m, rel=1e-3)


GLIDING = [
    ("riding_horse", "walk"),
    ("big_cat", "walk"),
    ("cow", "trot"),
    ("elephant", "walk"),
    ("goat", "trot"),
    ("hare", "walk"),
    ("dromedary", "pace"),
]


@pytest.mark.sample(2)
@pytest.mark.parametrize(("animal", "gait"), GLIDING)
def test_a_body_that_glides_over_feet_that_hold_is_told(animal, gait):
    """Its hips stay at one height, and its legs are bent so that the feet stay where they were."""
    start = start_of(animal, gait)
    assert check(start.seen) == []
    damaged = body_levelled(start, None, 100.0)
    found = check(seen_again(start, damaged.file))
    assert named(found)[0] == ("body on rails", "whole body")
    assert found[0].amount < 1e-3
    assert "hips and chest out of time" not in {each.kind for each in found}
    half = check(seen_again(start, body_levelled(start, None, 50.0).file))
    assert "body on rails" not in {each.kind for each in half}


@pytest.mark.sample(1)
@pytest.mark.parametrize(("animal", "gait"), GLIDING[:3])
def test_a_root_whose_keys_are_missing_is_told_as_that_alone(animal, gait):
    start = start_of(animal, gait)
    found = check(seen_again(start, root_flat(start, None).file))
    assert found[0].kind == "root keys missing"
    assert "body on rails" not in {each.kind for one in found for each in (one, *one.follows)}


@pytest.mark.sample(2)
@pytest.mark.parametrize("animal", ["giraffe", "elephant", "hare", "cat", "big_cat"])
def test_a_body_that_hardly_rises_by_its_style_is_not_on_rails(animal):
    """Half of the rise of the flattest walks is no fault."""
    clip = make_cycle(Request(animal=animal, style=Style(bounce=0.5)))
    start = start_of(animal, "walk")
    found = check(seen_again(start, read_bvh(bvh.encode(clip, FileSpace()), "flat.bvh")))
    assert "body on rails" not in {each.kind for each in found}


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait"), [("cow", "trot"), ("donkey", "trot"), ("goat", "trot"), ("dromedary", "pace")]
)
@pytest.mark.parametrize("longer", [False, True])
def test_a_root_that_was_smoothed_is_no_lean(animal, gait, longer):
    start = clip_of(animal, gait, longer, 24.0, None, True, 1)
    file, kinds, places, _ = root_smoothed(start, RNG(1))
    found = check(seen_again(start, file))
    assert "body leans" not in {each.kind for each in found}
    assert found[0].kind in {*kinds, "body above the ground", "body under the ground"}
    assert found[0].limb in places


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [("goat", "gallop"), ("donkey", "canter"), ("cow", "gallop"), ("riding_horse", "canter")],
)
def test_hind_feet_that_are_pitched_are_named_and_not_the_hips(animal, gait):
    start = start_of(animal, gait)
    file, *_ = hind_feet_pitched(start, RNG(1))
    found = check(seen_again(start, file))
    assert "body leans" not in {each.kind for each in found}
    assert found[0].kind in {"sole under ground", "foot cocks up"}
    assert found[0].limb in LIMBS[2:]


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [("greyhound", "rotary_gallop"), ("big_cat", "rotary_gallop"), ("foal", "gallop"), ("donkey", "canter")],
)
@pytest.mark.parametrize("in_place", [True, False])
def test_a_root_whose_axes_are_exchanged_is_told_in_runs_that_rise(animal, gait, in_place):
    start = start_of(animal, gait, in_place=in_place)
    file, *_ = root_with_axes_exchanged(start, RNG(1))
    assert named(check(seen_again(start, file))) == [("root axes swapped", start.file.joint_names[0])]


def test_soles_of_most_feet_that_are_under_the_ground_at_once_are_a_body_too_low():
    start = clip_of("big_cat", "trot", True, 30.0, None, False, 2)
    file, *_ = root_smoothed(start, RNG(1))
    first, *_ = check(seen_again(start, file))
    assert named([first]) == [("body moves over planted feet", "whole body")]
    assert "sole under ground" in {each.kind for each in first.follows}
