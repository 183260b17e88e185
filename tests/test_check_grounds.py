"""The check on uneven ground: soles are held against a ground that is given, else stand where they do."""

from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
import pytest
from damage import Base, along, toes_brought, with_rows

from gaitgen.check.check import check
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.commands import run
from gaitgen.course.surfaces import height_map, stairs
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.pipeline import make_cycle
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of

SOLES = {"sole under ground", "sole floating", "body above the ground", "body under the ground"}
STEPS = [(1.2, 0.1), (1.55, 0.1), (1.9, 0.1), (3.1, -0.1)]


def hills():
    """Low hills, a few metres apart, and a slope."""
    x, y = 0.05 * np.arange(261) - 1.5, 0.05 * np.arange(81) - 2.0
    x, y = x[None, :], y[:, None]
    rows = 0.05 * np.sin(1.9 * x) * np.cos(2.3 * y) + 0.04 * x
    return height_map(rows[::-1], 0.05, (-1.5, -2.0), "hills.png")


GROUNDS = {"steps": lambda: stairs(STEPS, 0.0, "the steps"), "hills": hills}


@dataclass(frozen=True, eq=False)
class OnGround(Base):
    """A clean clip, what is known about it, and its bytes."""

    data: bytes


@cache
def made(ground, gait):
    """A dog's shot over a ground: the file and what stands for it."""
    passage = Passage(cycle=Request(gait=gait, animal="dog"), strides=5)
    shot = make_shot(shot_of(ShotRequest((passage,), ground=GROUNDS[ground]())))
    data = bvh.encode(shot.clip, FileSpace())
    file = read_bvh(data, "shot.bvh")
    known = whose(file, "shot.bvh", "dog")
    motion = place(file, known.map, "shot.bvh")
    seen = see(motion, known.limits, surface=GROUNDS[ground]())
    return OnGround(f"{ground} {gait}", file, known.map, motion, seen, 0, data)


def told(start, file, ground=None):
    """Findings, those that follow from others too."""
    surface = None if ground is None else GROUNDS[ground]()
    found = check(see(place(file, start.map, "shot.bvh"), start.seen.limits, surface=surface))
    return [each for finding in found for each in (finding, *finding.follows)]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("ground", "gait", "is_given"),
    list(product(GROUNDS, ["walk", "trot"], [True, False])),
)
def test_no_sole_is_accused_on_uneven_ground(ground, gait, is_given):
    start = made(ground, gait)
    found = told(start, start.file, ground if is_given else None)
    assert [(f.kind, f.place, f.first_frame, f.amount) for f in found if f.kind in SOLES] == []


@pytest.mark.sample(1)
@pytest.mark.parametrize(("mm", "kind"), [(20.0, "sole floating"), (-20.0, "sole under ground")])
@pytest.mark.parametrize("ground", GROUNDS)
def test_on_a_given_ground_a_foot_that_does_not_stand_on_it_is_named(ground, mm, kind):
    start = made(ground, "walk")
    for limb, row in (("LF", 2), ("RH", 4)):
        stance = start.seen.feet.of(LIMBS.index(limb))[row]
        rows = np.arange(start.frames)
        share = np.clip(np.minimum(rows - stance.first + 3, stance.last + 3 - rows) / 3.0, 0.0, 1.0)
        target = start.motion.toes_m.copy()
        target[:, LIMBS.index(limb)] += along(mm / 1000.0 * share, 2)
        found = told(start, toes_brought(start, start.file, [limb], target), ground)
        mine = [f for f in found if f.kind == kind and f.limb == limb]
        assert any(abs(f.amount - 20.0) < 3.0 and f.first_frame <= stance.last for f in mine), found


@pytest.mark.sample(1)
@pytest.mark.parametrize("ground", GROUNDS)
def test_on_a_given_ground_a_body_over_it_is_one_finding(ground):
    start = made(ground, "walk")
    rows = start.file.rows.copy()
    rows[:, start.file.channels[0].index("Yposition")] += 4.0
    found = [f for f in told(start, with_rows(start.file, rows), ground) if f.kind in SOLES]
    assert [f.kind for f in found] == ["body above the ground"]
    assert found[0].amount == pytest.approx(40.0, abs=1.5)


def test_the_ground_of_a_shot_file_is_taken(tmp_path, capsys):
    clip, shot = tmp_path / "shot.bvh", tmp_path / "shot.toml"
    start = made("steps", "walk")
    shot.write_text(
        'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 5\n'
        "[ground]\nsteps = [[1.2, 0.1], [1.55, 0.1], [1.9, 0.1], [3.1, -0.1]]\n"
    )
    clip.write_bytes(start.data)
    run(["check", str(clip), "--shot", str(shot)])
    said = capsys.readouterr().out
    assert "the ground is that of the shot file; the planted soles are on it" in said
    run(["check", str(clip)])
    assert "With --shot FILE" in capsys.readouterr().out
    assert run(["check", str(clip), "--shot", str(shot), "--ground", "0"]) == 2
    assert "give one of them" in capsys.readouterr().err
    clip.write_bytes(bvh.encode(make_cycle(Request(animal="dog")), FileSpace()))
    assert run(["check", str(clip), "--shot", str(shot)]) == 2
    assert "goes nowhere" in capsys.readouterr().err
    assert run(["check", str(clip), "--shot", str(tmp_path / "none.toml")]) == 2
    assert "none.toml" in capsys.readouterr().err


TREADS = {
    "pig": [(1.1, 0.06), (2.2, 0.05)],
    "goat": [(1.2, 0.07), (2.3, -0.06)],
    "pony": [(1.0, 0.08), (2.0, 0.08)],
}


@cache
def on_treads(animal):
    """A walk over treads that hold many prints each: its file, its map, its limits, and the ground."""
    ground = stairs(TREADS[animal], 0.0, "the steps")
    passage = Passage(cycle=Request(gait="walk", animal=animal), strides=6)
    shot = make_shot(shot_of(ShotRequest((passage,), ground=ground, starts=False, ends=False)))
    file = read_bvh(bvh.encode(shot.clip, FileSpace()), "shot.bvh")
    known = whose(file, "shot.bvh", animal)
    return file, known.map, known.limits, ground


def told_on_treads(animal, file, *, is_given):
    _, rig_map, limits, ground = on_treads(animal)
    return check(see(place(file, rig_map, "shot.bvh"), limits, surface=ground if is_given else None))


@pytest.mark.sample(1)
@pytest.mark.parametrize("is_given", [False, True])
@pytest.mark.parametrize("animal", TREADS)
def test_nothing_is_wrong_with_a_walk_over_long_treads(animal, is_given):
    """Prints of one tread lie in a plane, so soles at its edge were taken for faults of a slope."""
    found = told_on_treads(animal, on_treads(animal)[0], is_given=is_given)
    assert [(f.kind, f.place, f.first_frame, f.amount) for f in found] == []


@pytest.mark.sample(1)
@pytest.mark.parametrize("is_given", [False, True])
@pytest.mark.parametrize(("joint", "frame"), [("tibia_R", 41), ("neck_2", 52)])
def test_a_key_off_its_curve_over_treads_is_named(joint, frame, is_given):
    file = on_treads("goat")[0]
    rows = file.rows.copy()
    start = sum(len(words) for words in file.channels[: file.joint_names.index(joint)])
    rows[frame - 1, start + file.channels[file.joint_names.index(joint)].index("Xrotation")] += 20.0
    found = told_on_treads("goat", with_rows(file, rows), is_given=is_given)
    every = [each for finding in found for each in (finding, *finding.follows)]
    assert any(f.kind == "pop" and f.place == joint and f.first_frame == frame for f in every), every


@pytest.mark.parametrize("share", [0.02, 0.08])
def test_a_slope_is_not_taken_for_treads(share):
    rows = share * (0.1 * np.arange(101) - 1.5)[None, :] * np.ones((41, 1))
    ground = height_map(rows, 0.1, (-1.5, -2.0), "slope.png")
    passage = Passage(cycle=Request(gait="walk", animal="pig"), strides=6)
    shot = make_shot(shot_of(ShotRequest((passage,), ground=ground, starts=False, ends=False)))
    file = read_bvh(bvh.encode(shot.clip, FileSpace()), "shot.bvh")
    known = whose(file, "shot.bvh", "pig")
    seen = see(place(file, known.map, "shot.bvh"), known.limits, surface=ground)
    assert seen.shot is not None
    assert not seen.shot.ground.is_stepped.any()
