"""The check on clips without a period: own shots pass, what they do is said, damage to them is named."""

import json
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from check_hits import is_found, is_named_first
from damage import Base, bump, columns, seen_again
from damage_by_strangers import LISTED, UNLISTED
from damage_shots import DAMAGES, SHOTS, made_shot, shot_base
from scipy.spatial.transform import Rotation

from gaitgen.check.check import check
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.check.shot.judge import IN_A_JUMP
from gaitgen.check.shot.strides import CHANGES, GOES, JUMPS, STANDS, Stretch
from gaitgen.check.shot.words import is_on_the_spot, shot_facts, shot_lines
from gaitgen.check.text import as_text
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.commands import run
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.pipeline import Request, make_cycle
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.join import make_join
from gaitgen.shot.jump import Obstacle
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import shot_report
from gaitgen.shot.request import shot_of

RISE, CAT, DOG, CANTER, DEER, HALT = SHOTS
GAITS = {
    RISE: ["", "a halt to walk", "walk", "walk to trot", "trot", "trot to a halt", ""],
    CAT: ["", "a halt to walk", "walk", "walk to trot", "trot", "trot to a halt", ""],
    DOG: ["trot", "trot to a halt", ""],
    CANTER: ["trot", "trot to canter, left lead", "canter, left lead", "canter, left lead to walk", "walk"],
    DEER: [
        "",
        "a halt to trot",
        "trot",
        "trot to rotary gallop, left lead",
        "rotary gallop, left lead",
    ],
    HALT: ["walk", "walk to a halt", "", "a halt to walk", "walk"],
}
"""What each shot was asked to do, in order."""


@pytest.mark.sample(1, 2)
@pytest.mark.parametrize("name", SHOTS)
def test_own_shots_pass(name):
    found = check(shot_base(name).seen)
    assert [(each.kind, each.place, each.first_frame, each.amount) for each in found] == []


@pytest.mark.always(RISE, DOG)
@pytest.mark.parametrize("name", SHOTS)
def test_what_a_shot_does_is_found_out(name):
    shot = shot_base(name).seen.shot
    assert [each.gait for each in shot.stretches] == GAITS[name]
    assert shot.stretches[0].first == 0
    assert shot.stretches[-1].last == shot_base(name).frames - 1
    for before, after in pairwise(shot.stretches):
        assert before.last == after.first
    for each in shot.stretches:
        expected = STANDS if not each.gait else CHANGES if " to " in each.gait else GOES
        assert each.what == expected


@pytest.mark.parametrize("animal", ["riding_horse", pytest.param("cat", marks=pytest.mark.thorough)])
def test_walks_between_halts_are_told_as_walks_that_start_and_halt(animal):
    """Strides before a halt are as those after it, and are not taken for strides of one walk with it."""
    walk = Passage(cycle=Request(animal=animal), strides=1)
    made = make_shot(shot_of(ShotRequest((walk, Passage(halt_frames=12), walk))))
    shot = seen_shot(made).shot
    each = ["a halt to walk", "walk", "walk to a halt"]
    assert [stretch.gait for stretch in shot.stretches] == ["", *each, "", *each, ""]
    assert not any("steps from" in line for line in shot_lines(shot))


def test_a_shot_that_begins_with_a_few_frames_of_standing_sets_off():
    """A dog stands for seven frames, which is too short for a halt within a clip."""
    trot = Passage(cycle=Request(animal="dog", gait="trot"), strides=2)
    shot = seen_shot(make_shot(shot_of(ShotRequest((trot,))))).shot
    assert [each.gait for each in shot.stretches] == ["a halt to trot", "trot", "trot to a halt", ""]


@pytest.mark.parametrize(
    ("gait", "words"),
    [
        ("a halt to walk to a halt", "walk from a halt to a halt"),
        ("a halt to a halt", "steps from a halt to a halt"),
        ("a halt to walk", "sets off into a walk"),
        ("walk to a halt", "comes to a halt from a walk"),
    ],
)
def test_what_begins_or_ends_with_a_halt_is_told_with_its_gait(gait, words):
    shot = shot_base(HALT).seen.shot
    assert words in shot_lines(replace(shot, stretches=(Stretch(CHANGES, gait, 0, 9),)))[1]


@pytest.mark.always(RISE, DOG)
@pytest.mark.parametrize("name", SHOTS)
def test_contacts_are_those_of_the_shot(name):
    """The report of the shot comes from its plan; the check has the file alone."""
    last = shot_base(name).frames - 2  # a stance of a frame or two is none
    planned = [step for step in shot_report(made_shot(name)).steps if 1.5 < step.contact_frame < last]
    found = shot_base(name).seen.feet
    off = []
    for step in planned:
        own = [stance.first + 1 for stance in found.of(LIMBS.index(step.foot)) if stance.begins]
        off.append(min(abs(first - step.contact_frame) for first in own))
    assert max(off) <= 1.0
    assert abs(len(planned) - sum(stance.begins for stance in found.stances)) <= 2


def test_turns_and_rises_are_those_of_the_shot():
    way = shot_base(RISE).seen.shot.way
    assert [bend.degrees for bend in way.bends] == [pytest.approx(np.degrees(8.4 * 0.125), abs=3.0)]
    assert [rise.up_m for rise in way.rises] == [pytest.approx(0.25, abs=0.03)]


@pytest.mark.thorough
def test_turns_to_the_right_are_those_of_the_shot():
    assert [bend.degrees for bend in shot_base(CAT).seen.shot.way.bends] == [
        pytest.approx(-np.degrees(2.1 * 0.667), abs=3.0)
    ]


@pytest.mark.always(HALT)
@pytest.mark.parametrize("name", [CANTER, DEER, HALT])
def test_a_straight_shot_on_level_ground_has_no_turns_or_rises(name):
    assert shot_base(name).seen.shot.way.bends == ()
    assert shot_base(name).seen.shot.ground.is_level


def test_a_shot_turned_and_moved_is_the_same_shot():
    """Where a clip lies on the ground, and which way it faces, is no fault and changes nothing."""
    start = shot_base(RISE)
    turn = np.radians(70.0)
    rows = start.file.rows.copy()
    words = start.file.channels[0]
    at = {word: k for k, word in enumerate(words)}
    z, x = rows[:, at["Zposition"]].copy(), rows[:, at["Xposition"]].copy()
    rows[:, at["Zposition"]] = np.cos(turn) * z - np.sin(turn) * x + 300.0
    rows[:, at["Xposition"]] = np.sin(turn) * z + np.cos(turn) * x - 200.0
    order = [word[0] for word in words if word.endswith("rotation")]
    world = _matrix(rows, at, order)
    c, s = np.cos(turn), np.sin(turn)
    about = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
    for k, letter in enumerate(order):
        rows[:, at[f"{letter}rotation"]] = _angles(about @ world, order)[:, k]
    again = seen_again(start, replace(start.file, rows=rows))
    kinds = [[found.kind for found in check(seen)] for seen in (again, start.seen)]
    assert kinds[0] == kinds[1]
    assert [(each.gait, each.first, each.last) for each in again.shot.stretches] == [
        (each.gait, each.first, each.last) for each in start.seen.shot.stretches
    ]
    assert again.shot.way.bends[0].degrees == pytest.approx(start.seen.shot.way.bends[0].degrees, abs=0.1)


@pytest.mark.parametrize("joint", ["radius_L", pytest.param("tibia_R", marks=pytest.mark.thorough)])
def test_a_joint_of_a_shot_that_stands_still_to_its_end_is_told_once(joint):
    """Its foot never lands again, so that nothing slips or floats: nothing was found."""
    start = shot_base(RISE)
    rows, at = start.file.rows.copy(), list(columns(start.file, joint).values())
    first = len(rows) // 2
    rows[first:, at] = rows[first, at]
    found = check(seen_again(start, replace(start.file, rows=rows)))
    assert (found[0].kind, found[0].limb) == ("stuck", joint)
    assert sum(each.kind == "stuck" for each in found) == 1


@pytest.mark.thorough
def test_frames_that_changed_places_are_told_by_their_numbers_in_the_file():
    start = shot_base(HALT)
    row = start.frames - 16
    rows = start.file.rows.copy()
    rows[[row, row + 1]] = rows[[row + 1, row]]
    swap = next(
        f for f in check(seen_again(start, replace(start.file, rows=rows))) if f.kind == "frames swapped"
    )
    assert swap.do == f"put frame {row + 1} and frame {row + 2} into each other's place"
    assert (swap.first_frame, swap.last_frame) == (row + 1, row + 2)


def test_a_shot_without_its_way_is_no_cycle_to_draw(tmp_path, capsys):
    path = tmp_path / "shot.bvh"
    path.write_bytes(bvh.encode(made_shot(RISE).clip, FileSpace()))
    assert run(["plot", str(path), "--out", str(tmp_path / "p.svg")]) == 2
    assert "is no cycle" in (said := capsys.readouterr().err)
    assert "put shot.path.csv beside it" in said
    assert not (tmp_path / "p.svg").exists()


def seen_shot(made):
    """Write a shot, read it as anybody's clip, and look at it."""
    file = read_bvh(bvh.encode(made.clip, FileSpace()), "shot.bvh")
    known = whose(file, "shot.bvh")
    return see(place(file, known.map, "shot.bvh"), known.limits)


def _matrix(rows, at, order):
    angles = np.stack([rows[:, at[f"{letter}rotation"]] for letter in order], axis=1)
    return Rotation.from_euler("".join(order), angles, degrees=True).as_matrix()


def _angles(matrices, order):
    found = Rotation.from_matrix(matrices).as_euler("".join(order), degrees=True)
    return np.degrees(np.unwrap(np.radians(found), axis=0))


def _tried(names, tries):
    hits = {}
    for kind, (damage, amount) in DAMAGES.items():
        for k, name in enumerate(names):
            start = shot_base(name)
            for turn in range(tries):
                damaged = damage(start, amount, np.random.default_rng(1000 * k + turn))
                found = check(seen_again(start, damaged.file))
                hits[kind, name, turn] = (is_found(damaged, found), is_named_first(damaged, found))
    return hits


@pytest.mark.parametrize(
    ("names", "tries"),
    [
        ((DOG,), 1),
        pytest.param((DOG,), 2, marks=pytest.mark.thorough),
        pytest.param((RISE, DOG, CANTER), 1, marks=pytest.mark.thorough),
        pytest.param(tuple(SHOTS), 4, marks=pytest.mark.slow),
    ],
)
def test_damaged_shots_are_named_among_the_first_three(names, tries):
    hits = _tried(names, tries)
    found, named = np.mean(list(hits.values()), axis=0)
    missed = [key for key, hit in hits.items() if not hit[1]]
    assert found >= 0.9, missed
    assert named >= 0.9, missed
    for kind in DAMAGES:  # no kind of damage goes unseen
        assert any(hit[1] for key, hit in hits.items() if key[0] == kind), kind


@pytest.mark.parametrize(
    "request_",
    [
        Request(frames=32, strides=3, in_place=False),
        Request(frames=32),
        Request(gait="trot", strides=4, in_place=False),
        Request(gait="stand", frames=24),
    ],
)
def test_a_cycle_is_no_shot(tmp_path, request_):
    path = tmp_path / "clip.bvh"
    path.write_bytes(bvh.encode(make_cycle(request_), FileSpace()))
    motion, limits = load_motion(path)
    assert see(motion, limits).shot is None


def test_a_shot_is_told_in_words_and_numbers(tmp_path, capsys):
    start = shot_base(RISE)
    text = as_text(start.seen, check(start.seen))
    for words in (
        "sets off into a walk",
        "walk to trot",
        "comes to a halt from a trot",
        "stands",
        "to the left",
    ):
        assert words in text
    assert "ground goes up by 0.2" in text
    path = tmp_path / "shot.bvh"
    path.write_bytes(bvh.encode(made_shot(DOG).clip, FileSpace()))
    is_faulty = bool(check(shot_base(DOG).seen))
    assert run(["check", str(path), "--json", "--pdf", str(tmp_path / "c.pdf")]) == is_faulty
    told = json.loads(capsys.readouterr().out)["shot"]
    assert [each["gait"] for each in told["stretches"]] == ["trot", "trot to a halt", None]
    assert told["rises"][0]["up_m"] == pytest.approx(0.2, abs=0.03)
    assert told["turns"] == []
    assert run(["check", str(path), "--against", "trot"]) == 2
    assert "has no stride to compare" in capsys.readouterr().err


@cache
def fence():
    """A horse that canters over a fence of half a metre, and its clip."""
    canter = Passage(cycle=Request(gait="canter", animal="riding_horse"), strides=6)
    asked = ShotRequest((canter,), starts=False, ends=False, jumps=(Obstacle(10.5, 0.5, 0.3),))
    made = make_shot(shot_of(asked))
    file = read_bvh(bvh.encode(made.clip, FileSpace()), "fence.bvh")
    known = whose(file, "fence.bvh")
    return made, place(file, known.map, "fence.bvh"), known.limits


def test_a_jump_that_is_known_is_judged_by_ground_and_pops_alone():
    """It was taken for a loop, its hind swing for a foot that slips by a metre and a half."""
    made, motion, limits = fence()
    seen = see(motion, limits, jumps_m=(10.5,))
    assert [each.what for each in seen.shot.stretches] == [GOES, JUMPS, GOES]
    jump = seen.shot.stretches[1]
    leaves = [step for step in shot_report(made).steps if jump.first < step.contact_frame - 1 < jump.last]
    assert {step.foot for step in leaves} == set(LIMBS)  # all of them land again in it
    found = check(seen)
    assert {each.kind for each in found} <= IN_A_JUMP
    assert not {each.kind for each in found} & {"jitter", "sole under ground", "slip"}


@pytest.mark.sample(1)
@pytest.mark.parametrize("kind", ["pop", "sole under ground"])
def test_a_fault_in_a_jump_is_seen(kind):
    """The neck pops in the flight; the body sinks six centimetres as it jumps."""
    _, motion, limits = fence()
    jump = see(motion, limits, jumps_m=(10.5,)).shot.stretches[1]
    start, rows = Base("fence", motion.file, motion.map, motion, None, motion.frames), motion.file.rows.copy()
    row = (jump.first + jump.last) // 2
    if kind == "pop":
        rows[row, columns(start.file, "neck_2")["X"]] += 15.0
    else:
        low = bump(motion.frames, jump.first, jump.last)
        rows[:, columns(start.file, "pelvis", "position")["Y"]] -= 6.0 * low
    damaged = place(replace(motion.file, rows=rows), motion.map, "fence.bvh")
    found = check(see(damaged, limits, jumps_m=(10.5,)))
    if kind == "pop":
        assert ("pop", "neck_2", row + 1) in {(each.kind, each.limb, each.first_frame) for each in found}
    else:
        under = {each.limb for each in found if each.kind == "sole under ground"}
        assert under & set(LIMBS)


def test_the_shot_file_says_where_it_jumps(tmp_path, capsys):
    made, _, _ = fence()
    clip, file = tmp_path / "fence.bvh", tmp_path / "fence.toml"
    clip.write_bytes(bvh.encode(made.clip, FileSpace()))
    file.write_text(
        'animal = "riding_horse"\nstart = "going"\nend = "going"\n\n'
        '[[passage]]\ngait = "canter"\nstrides = 6\n\n'
        "[[jump]]\nat = 10.5\nheight = 0.5\nspread = 0.3\n"
    )
    assert run(["check", str(clip), "--shot", str(file)]) in (0, 1)
    said = capsys.readouterr().out
    assert "jumps; only ground and pops are judged here" in said
    assert "slip" not in said
    clip.write_bytes(bvh.encode(make_cycle(Request(gait="canter")), FileSpace()))
    assert run(["check", str(clip), "--shot", str(file)]) == 2
    assert "there is no jump of a shot in it" in capsys.readouterr().err


@pytest.mark.thorough
def test_a_shot_whose_feet_stand_badly_is_no_loop():
    """It was taken for one in 9 of 57 faults: the poses at its ends are alike, its pace there is not."""
    start = shot_base(CANTER)
    for name in ("back frozen", "root turned aside", "leg joint frozen"):
        damaged = {**LISTED, **UNLISTED}[name](start, np.random.default_rng(5))
        seen = seen_again(start, damaged.file)
        assert seen.shot is not None, name
        assert is_named_first(damaged, check(seen)), name


@pytest.mark.thorough
def test_angles_of_a_shot_that_are_read_the_wrong_way_are_named():
    """No stride is seen in it then; where feet slide under a body that goes evenly no frame is missing."""
    start = shot_base(CANTER)
    for name in ("rotation order wrong", "pelvis counter-rotated"):
        damaged = {**LISTED, **UNLISTED}[name](start, np.random.default_rng(5))
        found = check(seen_again(start, damaged.file))
        assert is_named_first(damaged, found), name
        assert "frames missing" not in {each.kind for each in found}, name


@pytest.mark.sample(1)
@pytest.mark.parametrize("order", ["XYZ", "XZY", "YXZ", "YZX", "ZYX"])
def test_every_order_of_angles_of_a_shot_is_told(order):
    """Also where its pace changes and its ground rises, so that no belt and no level ground are under it."""
    start = shot_base(RISE)
    channels = tuple(
        (*words[: len(words) - 3], *(f"{letter}rotation" for letter in order))
        if sum(word.endswith("rotation") for word in words) == 3
        else words
        for words in start.file.channels
    )
    found = check(seen_again(start, replace(start.file, channels=channels)))
    assert found[0].kind == "rotation order", order
    assert "Z, X, Y" in found[0].do, order


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("name", [RISE, DOG, CANTER, HALT])
def test_feet_of_a_noisy_shot_stand_as_long_as_in_the_clean_one(name):
    """Noise of .2 degrees and a millimetre on each channel, for a horse: to a frame, nearly always."""
    start, off = shot_base(name), []
    places = np.array([word.endswith("position") for words in start.file.channels for word in words])
    size = start.motion.hip_height_m / 1.26
    for seed in range(101, 105):
        rng = np.random.default_rng(seed)
        noise = np.where(places, 0.1 * size, 0.2) * rng.normal(size=start.file.rows.shape)
        feet = seen_again(start, replace(start.file, rows=start.file.rows + noise)).feet
        for own in start.seen.feet.stances:
            again = [s for s in feet.of(own.limb) if s.first < own.last and s.last > own.first]
            if len(again) == 1:
                off += [abs(again[0].first - own.first)] if own.begins else []
                off += [abs(again[0].last - own.last)] if own.ends else []
    assert len(off) > 160
    assert np.mean(np.array(off) > 1) < 0.08
    assert max(off) <= 5


@pytest.mark.thorough
def test_a_short_join_is_no_noisy_loop():
    """Quick steps of a goat were taken for noise of its root, and its feet to stand nowhere."""
    clip = make_join("halt", "trot", Request(animal="goat")).clip
    file = read_bvh(bvh.encode(clip, FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", "goat")
    seen = see(place(file, known.map, "join.bvh"), known.limits)
    assert not seen.noise.toe_m.any()
    assert {each.limb for each in seen.feet.stances if each.first > seen.motion.frames // 2} == set(range(4))
    assert check(seen) == []


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "before", "after"), [("riding_horse", "walk", "trot"), ("dog", "trot", "walk")]
)
def test_a_join_is_told_from_which_gait_to_which(animal, before, after):
    """Its strides all change; the first and the last of them, of whichever foot, tell."""
    clip = make_join(before, after, Request(animal=animal)).clip
    file = read_bvh(bvh.encode(clip, FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", animal)
    seen = see(place(file, known.map, "join.bvh"), known.limits)
    assert [(each.what, each.gait) for each in seen.shot.stretches] == [(CHANGES, f"{before} to {after}")]


@pytest.mark.sample(1)
@pytest.mark.parametrize("on", ["haunches", "forehand"])
def test_a_turn_on_the_spot_is_told_as_one(on):
    passages = (
        Passage(cycle=Request(gait="walk", animal="dog"), strides=3),
        Passage(cycle=Request(gait="walk", animal="dog"), turn_rad=np.radians(-120.0), on=on),
    )
    clip = make_shot(shot_of(ShotRequest(passages))).clip
    file = read_bvh(bvh.encode(clip, FileSpace()), "round.bvh")
    known = whose(file, "round.bvh", "dog")
    shot = see(place(file, known.map, "round.bvh"), known.limits).shot
    assert any("degrees to the right, on the spot" in line for line in shot_lines(shot))
    assert json.loads(json.dumps(shot_facts(shot)))["turns"][-1]["is_on_the_spot"] is True


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", [RISE, CAT])
def test_a_bend_of_the_way_is_no_turn_on_the_spot(name):
    shot = shot_base(name).seen.shot
    assert [is_on_the_spot(shot, bend) for bend in shot.way.bends] == [False]
