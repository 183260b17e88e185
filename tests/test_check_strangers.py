"""The check on faults that nobody listed, of many animals and gaits: they are named for what they are."""

from dataclasses import replace

import numpy as np
import pytest
from bench.strangers import told, tries
from check_hits import is_named_first
from damage import DAMAGES, base, columns, seen_again, shifted, with_rows
from damage_by_hand import BY_HAND
from damage_by_strangers import (
    LISTED,
    SIZED,
    UNLISTED,
    layer_of_all,
    leg_layer,
    noise_on_a_leg_joint,
    root_keys_taken_out,
    rounded_angles,
    smoothed_too_much,
    start_of,
)
from damage_habits import HABITS

from gaitgen.check.check import check
from gaitgen.check.kinds import KINDS
from gaitgen.check.look import see
from gaitgen.check.meant import Meant
from gaitgen.check.tracked import place
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.pipeline import Request, make_cycle

ALL_OF_HORSES = [
    lambda start, damage=damage, amount=amount: damage(start, amount, np.random.default_rng(1))
    for damage, amount, *_ in (*DAMAGES.values(), *BY_HAND.values(), *HABITS.values())
]
ALL_OF_ANIMALS = [
    lambda start, damage=damage: damage(start, np.random.default_rng(1))
    for damage in (*LISTED.values(), *UNLISTED.values())
] + [
    lambda start, damage=damage, amount=amount: damage(start, np.random.default_rng(1), amount)
    for damage, _, amounts in SIZED.values()
    for amount in amounts
]
SEED = 41  # one that no limit was chosen on


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", LISTED)
def test_what_was_misnamed_once_is_named_for_what_it_is(name):
    """On four clips of other animals, gaits and lengths; one may be missed, as noise in a short gallop is."""
    number = list(LISTED).index(name)
    hits = [told(damaged, found)[2] for _, damaged, found in tries(number, LISTED[name], 4, SEED)]
    assert np.mean(hits) >= 0.75, hits


@pytest.mark.thorough
@pytest.mark.parametrize(("animal", "in_place"), [("greyhound", False), ("dog", True), ("red_deer", True)])
def test_noise_in_a_short_trot_is_of_its_own_side(animal, in_place):
    """Twelve frames, 2 degrees: its mate does the same without it, half a stride later."""
    start, sides = start_of(animal, "trot", in_place=in_place), []
    for seed in range(8):
        damaged = noise_on_a_leg_joint(start, np.random.default_rng(seed))
        first = check(seen_again(start, damaged.file))[0]
        sides.append((first.kind, first.limb) == ("jitter", damaged.limbs[0]))
    assert np.mean(sides) >= 0.85, sides


@pytest.mark.thorough
@pytest.mark.parametrize("degrees", [0.7, 2.0])
def test_toes_without_keys_are_not_frozen_by_noise_on_a_mate(degrees):
    """A rig whose toes never turn, and noise on all of one leg: nothing was taken from the other."""
    start = start_of("dachshund", "walk", 24, in_place=False)
    rows = start.file.rows.copy()
    toes = [start.map.limbs[limb].joints[-1] for limb in LIMBS]
    still = [column for name in toes for column in columns(start.file, name).values()]
    rows[:, still] = rows[0, still]
    own = start.map.limbs["RH"].joints
    at = [column for name in own for column in columns(start.file, name).values()]
    rows[:-1, at] += np.random.default_rng(3).normal(0.0, degrees, (len(rows) - 1, len(at)))
    rows[-1, at] = rows[0, at]
    found = check(seen_again(start, with_rows(start.file, rows)))
    every = [each for first in found for each in (first, *first.follows)]
    assert (found[0].kind, found[0].limb) == ("jitter", "RH")
    assert "frozen" not in {each.kind for each in every}


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("animal", "in_place", "frames"),
    [
        ("cat", False, 7),
        ("cat", True, 11),
        ("goat", True, 9),
        ("goat", False, 13),
        ("riding_horse", True, 9),
    ],
)
def test_a_walk_smoothed_too_much_does_not_run_backwards(animal, in_place, frames):
    """Its swings go lower than its feet stand; those still keep to the ground's velocity."""
    start = start_of(animal, "walk", 24, in_place=in_place)
    seen = seen_again(start, smoothed_too_much(start, None, frames).file)
    found = check(seen)
    assert found
    assert "reversed in time" not in {each.kind for each in found}
    if frames < 12:  # of 24
        assert seen.feet.body_m_s[0] == pytest.approx(start.seen.feet.body_m_s[0], rel=0.1)


@pytest.mark.thorough
def test_faults_that_nobody_listed_are_named_first():
    hits, named = [], []
    for number, damage in enumerate(UNLISTED.values()):
        for _, damaged, found in tries(number, damage, 2, SEED):
            row = told(damaged, found)
            hits.append(row[1])
            named.append(row[2])
    assert np.mean(hits) >= 0.85
    assert np.mean(named) >= 0.8


@pytest.mark.thorough
def test_noise_on_one_joint_of_a_travelling_dog_is_jitter():
    """Twelve frames of trot: too few to tell noise from quick legs, but for what the mate does."""
    start = start_of("dog", "trot", in_place=False)
    for seed, name in enumerate(("tibia_L", "radius_R", "femur_R", "neck_2")):
        rows = start.file.rows.copy()
        at = list(columns(start.file, name).values())
        rows[:-1, at] += np.random.default_rng(seed).normal(0.0, 2.0, (len(rows) - 1, 3))
        rows[-1, at] = rows[0, at]
        found = check(seen_again(start, with_rows(start.file, rows)))
        assert [(f.kind, f.limb) for f in found[:1]] == [("jitter", name)], name


def test_a_walk_backwards_is_no_walk_in_reverse():
    clip = make_cycle(Request(animal="riding_horse", gait="back", in_place=False))
    file = read_bvh(bvh.encode(clip, FileSpace()), "back.bvh")
    start = start_of("riding_horse", "walk", 32, in_place=False)
    back = see(place(file, start.map, "back.bvh"), start.seen.limits)
    assert back.is_backward
    assert "reversed in time" not in {f.kind for f in check(back)}
    turned = check(seen_again(start, with_rows(start.file, start.file.rows[::-1])))
    assert turned[0].kind == "reversed in time"


@pytest.mark.sample(1)
@pytest.mark.parametrize("degrees", [0.1, 0.5, 1.0, 2.0])
def test_angles_that_go_in_steps(degrees):
    """Steps of half a degree pass, as noise of that size does; of a degree and more they are one finding."""
    start = start_of("cow", "walk", 32)
    rows = start.file.rows.copy()
    rows[:, 3:] = np.round(rows[:, 3:] / degrees) * degrees
    kinds = [f.kind for f in check(seen_again(start, with_rows(start.file, rows)))]
    assert ("rounded angles" in kinds) == (degrees >= 1.0)
    assert degrees < 1.0 or kinds == ["rounded angles"]
    assert rounded_angles(start, None).kinds


@pytest.mark.sample(1)
@pytest.mark.parametrize(("percent", "is_found"), [(2.0, False), (5.0, True)])
def test_a_bone_that_is_longer_than_its_mate(percent, is_found):
    start = start_of("goat", "walk", 24)
    offsets = start.file.offsets.copy()
    offsets[start.file.joint_names.index(start.map.limbs["RH"].joints[2])] *= 1.0 + percent / 100.0
    found = check(see(place(replace(start.file, offsets=offsets), start.map, "x"), start.seen.limits))
    named = [f for f in found if f.kind == "bone unlike other side"]
    assert [(f.limb, round(f.amount)) for f in named] == ([("RH", 5)] if is_found else [])


@pytest.mark.thorough
def test_what_stands_still_is_named_before_its_feet():
    """A scapula, an ear and the back without keys, while the other side moves."""
    for animal, part in (("big_cat", "scapula_L"), ("dog", "ear_R"), ("big_cat", "spine")):
        start = start_of(animal, "walk", 30, in_place=False)
        names, limb = start.map.spine[1:] if part == "spine" else [part], part
        rows = start.file.rows.copy()
        at = [column for name in names for column in columns(start.file, name).values()]
        rows[:, at] = rows[0, at]
        found = check(seen_again(start, with_rows(start.file, rows)))
        assert [(f.kind, f.limb) for f in found[:1]] == [("frozen", limb)]


@pytest.mark.sample(1)
@pytest.mark.parametrize("order", ["XYZ", "YXZ", "ZYX", "YZX", "XZY"])
def test_angles_read_in_another_order(order):
    """Either the numbers are taken for other axes, or they apply in another order."""
    start = start_of("draft_horse", "walk", 28, in_place=False)
    words = tuple(
        tuple(w for w in own if w.endswith("position")) + tuple(f"{axis}rotation" for axis in order)
        for own in start.file.channels
    )
    found = check(see(place(replace(start.file, channels=words), start.map, "x"), start.seen.limits))
    assert [(f.kind, f.limb) for f in found] == [("rotation order", "all joints")]
    assert "Z, X, Y" in found[0].do


def test_a_lean_is_measured():
    start = start_of("pig", "walk", 28)
    rows = start.file.rows.copy()
    rows[:, columns(start.file, start.file.joint_names[0])["Z"]] += 5.0
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert found[0].kind == "body leans"
    assert found[0].amount == pytest.approx(5.0, abs=1.0)


def test_a_clip_cut_before_a_stride_is_no_pass():
    start = start_of("donkey", "walk", 32, in_place=False)
    found = check(seen_again(start, with_rows(start.file, start.file.rows[:20])))
    assert [f.kind for f in found] == ["no whole stride"]


def test_frames_pasted_twice_are_counted():
    start = start_of("cat", "walk", 24)
    rows = np.insert(start.file.rows, 12, start.file.rows[9:12], axis=0)
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert (found[0].kind, found[0].first_frame, found[0].last_frame, found[0].amount) == (
        "repeated frame",
        13,
        15,
        3.0,
    )


@pytest.mark.parametrize(("every", "kind"), [(2, "on twos"), (3, "on threes"), (4, "on fours")])
def test_held_frames_are_told_by_how_many(every, kind):
    start = start_of("riding_horse", "walk", 32)
    rows = start.file.rows[np.arange(start.frames) // every * every]
    assert [f.kind for f in check(seen_again(start, with_rows(start.file, rows)))] == [kind]


def test_a_foot_that_crosses_over_is_named():
    """A foot moved aside in its swing, and nothing else of the clip."""
    number = list(UNLISTED).index("foot crosses over in swing")
    start = start_of("elephant", "walk", 40)
    damaged = UNLISTED["foot crosses over in swing"](start, np.random.default_rng(number))
    found = check(seen_again(start, damaged.file))
    assert is_named_first(damaged, found, 1)
    assert {f.limb for f in found} == set(damaged.limbs[:1])


@pytest.mark.thorough
def test_a_foot_that_slides_at_once_is_named_and_not_its_timing():
    """It stands at two places of one stance, so that it seems to land late; of three horses none does."""
    for animal, frames, in_place in (("donkey", 28, False), ("pony", 36, True), ("foal", 24, False)):
        start = start_of(animal, "walk", frames, in_place=in_place)
        for limb in ("RH", "LF"):
            stance = start.seen.feet.of(LIMBS.index(limb))[0]
            middle, n = (stance.first + stance.last) // 2, start.frames - 1
            rows = np.arange(stance.first, stance.first + n)
            back = np.clip((stance.first + n - 1 - rows) / (stance.first + n - 1 - stance.last), 0, 1)
            path = np.zeros((start.frames, 3))
            path[rows % n, 0] = 0.04 * np.clip((rows - middle + 1) / 2.0, 0, 1) * np.minimum(1, back)
            path[n] = path[0]
            found = check(seen_again(start, shifted(start, limb, path)))
            assert found[0].kind in {"slide", "slip"}, (animal, limb)
            assert found[0].limb == limb
            assert found[0].amount == pytest.approx(40.0, abs=8.0)


@pytest.mark.thorough
def test_noise_of_a_small_animals_root_is_noise():
    """A tenth of a millimetre on a root 19 cm high: as much as a millimetre on a horse's."""
    start = start_of("dachshund", "walk")
    rng = np.random.default_rng(4)
    rows = start.file.rows + rng.normal(size=start.file.rows.shape) * np.where(
        np.arange(start.file.rows.shape[1]) < 3, 0.015, 0.2
    )
    seen = seen_again(start, with_rows(start.file, rows))
    assert 1000.0 * seen.noise.root_m == pytest.approx(0.15, rel=0.6)
    assert check(seen) == []


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("which", "count"),
    [
        (("cow", "walk", 36), 14),
        (("dog", "trot", 20), 6),
        (("cat", "walk", 24), 8),
        (("brown_bear", "walk", 40), 5),
    ],
)
def test_a_root_whose_keys_are_missing_is_one_finding_and_feet_are_listed_under_it(which, count):
    start = start_of(*which)
    for seed in range(4):  # on a line, and held
        damaged = root_keys_taken_out(start, np.random.default_rng(seed), count)
        found = check(seen_again(start, damaged.file))
        assert is_named_first(damaged, found, 1), seed
        assert [each.kind for each in found] == ["root keys missing"], seed


@pytest.mark.thorough
@pytest.mark.parametrize("which", [("cow", "walk", 28), ("dog", "walk", 24), ("red_deer", "trot", 20)])
@pytest.mark.parametrize("share", [0.5, 0.75])
def test_a_layer_at_part_of_its_weight_is_named_with_its_leg(which, share):
    start = start_of(*which)
    damages = [leg_layer(start, np.random.default_rng(seed), share) for seed in range(3)]
    for damaged in (*damages, layer_of_all(start, None, share)):
        found = check(seen_again(start, damaged.file))
        assert is_named_first(damaged, found, 1), damaged.limbs
        assert found[0].amount == pytest.approx(100.0 * share), damaged.limbs


# Kinds that no way to damage a clip makes; each has a test of its own.
def test_every_kind_of_finding_has_a_way_to_make_it():
    made = set()
    for ways, start in (
        (ALL_OF_HORSES, base("riding_horse", 32)),
        (ALL_OF_ANIMALS, start_of("cat", "walk", 24)),
    ):
        for damage in ways:
            made |= set(damage(start).kinds)
    assert KINDS - made == set()


def test_a_stance_that_is_not_the_planned_one():
    """A plan in which the left fore foot is to stay down for five frames more."""
    start = start_of("riding_horse", "walk", 32)
    own = [start.seen.feet.of(limb)[0] for limb in range(4)]
    text = ", ".join(
        f"{limb} {stance.first % 32 + 1}-{(stance.last + 5 * (limb == 'LF')) % 32 + 1}"
        for limb, stance in zip(LIMBS, own, strict=True)
    )
    seen = see(start.motion, start.seen.limits, meant=Meant(contacts=text))
    assert [(f.kind, f.limb) for f in check(seen)] == [("stance off plan", "LF")]
