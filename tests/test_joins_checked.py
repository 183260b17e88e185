"""What the check finds in joins at the frame rates of film, television and games."""

from dataclasses import replace
from functools import cache
from itertools import pairwise, permutations, product

import numpy as np
import pytest

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.check import check
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import Request
from gaitgen.motion.measure import measure_feet
from gaitgen.pipeline import make_cycle
from gaitgen.shot.join import make_join

RATES_HZ = (24, 25, 30, 48, 60)
ANIMALS = ("riding_horse", "dog", "cat", "cow", "pig", "red_deer", "foal", "greyhound")
# What is found in some, from the survey of tests/bench/joins_survey.py.
FOUND = {
    "red_deer walk trot 24": "a fore pastern pops by 8.9 degrees as its foot leaves at its greatest load",
    "foal trot walk 24": "a hind pastern pops by 6.1 degrees",
    "foal trot halt 24": "a shoulder closes to 69.8 degrees, 70 are its least",
    "cat walk trot 30": "the neck pops by 3.5 degrees as a fore foot lands alone",
    "cat trot halt 48": "an elbow shakes by 0.63 degrees",
    "greyhound walk halt 24": "a fore paw shakes by 1.05 degrees: it opens for a frame as it leaves",
}
# Of gaits with a lead, whose feet went under the ground as they left it: they were carried in part.
CARRIED = [
    "red_deer rotary_gallop walk 24",
    "dog rotary_gallop trot 30",
    "dog canter trot 48",
    "greyhound rotary_gallop trot 30",
    "hare half_bound walk 30",
    "hare walk half_bound 48",
    "riding_horse trot gallop 48",
]
# Changes of lead at a canter: within 1.2 strides, half a stride round, a horse popped by 17.6 and
# 15.8 degrees, a draft horse by 19.9, a bear by 30.
OTHER_LEADS = [
    "riding_horse canter 24 left",
    "riding_horse canter 25 right",
    "riding_horse canter 60 left",
    "draft_horse canter 24 right",
    "draft_horse canter 48 left",
    "brown_bear canter 30 left",
    "foal canter 25 right",
    "dog canter 48 left",
]
# Strides beside a change, whose height does not end as it began: once told as blows of -0.6 to -1.0 and 4.8
# body weights, where a parabola through a sixth of a stride has 0.2 to 2.3.
UNEVEN = [
    "donkey canter halt 24",
    "brown_bear halt canter 48",
    "draft_horse walk gallop 48",
    "big_cat trot rotary_gallop 48",
    "dog canter halt 48",
]
# How far under level ground any point of a sole may be in any frame of a join, standing or swinging. [m]
UNDER_MOST_M = 2e-3


def joins():
    """All joins of a walk, a trot and a halt; those in which something is found fail, and say what."""
    for animal, pair, rate in product(ANIMALS, permutations(("halt", "walk", "trot"), 2), RATES_HZ):
        name = " ".join((animal, *pair, str(rate)))
        why = FOUND.get(name)
        yield pytest.param(name, marks=() if why is None else pytest.mark.xfail(strict=True, reason=why))


def own_joins():
    """Every join of every animal's own gaits and a halt, at two frame rates."""
    for animal, rate in product(animal_names(), (24, 60)):
        for pair in permutations(("halt", *load_animal(animal).gaits), 2):
            yield " ".join((animal, *pair, str(rate)))


@cache
def clip_of(name):
    animal, before, after, rate = name.split()
    return make_join(before, after, Request(animal=animal, frame_rate_hz=float(rate))).clip


@cache
def found(name):
    """What the check finds in the file of a join, read as anybody's."""
    return found_in(clip_of(name), name)


def found_in(clip, name):
    """What the check finds in a clip of the animal that a name begins with."""
    animal = name.split()[0]
    file = read_bvh(bvh.encode(clip, FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", animal)
    return check(see(place(file, known.map, "join.bvh"), known.limits))


@pytest.mark.always("pig trot walk 30")
@pytest.mark.parametrize("name", list(joins()))
def test_nothing_is_found_in_a_join(name):
    assert [(each.kind, each.place, each.first_frame, each.amount) for each in found(name)] == []


@cache
def other_lead(name):
    """A change from one lead to the other."""
    animal, gait, rate, lead = name.split()
    asked = Request(animal=animal, frame_rate_hz=float(rate), lead=lead)
    return make_join(gait, gait, asked, lead_after={"left": "right", "right": "left"}[lead])


BENT = pytest.mark.xfail(strict=True, reason="a spine bends by 25.2 degrees, and a joint pops by 5")


@pytest.mark.always("riding_horse canter 24 left")
@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=BENT, id=name) if name == "brown_bear canter 30 left" else name
        for name in OTHER_LEADS
    ],
)
def test_nothing_is_found_in_a_change_of_lead(name):
    assert [
        (each.kind, each.place, each.first_frame, each.amount)
        for each in found_in(other_lead(name).clip, name)
    ] == []


@pytest.mark.parametrize("name", OTHER_LEADS)
def test_feet_of_a_pair_change_places_and_take_turns(name):
    """No foot lands twice between two landings of its mate, or it would go half a stride round."""
    made = other_lead(name)
    steps = made.timeline.steps(made.path, made.ground)
    for pair in ((0, 1), (2, 3)):
        lands = sorted(
            (touchdown, limb)
            for limb, touchdown in zip(steps.limb.tolist(), steps.touchdown_s.tolist(), strict=True)
            if limb in pair
        )
        places = [limb for _, limb in lands]
        assert sum(one == other for one, other in pairwise(places)) == 1


@pytest.mark.thorough
@pytest.mark.parametrize("name", CARRIED)
def test_no_foot_goes_under_the_ground_as_it_leaves_it(name):
    assert [each.place for each in found(name) if each.kind == "sole under ground"] == []


@pytest.mark.always("brown_bear canter halt 24")
@pytest.mark.parametrize("name", list(own_joins()))
def test_no_point_of_a_sole_is_under_level_ground_in_a_join(name):
    """Its heel too, as it swings with its toe raised to land."""
    assert measure_feet(clip_of(name)).lowest_m.min() >= -UNDER_MOST_M


@pytest.mark.always("draft_horse walk gallop 48")
@pytest.mark.parametrize("name", UNEVEN)
def test_strides_that_do_not_end_as_they_began_take_no_blow(name):
    assert "impossible support force" not in {each.kind for each in found(name)}


# Canters that become gallops were taken for loops that do not close, hind legs that change places for legs
# that somebody exchanged.
AS_LOOPS = [
    "foal canter gallop 24",
    "foal canter gallop 60",
    "riding_horse canter gallop 24",
    "dog canter rotary_gallop 24",
]


@pytest.mark.parametrize("name", AS_LOOPS)
def test_a_canter_that_becomes_a_gallop_is_no_loop(name):
    kinds = {each.kind for each in found(name)}
    assert not kinds & {"loop not closing", "legs swapped"}


# A gait, a change of its lead, and the gait laid end to end: the first was taken for a loop, channels of the
# others took the other triple of angles in one of the files (180 degrees at the seam).
END_TO_END = ["foal gallop left", "dog rotary_gallop left", "draft_horse gallop right"]


def end_to_end(name):
    """The file of a gait, of a change of its lead, and of the gait with the other lead, as one."""
    animal, gait, lead = name.split()
    after = {"left": "right", "right": "left"}[lead]
    asked = Request(animal=animal, gait=gait, lead=lead, in_place=False, strides=2)
    clips = [
        make_cycle(asked),
        make_join(gait, gait, replace(asked, strides=1), lead_after=after).clip,
        make_cycle(replace(asked, lead=after)),
    ]
    files = [read_bvh(bvh.encode(clip, FileSpace()), "leads.bvh") for clip in clips]
    level = [files[0].channels[0].index(word) for word in ("Xposition", "Zposition")]
    rows = files[0].rows
    for file in files[1:]:
        beyond = file.rows.copy()
        beyond[:, level] += rows[-1, level] - beyond[0, level]
        np.testing.assert_allclose(beyond[0], rows[-1], atol=1e-3)
        rows = np.concatenate([rows, beyond[1:]])
    return replace(files[0], rows=rows)


@pytest.mark.sample(2)
@pytest.mark.parametrize("name", END_TO_END)
def test_files_laid_end_to_end_go_on_in_every_channel_and_are_no_loop(name):
    file = end_to_end(name)
    known = whose(file, "leads.bvh", name.split()[0])
    found = check(see(place(file, known.map, "leads.bvh"), known.limits))
    kinds = {each.kind for one in found for each in (one, *one.follows)}
    assert not kinds & {"loop not closing", "legs swapped", "flipped rotation"}


QUICK = [
    "cat rotary_gallop trot 24",
    "cat trot rotary_gallop 24",
    "brown_bear canter running_walk 24",
    "dachshund trot rotary_gallop 24",
    "dachshund rotary_gallop walk 24",
]


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", QUICK)
def test_what_nods_and_sways_in_strides_of_few_frames_is_no_jitter(name):
    """Strides of 8 to 20 frames, once told as 0.4 to 0.7 degrees of neck and tail, and mm of the root."""
    assert [(each.kind, each.place) for each in found(name)] == []


@pytest.mark.thorough
def test_a_neck_that_shakes_in_strides_of_few_frames_is_still_told():
    name, joint = QUICK[0], "neck_1"
    file = read_bvh(bvh.encode(clip_of(name), FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", "cat")
    rows = file.rows.copy()
    own = list(channel_columns(file, "rotation")[file.joint_names.index(joint)])
    rows[:, own] += np.random.default_rng(1).normal(0.0, 2.0, (len(rows), len(own)))
    again = see(place(replace(file, rows=rows), known.map, "join.bvh"), known.limits)
    assert [(each.kind, each.limb) for each in check(again)][:1] == [("jitter", joint)]


@pytest.mark.parametrize("bob_m", [0.1])
def test_a_body_that_bobs_beyond_all_force_beside_a_change_is_still_told(bob_m):
    """Four times in the stride of a gallop that comes of a walk, with all that hangs on the root."""
    clip, file = clip_of(UNEVEN[2]), read_bvh(bvh.encode(clip_of(UNEVEN[2]), FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", "draft_horse")
    seen = see(place(file, known.map, "join.bvh"), known.limits)
    part = next(part.seen for part in seen.parts if part.seen.gait is not None)
    rows = file.rows.copy()
    height = list(file.channels[0]).index("Yposition")
    rows[:, height] += 100.0 * bob_m * np.sin(8.0 * np.pi * np.arange(clip.frames) / part.gait.period)
    again = see(place(replace(file, rows=rows), known.map, "join.bvh"), known.limits)
    every = [each for one in check(again) for each in (one, *one.follows)]
    assert "impossible support force" in {each.kind for each in every}
